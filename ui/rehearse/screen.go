package rehearse

import (
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/theme"
)

// traceSpan is how much of the fuel flow's past the trace shows.
const traceSpan = 10 * time.Second

// Options are what a screen needs from outside. A nil func takes its button off
// the screen.
type Options struct {
	Theme theme.Tokens          // the zero value is dusk
	Units units.Units           // the zero value is the files' own
	Now   func() time.Duration  // offset from the run's beginning, for stamping events
	Emit  func(procedure.Event) // what the student did, in order of time
	// Watched is somebody else's run, and what it says of it in place of the phase:
	// nothing here moves it.
	Watched Watched
	// SkipRest, Pause, Leave and Finish are called on the window's goroutine.
	SkipRest func() // pass over what is left of a starter's rest
	Pause    func() // stop or go on
	Leave    func() // abandon the run
	Finish   func() // go to the debrief, once the run is done
}

// Watched is what the line at the top says of a run that is looked on at: as
// "Replay", and "as it was flown".
type Watched struct{ Title, Says string }

// Screen is the Rehearse screen.
type Screen struct {
	opts    Options
	hands   *hands
	surface *surface
	view    *view // nil until the first snapshot
	latest  atomic.Pointer[rehearsal.Snapshot]
	driving atomic.Bool
	focused atomic.Bool // the surface has the keyboard
	// stamped are the keys that come from the display server, not the toolkit.
	stamped atomic.Pointer[map[fyne.KeyName]bool]
}

// New makes a screen. It is blank until its first Show.
func New(o Options) *Screen {
	if o.Theme.Name == "" {
		o.Theme = theme.Dusk
	}
	s := &Screen{opts: o}
	s.hands = newHands(o.Emit)
	s.surface = newSurface(s)
	return s
}

// Content is what goes into the window. It wants all of it.
func (s *Screen) Content() fyne.CanvasObject { return s.surface }

// Focus gives the controls the keyboard. A screen that is shown should have it
// always: while anything else has it, keys do not reach the cockpit.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.surface) }

// Dress changes the colours.
func (s *Screen) Dress(t theme.Tokens) {
	s.opts.Theme = t
	if s.view != nil {
		s.view.board.Dress(t)
	}
}

// Show paints what changed since the last snapshot. Call it on the window's
// goroutine.
func (s *Screen) Show(n *rehearsal.Snapshot) {
	if n == nil || n.Aircraft == nil {
		return
	}
	before := s.latest.Swap(n)
	s.hands.see(n.Aircraft, n.Positions, n.At)
	if s.view == nil || s.view.aircraft != n.Aircraft || s.view.variant.ID != n.Panel.ID {
		s.view = newView(n.Aircraft, n.Panel, s.opts)
		s.surface.adopt()
	}
	if before != nil && before.Paused && !n.Paused && n.Phase != procedure.Demonstrate {
		// What was let go while time stood still was not heard.
		s.hands.springBack(s.opts.Now())
	}
	s.view.show(n, s.hands)
}

// event tells what the student did.
func (s *Screen) event(at time.Duration, kind procedure.EventKind, subject string, value float64) {
	s.opts.Emit(procedure.Event{At: at, Kind: kind, Subject: subject, Value: value})
}

// drive keeps levers that are on their way moving, sixty times a second, until
// none is.
func (s *Screen) drive() {
	if !s.driving.CompareAndSwap(false, true) {
		return
	}
	go func() {
		tick := time.NewTicker(time.Second / 60)
		defer tick.Stop()
		for range tick.C {
			if !s.hands.advance(s.opts.Now()) {
				break
			}
		}
		s.driving.Store(false)
		// A lever set moving between the last look and the line above would
		// otherwise stand still.
		if s.hands.advance(s.opts.Now()) {
			s.drive()
		}
	}()
}

// reading is what an instrument showed in the last snapshot.
func reading(n *rehearsal.Snapshot, id procedure.InstrumentID) (float64, bool) {
	for i, in := range n.Aircraft.Instruments {
		if in.ID == id && i < len(n.Readings) {
			return n.Readings[i], n.Panel.Shows(id)
		}
	}
	return 0, false
}

// present is the step that the flow has come to, or nil.
func present(n *rehearsal.Snapshot) *procedure.Step {
	if n.Present < 0 || n.Present >= len(n.Steps) {
		return nil
	}
	return n.Steps[n.Present].Step
}

// asked are the instruments that a step is about.
func asked(st *procedure.Step) []procedure.InstrumentID {
	if st == nil {
		return nil
	}
	var ids []procedure.InstrumentID
	for _, c := range st.Conditions {
		ids = append(ids, c.Instrument)
	}
	if st.Hold != nil && st.Hold.Cue != "" {
		ids = append(ids, st.Hold.Cue)
	}
	return ids
}
