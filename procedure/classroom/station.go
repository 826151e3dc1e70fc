package classroom

import (
	"context"
	"errors"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// Seat is where the student sits: what the station calls when the instructor
// wants something. It is called by the station's own goroutine and must not
// block. Cockpit is one.
type Seat interface {
	// Announced makes ready for a drill; nothing runs yet.
	Announced(a Assignment)
	// Going tells that the drill begins at a moment of the station's clock, so
	// that a voice can have "go" on its sample clock; for a drill at one's own
	// pace that it may begin.
	Going(a Assignment, at time.Duration)
	// Begin is the moment itself. The recorder is the run's own: give it to the
	// rehearsal, and call its End when the run is over.
	Begin(a Assignment, r *Recorder)
	// Carry does what the instructor ordered.
	Carry(o Order)
	// Pause stops the run's time, or lets it go on.
	Pause(on bool)
	// Over ends the drill, and the run if there is one.
	Over()
	// Changed tells that Station.Status is another.
	Changed()
}

// Assignment is a drill as this station is to fly it. Options holds what the
// student is not told: a screen shows a snapshot, never these.
type Assignment struct {
	Drill   DrillID
	Mode    Mode
	Title   string // of the flow
	Hidden  bool   // the conditions are not shown
	Options rehearsal.Options

	hash   string
	tokens map[powerplant.Fault]string
}

// StationOptions are what a student's program brings.
type StationOptions struct {
	Libraries []*procedure.Library
	Program   string          // version, for the records
	Clock     rehearsal.Clock // nil is the machine's own
	Seat      Seat
}

// Status is how a station stands, for its screen.
type Status struct {
	Class     string
	Number    int
	Name      string
	Connected bool
	Drill     DrillID
	State     DrillState
	Mode      Mode
	MayBegin  bool   // a drill at one's own pace: Station.Begin will do something
	Begins    bool   // "go" was given, and is a moment away
	Waits     bool   // a drill that all began together, without this station: the instructor lets it in
	Waiting   int    // events not yet delivered
	Notice    string // a sentence: what is the matter and what still works
	Refused   bool   // this class will not have this station
}

// Station is a student's end of a class. Its methods may be called from any
// goroutine.
type Station struct {
	o       StationOptions
	book    *Logbook
	key     sealKey
	clock   rehearsal.Clock
	posts   chan func()
	ctx     context.Context
	cancel  context.CancelFunc
	working sync.WaitGroup
	link    atomic.Pointer[linked]
	latest  atomic.Pointer[rehearsal.Snapshot]
	liveNow atomic.Pointer[Live] // what the owner knows, without the snapshot
	status  atomic.Pointer[Status]
	up      chan struct{} // holds one token when hello is to be said, as after the connection came up
	shown   chan struct{} // holds one token when there is something to tell
	closing func()

	// Owned by the goroutine in own.
	id        Identity
	connected bool
	fresh     bool // no hello was answered since the program began
	session   string
	notice    string
	refused   bool
	class     string
	number    int
	times     ClassClock
	rev       int
	orders    int
	drill     *drillHere
}

// linked wraps an interface for an atomic pointer.
type linked struct{ Link }

// Join takes a station's place in a class. dial makes its end of the network,
// which tries on its own until it is closed; runs that an earlier program left
// are delivered first. Close the station when the student leaves.
func Join(id Identity, o StationOptions, dial func(Identity, Ear) (Link, error)) (*Station, error) {
	if o.Clock == nil {
		o.Clock = rehearsal.NewSystem()
	}
	book, err := OpenLogbook(filepath.Join(id.dir, runsName))
	if err != nil {
		return nil, err
	}
	key, err := newSealKey()
	if err != nil {
		book.Close()
		return nil, err
	}
	s := &Station{o: o, id: id, book: book, key: key, clock: o.Clock, fresh: true,
		posts: make(chan func(), 256), up: make(chan struct{}, 1), shown: make(chan struct{}, 1), class: id.Class}
	s.closing = sync.OnceFunc(s.leave)
	s.ctx, s.cancel = context.WithCancel(context.Background())
	s.tellStatus()
	s.working.Go(s.own)
	link, err := dial(id, ear{s})
	if err != nil {
		s.Close()
		return nil, err
	}
	s.link.Store(&linked{link})
	s.working.Go(s.compare)
	s.working.Go(s.deliver)
	s.working.Go(s.tellLive)
	return s, nil
}

// Close leaves the class. A run that goes on is over; what was not delivered is
// on the disk and is delivered next time. Closing again does nothing.
func (s *Station) Close() { s.closing() }

func (s *Station) leave() {
	run := make(chan *Recorder, 1)
	s.post(func() {
		if s.drill == nil {
			run <- nil
			return
		}
		s.endDrill()
		run <- s.drill.run
	})
	if r := <-run; r != nil {
		select {
		case <-r.over:
		case <-time.After(closeWait): // a seat that does not end its run
		}
	}
	s.cancel()
	if l := s.link.Load(); l != nil {
		l.Close()
	}
	s.working.Wait()
	s.book.Close()
}

// closeWait is how long a run may take to write its end.
const closeWait = 2 * time.Second

// Status is how the station stands.
func (s *Station) Status() Status {
	st := *s.status.Load()
	st.Waiting = s.book.Waiting()
	if p := s.book.Problem(); p != "" {
		st.Notice = p
	}
	return st
}

// Logbook is the station's own record, for its notices.
func (s *Station) Logbook() *Logbook { return s.book }

// Begin begins a run of a drill at one's own pace; otherwise it does nothing.
func (s *Station) Begin() {
	s.post(func() {
		if d := s.drill; d != nil && d.Mode == OwnPace && d.state == Going && d.missing == "" && (d.run == nil || d.run.isOver()) {
			s.begin(d)
		}
	})
}

// Show hands over a moment of the run, to be told to the instructor. It never
// blocks.
func (s *Station) Show(snap *rehearsal.Snapshot) {
	s.latest.Store(snap)
	poke(s.shown)
}

// post hands work to the owner.
func (s *Station) post(f func()) {
	select {
	case s.posts <- f:
	case <-s.ctx.Done():
	}
}

// own is the owner: one goroutine.
func (s *Station) own() {
	for {
		select {
		case f := <-s.posts:
			f()
		case <-s.ctx.Done():
			return
		}
	}
}

// ear is the link's way to the owner.
type ear struct{ s *Station }

func (e ear) Up() {
	e.s.post(func() { e.s.connected, e.s.notice = true, ""; e.s.tellStatus() })
	poke(e.s.up)
}

// Trusted notes the certificate, so that from now on it is the certificate that
// counts and not its words.
func (e ear) Trusted(f Fingerprint) {
	e.s.post(func() { e.s.pin(f, e.s.class) })
}

func (s *Station) pin(f Fingerprint, class string) {
	if err := s.id.pin(f, class); err != nil {
		s.notice = "This machine could not keep the class's certificate: after a restart, join with the code again."
		s.tellStatus()
	}
}

// closedForNow stands while the class is closed.
const closedForNow = "The instructor has closed the class for now: what is running goes on here, and is delivered when the class is opened again."

func (e ear) Down(reason error) {
	e.s.post(func() {
		e.s.connected = false
		switch {
		case errors.Is(reason, ErrUntrusted), errors.Is(reason, ErrRefused):
			e.s.notice = reason.Error()
		case e.s.notice != closedForNow: // which says why it is away
			e.s.notice = ErrAway.Error()
		}
		e.s.tellStatus()
	})
}

func (e ear) Refused(why error) {
	e.s.post(func() {
		e.s.connected, e.s.refused = false, true
		e.s.notice = why.Error()
		e.s.tellStatus()
	})
}

func (e ear) Heard(data []byte) {
	var n notice
	if decode(data, &n) != nil {
		return // the class's own program is of another version; hello says so
	}
	e.s.post(func() { e.s.heard(n) })
}

func (s *Station) heard(n notice) {
	if s.fresh && (n.Kind == "drill" || n.Kind == "order") {
		// It is sealed to the program that had this place before. What is for this
		// one comes with the answer to its hello.
		return
	}
	switch n.Kind {
	case "drill":
		s.drillNotice(n)
	case "order":
		s.order(n)
	case "confirmed":
		s.book.confirm(n.Run, n.Upto, n.Ended, time.Now())
		s.o.Seat.Changed()
	case "hello":
		poke(s.up)
	case "closing":
		s.notice = closedForNow
		s.tellStatus()
	}
}

// tellStatus publishes what the owner knows.
func (s *Station) tellStatus() {
	st := Status{Class: s.class, Number: s.number, Name: s.id.Name, Connected: s.connected, Notice: s.notice, Refused: s.refused}
	l := Live{Rev: s.rev, Orders: s.orders, Unsure: s.times.Error()}
	if d := s.drill; d != nil {
		st.Drill, st.State, st.Mode, st.Waits = d.Drill, d.state, d.Mode, d.waits
		st.Begins = d.told && d.Mode == Together && d.state == Going && !d.begun && !d.waits
		st.MayBegin = d.Mode == OwnPace && d.state == Going && d.missing == ""
		if d.missing != "" {
			st.Notice = d.missing
		}
		l.Drill, l.Missing, l.Waits, l.LetIn = d.Drill, d.missing, d.waits, d.late
		l.Ready = d.state == Announced && d.missing == "" && s.times.Known() > 0
		if d.run != nil {
			l.Run = d.run.log.id
		}
	}
	s.status.Store(&st)
	s.liveNow.Store(&l)
	poke(s.shown)
	s.o.Seat.Changed()
}
