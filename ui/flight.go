package ui

import (
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/ui/home"
	"kickover/ui/rehearse"
	"kickover/ui/review"
)

// Session is a run being flown, with its place in the store.
type Session interface {
	// Live drives the run; publish is called by its owner.
	Live(publish func(*rehearsal.Snapshot)) *rehearsal.Live
	// Finish closes the record and says what became of the run. It may wait for
	// the disk.
	Finish() (review.Debriefing, error)
	// Notice is a sentence about the record or the sound, empty when all is well.
	Notice() string
}

// demonstration is the run that a newcomer sees first.
func demonstration(lib *procedure.Library) home.Chosen {
	return home.Chosen{
		Library: lib, Flow: "cold", Phase: procedure.Demonstrate,
		Conditions: rehearsal.Conditions{OATCelsius: 10, PressureAltM: 120, SinceShutdown: 12 * time.Hour, BatteryCharge: 0.88},
	}
}

// begin flies what was chosen.
func (s *shell) begin(c home.Chosen) {
	session, err := s.o.Begin(c)
	if err != nil {
		s.apologise(err)
		return
	}
	s.fly(session, func() { s.begin(c) }, s.nextAfter(c))
}

// way is where a debrief leads.
type way struct {
	name string
	take func()
}

// nextAfter is the next phase of the same flow, or home after the last.
func (s *shell) nextAfter(c home.Chosen) way {
	next := map[procedure.Phase]procedure.Phase{
		procedure.Explain: procedure.Demonstrate, procedure.Demonstrate: procedure.Perform, procedure.Perform: procedure.Evaluate,
	}[c.Phase]
	if next == "" {
		return way{"Choose the next", s.showHome}
	}
	names := map[procedure.Phase]string{
		procedure.Demonstrate: "Watch it done", procedure.Perform: "Now you: Perform", procedure.Evaluate: "In silence: Evaluate",
	}
	return way{names[next], func() { c.Phase = next; s.begin(c) }}
}

// fly shows a session on the Rehearse screen until it is over.
func (s *shell) fly(session Session, again func(), next way) {
	s.end()
	var live *rehearsal.Live
	finished := false
	debrief := func() {
		switch n := live.Latest(); {
		case finished:
		case n.Phase != procedure.Explain:
			finished = true
			s.debrief(session, again, next)
		default: // nothing was flown that could be debriefed
			s.end()
			if n.Outcome == procedure.Abandoned {
				s.showHome()
			} else {
				next.take()
			}
		}
	}
	screen := rehearse.New(rehearse.Options{
		Theme:    s.o.Dress,
		Units:    s.units(),
		Now:      func() time.Duration { return live.Now() },
		Emit:     func(e procedure.Event) { live.Input(e) },
		SkipRest: func() { live.SkipRest() },
		Pause:    func() { live.Pause(!live.Latest().Paused) },
		Leave: func() {
			if live.Latest().Done {
				s.showHome()
			}
			live.End(procedure.EndAbandoned)
		},
		Finish: debrief,
	})
	b := &bridge{show: func(n *rehearsal.Snapshot) {
		if finished {
			return
		}
		if notice := session.Notice(); notice != "" {
			n.Notice = notice
		}
		screen.Show(n)
		if n.Done && n.Outcome == procedure.Abandoned {
			debrief()
		}
	}}
	live = session.Live(b.Publish)
	screen.Show(live.Latest())
	unstamp := func() {}
	s.leave = func() {
		unstamp()
		live.End(procedure.EndAbandoned)
		<-live.Done()
		if !finished {
			finished = true
			_, _ = session.Finish() // the window is going elsewhere; what it came to is in the store
		}
	}
	s.flying = live.Latest().Aircraft
	s.pause = func() func() {
		if was := live.Latest(); was.Paused || was.Done {
			return func() {}
		}
		live.Pause(true)
		return func() { live.Pause(false) }
	}
	s.wholly(runScreen, screen.Content(), screen.Focus)
	s.whenShown(func() {
		// Without an X11 window the toolkit's own stamps are used, up to 17 ms late.
		if stop, err := screen.Stamp(s.window); err == nil {
			unstamp = stop
		}
	})
}

// debrief closes a session's record and shows what became of it.
func (s *shell) debrief(session Session, again func(), next way) {
	s.end()
	s.while("Closing the record of the run…", func() func() {
		d, err := session.Finish()
		return s.reviewed(d, err, again, next)
	})
}

// open shows a past run.
func (s *shell) open(id string) { s.openWith(id, way{"Back to your runs", s.showRuns}) }

// openWith shows a past run and where it leads.
func (s *shell) openWith(id string, next way) {
	s.while("Reading the run…", func() func() {
		d, err := s.o.Open(id)
		return s.reviewed(d, err, nil, next)
	})
}

// reviewed gives what shows a debrief, or why there is none. It may wait for a disk.
func (s *shell) reviewed(d review.Debriefing, err error, again func(), next way) func() {
	if err != nil {
		return func() { s.apologise(err) }
	}
	about, filed := s.filed(d)
	return func() {
		if filed {
			s.review(d, &about, again, next)
		} else {
			s.review(d, nil, again, next)
		}
	}
}

// review shows a debrief; about is what the records say of the run, nil for nothing.
func (s *shell) review(d review.Debriefing, about *About, again func(), next way) {
	o := review.Options{Theme: s.o.Dress, Units: s.units(), Again: again, Next: next.take, NextIs: next.name}
	if d.ID != "" && d.Phase != procedure.Explain {
		o.Replay = func() { s.replay(d.ID) }
	}
	if about != nil {
		s.fileRun(d, *about, &o)
	}
	screen := review.New(d, o)
	s.page(debriefScreen, screen.Content(), func(w fyne.Window) {
		// The key that ended the run came from the display server, ahead of the
		// toolkit's own event for it: that one must not press a button here.
		w.Canvas().Unfocus()
		time.AfterFunc(keyEcho, func() { fyne.Do(func() { screen.Focus(w) }) })
	})
}

// keyEcho is how long the toolkit's own event may follow a stamped one.
const keyEcho = 400 * time.Millisecond

// replay shows a past run again as it was flown.
func (s *shell) replay(id string) {
	s.while("Reading the run…", func() func() {
		session, err := s.o.Replay(id)
		return func() {
			if err != nil {
				s.apologise(err)
				return
			}
			s.fly(session, func() { s.replay(id) }, way{"Back to your runs", s.showRuns})
		}
	})
}
