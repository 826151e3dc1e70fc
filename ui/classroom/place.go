package classroom

import (
	"errors"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/rehearse"
	"kickover/ui/theme"
)

// PlaceOptions are what a student's place needs from outside.
type PlaceOptions struct {
	Theme     theme.Tokens
	Units     units.Units
	Libraries []*procedure.Library
	Folder    string // of all classes this machine was in
	Program   string // version
	Clock     rehearsal.Clock
	// Dial makes the station's end of the network; natslink.Dial does.
	Dial func(id classroom.Identity, digits string, ear classroom.Ear) (classroom.Link, error)

	Look func() []Nearby // for classes on this network; takes a while, and nil does not look

	// What is heard. Any may be nil, and then is only shown.
	Voice     func(a *classroom.Assignment, begins time.Duration) rehearsal.Voice
	Captioned bool                   // the voice tells what is heard, and when
	Sound     rehearsal.Sound        // the engine
	Begun     func(*rehearsal.Live)  // a run is being driven
	Ready     func()                 // a drill is announced: what will be said can be made ready
	Go        func(at time.Duration) // "go" is due at a moment of Clock
	Say       func(procedure.Line)   // a line from the instructor
	Ended     func()                 // a run or its drill is over

	Stage Stage
	Back  func()
}

// Place is the student's side of a class: which screen leads to which. It
// belongs to the window's goroutine.
type Place struct {
	o       PlaceOptions
	station *classroom.Station
	pit     *classroom.Cockpit
	wait    *Wait
	screen  *rehearse.Screen // of the run, nil between runs
	shown   *latest
	title   string              // of the announced drill's flow
	own     bool                // it is flown at one's own pace, and a run of it can be left
	last    *rehearsal.Snapshot // the end of the last run
	typed   typed               // what was typed to come in
	said    said                // by the instructor
	trouble string              // why a run could not begin
}

// typed is what a student types to come in.
type typed struct{ address, code, name string }

// NewPlace makes a place; Start shows its first screen.
func NewPlace(o PlaceOptions) *Place {
	p := &Place{o: o}
	p.shown = newLatest(p.show)
	return p
}

// Dress changes the colours and units of what is shown from now on.
func (p *Place) Dress(t theme.Tokens, u units.Units) { p.o.Theme, p.o.Units = t, u }

// Taken reports whether this machine is in a class.
func (p *Place) Taken() bool { return p.station != nil }

// Start offers to join a class, or shows the one this machine is in.
func (p *Place) Start() {
	if p.station != nil {
		p.showWait()
		return
	}
	p.offer(typed{}, nil)
}

// Join joins at once, as from the command line. What is wrong is shown where it
// can be mended.
func (p *Place) Join(address, code, name string) {
	parsed, err := classroom.ParseJoinCode(code)
	if err == nil {
		err = p.join(address, parsed, name)
	}
	if err != nil {
		p.offer(typed{address, code, name}, err)
	}
}

// offer shows the screen of joining, with what is known already.
func (p *Place) offer(t typed, problem error) {
	before := slices.DeleteFunc(classroom.Identities(p.o.Folder), neverIn)
	s := NewJoin(JoinOptions{Theme: p.o.Theme, Before: before, Back: p.o.Back, Join: p.join,
		Return: func(id classroom.Identity) error { return p.sit(id, "") }, Look: p.o.Look})
	s.fill(t, problem)
	p.o.Stage.Show("Join", s.Content(), s.Focus, p.o.Back)
}

// neverIn reports whether a class was asked for a place and gave none: without the
// code there is no way back to it.
func neverIn(id classroom.Identity) bool { return id.Class == "" }

// Close leaves the class; what was not delivered is delivered next time.
func (p *Place) Close() {
	if p.station != nil {
		s := p.station
		p.station, p.screen, p.wait = nil, nil, nil
		p.title, p.last, p.said, p.trouble = "", nil, said{}, ""
		s.Close()
	}
}

func (p *Place) join(address string, code classroom.JoinCode, name string) error {
	address = classroom.ReadAddress(address)
	id, err := classroom.IdentityFor(p.o.Folder, code, address, strings.TrimSpace(name), time.Now())
	if err != nil {
		return err
	}
	p.typed = typed{address, code.String(), name}
	return p.sit(id, code.Digits)
}

