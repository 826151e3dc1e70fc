package classroom

import (
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
	"kickover/ui/rehearse"
	"kickover/ui/theme"
)

// PlaceOptions are what a student's place needs from outside.
type PlaceOptions struct {
	Theme     theme.Tokens
	Libraries []*procedure.Library
	Folder    string // of all classes this machine was in
	Program   string // version
	Clock     rehearsal.Clock
	// Dial makes the station's end of the network; natslink.Dial does.
	Dial  func(id classroom.Identity, digits string, ear classroom.Ear) (classroom.Link, error)
	Voice func(a *classroom.Assignment, begins time.Duration) rehearsal.Voice // nil: captions only
	Say   func(procedure.Line)                                                // a line from the instructor; nil shows it only
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
	title   string           // of the announced drill's flow
	latest  atomic.Pointer[rehearsal.Snapshot]
	pending atomic.Bool
	said    string
}

// NewPlace makes a place; Start shows its first screen.
func NewPlace(o PlaceOptions) *Place { return &Place{o: o} }

// Start offers to join a class, or shows the one this machine is in.
func (p *Place) Start() {
	if p.station != nil {
		p.showWait()
		return
	}
	s := NewJoin(JoinOptions{Theme: p.o.Theme, Before: classroom.Identities(p.o.Folder), Back: p.o.Back,
		Join: func(address string, code classroom.JoinCode, name string) error {
			id, err := classroom.IdentityFor(p.o.Folder, code, address, name, time.Now())
			if err != nil {
				return err
			}
			return p.join(id, code.Digits)
		},
		Return: func(id classroom.Identity) error { return p.join(id, "") }})
	p.o.Stage.Show("Join", s.Content(), s.Focus)
}

// Close leaves the class; what was not delivered is delivered next time.
func (p *Place) Close() {
	if p.station != nil {
		s := p.station
		p.station = nil
		s.Close()
	}
}

func (p *Place) join(id classroom.Identity, digits string) error {
	p.pit = &classroom.Cockpit{Clock: p.o.Clock, Publish: p.publish, Voice: p.o.Voice,
		Ready:  func(a classroom.Assignment) { fyne.Do(func() { p.announced(a) }) },
		Say:    func(l procedure.Line) { fyne.Do(func() { p.say(l) }) },
		Ended:  func() { fyne.Do(p.showWait) },
		Status: func() { fyne.Do(p.refresh) },
		Fail:   func(err error) { fyne.Do(func() { p.said = err.Error(); p.refresh() }) },
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
	p.title = a.Title
	p.showWait()
}

func (p *Place) say(l procedure.Line) {
	p.said = l.Caption
	if p.o.Say != nil {
		p.o.Say(l)
	}
	p.refresh()
}

func (p *Place) showWait() {
	if p.station == nil {
		return
	}
	p.screen = nil
	p.wait = NewWait(WaitOptions{Theme: p.o.Theme, Title: func() string { return p.title }, Begin: p.station.Begin,
		Leave: func() { p.Close(); p.title = ""; p.Start() }, Status: p.status})
	p.o.Stage.Show("Class", p.wait.Content(), p.wait.Focus)
}

// status is the station's, with the last line that was said when nothing is the
// matter.
func (p *Place) status() classroom.Status {
	if p.station == nil {
		return classroom.Status{}
	}
	st := p.station.Status()
	if st.Notice == "" && p.said != "" {
		st.Notice = "The instructor: " + p.said
	}
	return st
}

func (p *Place) refresh() {
	if p.wait != nil && p.screen == nil && p.station != nil {
		p.wait.Refresh()
	}
}

// publish is called by the owner of the run: it keeps the latest moment and has
// it shown, one at a time.
func (p *Place) publish(s *rehearsal.Snapshot) {
	p.latest.Store(s)
	if p.pending.CompareAndSwap(false, true) {
		fyne.Do(func() {
			p.pending.Store(false)
			p.show(p.latest.Load())
		})
	}
}

func (p *Place) show(s *rehearsal.Snapshot) {
	if p.station == nil || s == nil {
		return
	}
	if p.screen == nil {
		if s.Done {
			return
		}
		live := p.pit.Live()
		if live == nil {
			return
		}
		p.screen = rehearse.New(rehearse.Options{Theme: p.o.Theme, Now: live.Now, Emit: live.Input, SkipRest: live.SkipRest, Finish: p.showWait})
		p.o.Stage.Show("", p.screen.Content(), p.screen.Focus)
	}
	shown := *s
	st := p.station.Status()
	switch {
	case !st.Connected:
		shown.Notice = classroom.ErrAway.Error()
	case p.said != "":
		shown.Notice = "The instructor: " + p.said
	}
	p.screen.Show(&shown)
}
