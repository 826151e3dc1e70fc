package classroom

import (
	"crypto/rand"
	"encoding/json"
	"fmt"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// This file is how a station follows the drill and the orders that it is given.

// drillHere is the present drill at this station.
type drillHere struct {
	Assignment
	state   DrillState
	at      time.Duration // class time of "go"
	paused  bool
	begun   bool // a run was begun, or must not be any more
	waits   bool // all began without this station: it begins when it is let in
	late    bool // it was let in
	run     *Recorder
	missing string // why it cannot be flown here
	timer   *time.Timer
	told    bool // the seat was told that it is going
}

// drillNotice takes up where the drill stands.
func (s *Station) drillNotice(n notice) {
	if n.Rev <= s.rev || n.Open == nil {
		return
	}
	s.rev = n.Rev
	d := s.drill
	if d == nil || d.Drill != n.Drill {
		if d != nil {
			s.endDrill()
		}
		if n.State == Over {
			s.tellStatus()
			return
		}
		d = s.prepare(n)
		s.drill = d
		s.o.Seat.Announced(d.Assignment)
	}
	d.state, d.at = n.State, n.Go
	switch n.State {
	case Going:
		s.going(d)
		if d.paused != n.Pause {
			d.paused = n.Pause
			s.o.Seat.Pause(n.Pause)
		}
	case Over:
		s.endDrill()
	}
	s.tellStatus()
}

// prepare opens what is sealed and finds what the drill needs.
func (s *Station) prepare(n notice) *drillHere {
	d := &drillHere{Assignment: Assignment{Drill: n.Drill, Mode: n.Open.Mode, Hidden: n.Open.Hidden, hash: n.Open.FlowHash, tokens: map[powerplant.Fault]string{}}}
	var h hidden
	text, err := s.key.open(drillUse(n.Drill, s.id.Station), n.Seal)
	if err == nil {
		err = json.Unmarshal(text, &h)
	}
	if err != nil {
		d.missing = "This drill cannot be flown here: what the instructor sent could not be opened. Leave the class and join again."
		return d
	}
	lib, flow := s.find(n.Open.Aircraft, n.Open.Flow)
	switch {
	case lib == nil:
		d.missing = fmt.Sprintf("This machine has no aircraft %q with a flow %q: copy the instructor's files here.", n.Open.Aircraft, n.Open.Flow)
		return d
	case flow.Hash != n.Open.FlowHash:
		d.missing = "This machine's copy of the flow differs from the instructor's: copy the instructor's file here, or install the same version of the program."
	}
	d.Title = flow.Title
	h.Conditions.SurpriseOffered = n.Open.Hidden
	d.Options = rehearsal.Options{Library: lib, Flow: flow.ID, Phase: n.Open.Phase, Panel: n.Open.Panel, Conditions: h.Conditions, Seed: h.Seed}
	for _, f := range h.Faults {
		d.Options.Faults = append(d.Options.Faults, f.Fault)
		d.tokens[f.Fault] = f.Token
	}
	return d
}

func (s *Station) find(a procedure.AircraftID, f procedure.FlowID) (*procedure.Library, *procedure.Flow) {
	for _, l := range s.o.Libraries {
		if l.Aircraft.ID == a {
			if flow, ok := l.Flow(f); ok {
				return l, flow
			}
		}
	}
	return nil, nil
}

// going sees to it that the run begins when it should. It is called again
// whenever class time is known better.
func (s *Station) going(d *drillHere) {
	if d.state != Going || d.begun || d.missing != "" {
		return
	}
	if d.Mode == OwnPace {
		if !d.told {
			d.told = true
			s.o.Seat.Going(d.Assignment, s.clock.Now())
		}
		return
	}
	local, known := s.times.Local(d.at)
	switch {
	case !known, d.waits, d.late:
	case !d.told && s.clock.Now() > local+lateAfter:
		// A class that flies is not joined in the middle: the instructor decides.
		d.waits = true
		s.tellStatus()
	default:
		s.beginAt(d, local)
	}
}

// lateAfter is how long after "go" a station still begins by itself: what was lost
// on the way has been sent again by then. One that hears of it later waits to be
// let in, and a run that began later is a late one.
const lateAfter = 3 * time.Second

// letIn begins the run of a station that waits, with a "go" of its own.
func (s *Station) letIn(d *drillHere) {
	if !d.waits || d.begun {
		return
	}
	d.waits, d.late = false, true
	s.beginAt(d, s.clock.Now()+LeastLead)
	s.tellStatus()
}

// beginAt begins the run at a moment of the station's clock.
func (s *Station) beginAt(d *drillHere, at time.Duration) {
	if !d.told {
		d.told = true
		s.o.Seat.Going(d.Assignment, at)
	}
	if d.timer != nil {
		d.timer.Stop()
	}
	d.timer = time.AfterFunc(at-s.clock.Now(), func() {
		s.post(func() {
			if s.drill == d && d.state == Going && !d.begun {
				s.begin(d)
			}
		})
	})
}

// begin begins a run.
func (s *Station) begin(d *drillHere) {
	d.begun = true
	began, _ := s.times.Class(s.clock.Now())
	header := RunHeader{Drill: d.Drill, Began: began, Program: s.o.Program,
		Aircraft: d.Options.Library.Aircraft.ID, Flow: d.Options.Flow, FlowHash: d.hash,
		Phase: d.Options.Phase, Panel: d.Options.Panel, Step: powerplant.StepSize}
	s.latest.Store(nil)
	d.run = newRecorder(s.book.Begin(RunID(rand.Text()), header), newTokens(d.tokens))
	s.o.Seat.Begin(d.Assignment, d.run)
	if d.paused {
		s.o.Seat.Pause(true)
	}
	s.tellStatus()
}

func (s *Station) endDrill() {
	d := s.drill
	if d.timer != nil {
		d.timer.Stop()
	}
	d.begun, d.waits, d.state = true, false, Over
	s.o.Seat.Over()
}

// order carries out what the instructor ordered, each once and in order. One
// that was missed is sent again, since the station's position says how far it is.
func (s *Station) order(n notice) {
	if n.N != s.orders+1 {
		return
	}
	text, err := s.key.open(orderUse(s.id.Station, n.N), n.Seal)
	if err != nil {
		return
	}
	s.orders++
	s.tellStatus()
	var o Order
	if json.Unmarshal(text, &o) != nil || o.Check() != nil {
		return
	}
	d := s.drill
	here := d != nil && d.Drill == o.Drill && d.state != Over
	if !here && o.Kind != OrderSay {
		return
	}
	if o.Kind == OrderBegin {
		s.letIn(d)
		return
	}
	if o.Kind == OrderFault && d.run != nil {
		d.run.tokens.add(o.Fault, o.Token)
	}
	s.o.Seat.Carry(o)
}