func (p *Place) sit(id classroom.Identity, digits string) error {
	// Asked for by the station's own goroutines, done on the window's.
	do := func(f func()) func() { return func() { fyne.Do(f) } }
	p.pit = &classroom.Cockpit{Clock: p.o.Clock, Publish: p.shown.publish, Voice: p.o.Voice,
		Captioned: p.o.Captioned, Sound: p.o.Sound, Begun: p.o.Begun,
		Ready:  func(a classroom.Assignment) { fyne.Do(func() { p.announced(a) }) },
		Go:     func(a classroom.Assignment, at time.Duration) { p.going(a, at) },
		Say:    func(l procedure.Line) { fyne.Do(func() { p.say(l) }) },
		Ended:  do(p.ended),
		Status: do(p.refresh),
		Fail:   func(err error) { fyne.Do(func() { p.trouble = err.Error(); p.refresh() }) },
	}
	s, err := classroom.Join(id, classroom.StationOptions{Libraries: p.o.Libraries, Program: p.o.Program, Clock: p.o.Clock, Seat: p.pit},
		func(id classroom.Identity, ear classroom.Ear) (classroom.Link, error) {
			return p.o.Dial(id, digits, ear)
		})
	if err != nil {
		return err
	}
	p.pit.Sit(s)
	p.station = s
	p.showWait()
	return nil
}

func (p *Place) announced(a classroom.Assignment) {
	if p.station == nil {
		return
	}
	p.title, p.own, p.trouble = a.Title, a.Mode == classroom.OwnPace, ""
	if p.o.Ready != nil {
		p.o.Ready()
	}
	p.showWait()
}

// going is called by the station: "go" is for a drill that all begin together.
func (p *Place) going(a classroom.Assignment, at time.Duration) {
	if a.Mode == classroom.Together && p.o.Go != nil {
		p.o.Go(at)
	}
}

func (p *Place) say(l procedure.Line) {
	p.said = newSaid(l.Caption, time.Now())
	if p.o.Say != nil {
		p.o.Say(l)
	}
	p.refresh()
	time.AfterFunc(p.said.stands(), func() { fyne.Do(p.refresh) })
}

// ended is the end of a drill.
func (p *Place) ended() {
	if p.o.Ended != nil {
		p.o.Ended()
	}
	p.showWait()
}

func (p *Place) showWait() {
	if p.station == nil {
		return
	}
	if p.screen != nil && p.o.Ended != nil {
		p.o.Ended()
	}
	p.screen = nil
	p.wait = NewWait(WaitOptions{Theme: p.o.Theme, Title: func() string { return p.title }, Begin: p.station.Begin, Last: func() *rehearsal.Snapshot { return p.last },
		Address: p.typed.address, Leave: p.leave, Status: p.status, Said: func() string { return p.said.whole(time.Now()) }})
	p.o.Stage.Show("Class", p.wait.Content(), p.wait.Focus, nil)
}

// leave goes back to where one joins; somebody who was never let in has there
// what was typed.
func (p *Place) leave() {
	t, in := p.typed, p.station.Status().Number > 0
	if in {
		t = typed{}
	}
	p.Close()
	p.offer(t, nil)
}

// status is the station's, with what is the matter here.
func (p *Place) status() classroom.Status {
	if p.station == nil {
		return classroom.Status{}
	}
	st := p.station.Status()
	if st.Notice == "" {
		st.Notice = p.trouble
	}
	return st
}

func (p *Place) refresh() {
	if p.station == nil {
		return
	}
	if st := p.station.Status(); st.Refused && st.Number == 0 {
		t := p.typed
		p.Close()
		p.offer(t, errors.New(st.Notice))
		return
	}
	if p.wait != nil && p.screen == nil {
		p.wait.Refresh()
	}
}

// show shows a moment of the run; the first puts the cockpit on the screen.
func (p *Place) show(s *rehearsal.Snapshot) {
	if p.station == nil {
		return
	}
	if s.Done {
		p.last = s
		p.refresh()
	}
	if p.screen == nil {
		live := p.pit.Live()
		if s.Done || live == nil {
			return
		}
		o := rehearse.Options{Theme: p.o.Theme, Units: p.o.Units, Now: live.Now, Emit: live.Input, SkipRest: live.SkipRest, Finish: p.showWait}
		if p.own {
			o.Leave = func() { live.End(procedure.EndAbandoned) }
		}
		p.screen = rehearse.New(o)
		p.o.Stage.Fly(p.screen)
	}
	if p.own && s.Done && s.Outcome == procedure.Abandoned {
		p.showWait()
		return
	}
	shown := *s
	shown.Caption = p.said.over(stopped(s), time.Now())
	if n := p.runNotice(); n != "" {
		shown.Notice = n
	}
	p.screen.Show(&shown)
}

// stopped is the caption of a moment: while time stands still it says by whom, and
// a prompt that stood there when it stopped gives way.
func stopped(s *rehearsal.Snapshot) rehearsal.Caption {
	c := s.Caption
	if s.Paused && !s.Done && c.Priority != procedure.PriorityWarning {
		return rehearsal.Caption{Text: pausedByInstructor, Priority: procedure.PriorityPrompt, At: c.At}
	}
	return c
}

const pausedByInstructor = "Your instructor has paused the class: look up"

// runNotice is what is said below a run: what matters to who flies it.
func (p *Place) runNotice() string {
	if st := p.station.Status(); !st.Connected {
		return "The instructor's machine is not reached at the moment. Fly on: everything is kept here and delivered later."
	}
	return p.trouble
}
