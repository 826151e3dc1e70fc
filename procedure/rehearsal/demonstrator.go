package rehearsal

import (
	"math"
	"time"

	"kickover/procedure"
)

// actEvery is how often the demonstrator and the world consider acting.
const actEvery = 20 * time.Millisecond

// Demonstrator flies a flow as an instructor would show it: unhurried, so that
// each prompt can be heard, and exact where it matters.
type Demonstrator struct {
	lib      *procedure.Library
	key      string        // the step being thought about
	since    time.Duration // since when
	looked   time.Duration // when it last looked somewhere
	released bool
	standing procedure.FlowID // the drill whose signs it sees
	seen     time.Duration    // since when
}

// NewDemonstrator makes one for an aircraft. It serves one run.
func NewDemonstrator(lib *procedure.Library) *Demonstrator { return &Demonstrator{lib: lib} }

// Pace of the demonstration.
const (
	thinkTime    = 1200 * time.Millisecond // after a step began, before the hand moves
	lookTime     = 1100 * time.Millisecond // looking at one third
	reactionTime = 350 * time.Millisecond  // from the firing to the mixture
	releaseTime  = 900 * time.Millisecond  // from the firing to the starter
	leverSpeed   = 45.0                    // mm/s, along a scale
	mixtureTime  = 200 * time.Millisecond  // the mixture's whole travel
	patience     = time.Minute             // with a step that cannot be done, past its window
	answerTime   = 1500 * time.Millisecond // from seeing what is wrong to the first act
)

// act returns what the hands do now.
func (d *Demonstrator) act(st *procedure.State, r *Rehearsal) []procedure.Event {
	if st.Interrupted != nil && st.At > st.Interrupted.At+2*time.Second {
		return []procedure.Event{callEvent(procedure.CallAnswered)}
	}
	if e := d.answer(st, r); e != nil {
		return e
	}
	if st.Cranking && diedCranking(st) && !d.stopping(st) {
		return []procedure.Event{moveEvent(procedure.ControlIgnition, r.detent(procedure.DetentBoth))}
	}
	if len(st.Choices) > 0 && (st.Present >= len(st.Steps) || st.Steps[st.Present].Step.Kind == procedure.StepRest) {
		return d.choose(st, r)
	}
	if st.Present >= len(st.Steps) {
		return nil
	}
	s := &st.Steps[st.Present]
	if s.Key != d.key {
		d.key, d.since, d.looked, d.released = s.Key, st.At, st.At, false
	}
	waited := st.At - d.since
	if s.Step.Kind != procedure.StepRest && waited > s.Window.Max+patience {
		return []procedure.Event{{Kind: procedure.EventEnd, Text: procedure.EndHands}}
	}
	if st.Fired {
		if e := d.afterFiring(st, r); e != nil {
			return e
		}
	}
	if s.Step.Kind != procedure.StepCrank && s.Step.Kind != procedure.StepHold && waited < d.think(s) {
		return nil
	}
	return d.actOn(st, s, r)
}

// think is how long the demonstrator lets a prompt be heard before acting.
func (d *Demonstrator) think(s *procedure.StepState) time.Duration {
	if s.Step.Kind == procedure.StepBrief || s.Step.Kind == procedure.StepCheck {
		return max(thinkTime, readingTime(s.Step.Prompt))
	}
	return thinkTime
}

func (d *Demonstrator) actOn(st *procedure.State, s *procedure.StepState, r *Rehearsal) []procedure.Event {
	switch s.Step.Kind {
	case procedure.StepSet:
		return d.setControls(s, r)
	case procedure.StepCheck:
		if r.readsAs(s.Step) {
			return []procedure.Event{{Kind: procedure.EventReport, Subject: string(s.Step.Conditions[0].Instrument)}}
		}
		if d.stopping(st) && st.At-s.Begin > s.Window.Max && st.Present+1 < len(st.Steps) {
			return d.actOn(st, &st.Steps[st.Present+1], r) // it does not come: the next act
		}
	case procedure.StepHold:
		return d.prime(st, s, r)
	case procedure.StepBrief:
		return []procedure.Event{callEvent(procedure.CallReady)}
	case procedure.StepPropClear:
		return d.lookRound(st)
	case procedure.StepCrank:
		return d.crank(st, r)
	case procedure.StepSettle:
		return d.trim(s, r)
	}
	return nil
}

// readsAs reports whether the instruments of a check show what they should. The
// lamps count as they were last looked at, as they do for whoever judges it.
func (r *Rehearsal) readsAs(s *procedure.Step) bool {
	for i, c := range s.Conditions {
		v := r.reading(c.Instrument)
		if i > 0 {
			v = r.lastLooked(c.Instrument)
		}
		if !c.Holds(v) {
			return false
		}
	}
	return true
}

func callEvent(subject string) procedure.Event {
	return procedure.Event{Kind: procedure.EventCall, Subject: subject}
}

func moveEvent(id procedure.ControlID, to procedure.Position) procedure.Event {
	return procedure.Event{Kind: procedure.EventMove, Subject: string(id), Value: float64(to)}
}

// setControls moves the first control that is not where it should be.
func (d *Demonstrator) setControls(s *procedure.StepState, r *Rehearsal) []procedure.Event {
	for _, t := range s.Step.Targets {
		if e := d.toward(t.Control, t.At, r); e != nil {
			return e
		}
	}
	return nil
}

// toward moves a control one act nearer to where it should be.
func (d *Demonstrator) toward(id procedure.ControlID, to procedure.Position, r *Rehearsal) []procedure.Event {
	c, ok := d.lib.Aircraft.Control(id)
	if !ok {
		return nil
	}
	at := r.position(id)
	if at == to {
		return nil
	}
	if c.Kind == procedure.Lever {
		speed := leverSpeed
		if c.Unit == "" {
			speed = float64(c.Travel) / mixtureTime.Seconds()
		}
		most := procedure.Position(speed * actEvery.Seconds())
		to = at + min(max(to-at, -most), most)
	}
	return []procedure.Event{moveEvent(id, to)}
}

// prime holds the mixture forward until the ideal, or until the flow levels off
// where the step goes by the cue alone.
func (d *Demonstrator) prime(st *procedure.State, s *procedure.StepState, r *Rehearsal) []procedure.Event {
	h := s.Step.Hold
	if !st.Holding {
		if st.At-d.since < d.think(s) {
			return nil
		}
		return d.toward(h.Control, h.Full, r)
	}
	held := st.At - st.HeldSince
	back := held >= s.Window.Ideal-mixtureTime
	if h.By == procedure.ByCue {
		back = st.Levelled
	}
	if back || d.released {
		d.released = true
		e := d.toward(h.Control, h.Rest, r)
		if e != nil && procedure.Position(e[0].Value) == h.Rest {
			d.released = false
		}
		return e
	}
	return d.toward(h.Control, h.Full, r)
}

// lookRound looks at each third until all are clear, then calls.
func (d *Demonstrator) lookRound(st *procedure.State) []procedure.Event {
	if st.Area.Called || st.At-d.looked < lookTime {
		return nil
	}
	for i, done := range st.Area.Looked {
		if !done && !st.Area.Occupied[i] {
			d.looked = st.At
			return []procedure.Event{{Kind: procedure.EventLook, Subject: procedure.Sectors[i]}}
		}
	}
	if st.Area.Occupied == [3]bool{} {
		d.looked = st.At
		return []procedure.Event{callEvent(procedure.CallClear)}
	}
	return nil
}

// crank engages on a valid check and lets go just inside the limit.
func (d *Demonstrator) crank(st *procedure.State, r *Rehearsal) []procedure.Event {
	const margin = 150 * time.Millisecond
	if st.Cranking {
		if limit, ok := r.ledger.LimitAt(); ok && st.At >= limit-margin {
			return []procedure.Event{moveEvent(procedure.ControlIgnition, r.detent(procedure.DetentBoth))}
		}
		return nil
	}
	if n := len(st.Attempts); n > 0 && st.At-st.Attempts[n-1].Released < 3*time.Second {
		return nil // it may still catch
	}
	if !st.AreaValid {
		return d.lookRound(st)
	}
	return []procedure.Event{moveEvent(procedure.ControlIgnition, r.detent(procedure.DetentStart))}
}

// afterFiring catches the engine and lets the starter go; nil when there is
// nothing of that left to do.
func (d *Demonstrator) afterFiring(st *procedure.State, r *Rehearsal) []procedure.Event {
	since := st.At - st.FiredAt
	for i := st.Present; i < len(st.Steps); i++ {
		s := &st.Steps[i]
		switch {
		case s.Finished():
		case s.Step.Kind == procedure.StepCatch && since >= reactionTime:
			if e := d.setControls(s, r); e != nil {
				return e
			}
		case s.Step.Kind == procedure.StepRelease && since >= releaseTime && st.Cranking:
			return []procedure.Event{moveEvent(procedure.ControlIgnition, r.detent(procedure.DetentBoth))}
		}
	}
	return nil
}

// trim moves the throttle a little toward the middle of the band.
func (d *Demonstrator) trim(s *procedure.StepState, r *Rehearsal) []procedure.Event {
	c := s.Step.Conditions[0]
	v := r.reading(c.Instrument)
	if math.IsNaN(v) {
		return nil
	}
	const mmPerUnit = 0.0004 // per act: slow enough not to hunt
	off := (c.Min+c.Max)/2 - v
	if math.Abs(off) < (c.Max-c.Min)/8 {
		return nil
	}
	at := r.position(procedure.ControlThrottle)
	return []procedure.Event{moveEvent(procedure.ControlThrottle, at+procedure.Position(off*mmPerUnit))}
}

// tiredOfResting reports whether a demonstration has shown enough of a rest for
// the watcher to be spared the remainder.
func (d *Demonstrator) tiredOfResting(r *Rehearsal) bool {
	if d == nil {
		return false
	}
	st := r.run.State()
	if st.Present >= len(st.Steps) || st.Steps[st.Present].Step.Kind != procedure.StepRest {
		return false
	}
	const shown = 6 * time.Second
	return st.At-st.Steps[st.Present].Begin > shown
}

// stopping reports whether what is being done ends with the engine stopped.
func (d *Demonstrator) stopping(st *procedure.State) bool {
	if st.Present >= len(st.Steps) {
		return false
	}
	f, ok := d.lib.Flow(st.Steps[st.Present].Flow)
	return ok && f.Ends == procedure.Stopped && f.Signs != nil
}

// answer begins the drill whose signs stand, where the phase does not.
func (d *Demonstrator) answer(st *procedure.State, r *Rehearsal) []procedure.Event {
	if len(st.Standing) == 0 {
		d.standing = ""
		return nil
	}
	if st.Standing[0] != d.standing {
		d.standing, d.seen = st.Standing[0], st.At
	}
	f, ok := d.lib.Flow(d.standing)
	if !ok || st.At-d.seen < answerTime {
		return nil
	}
	for i := range f.Steps {
		if f.Steps[i].Kind != procedure.StepSet {
			break
		}
		for _, t := range f.Steps[i].Targets {
			if !t.Met(r.position(t.Control)) {
				return d.toward(t.Control, t.At, r)
			}
		}
	}
	return nil
}

// choose decides after an attempt that failed: by what is wrong, which whoever
// shows it knows, else by how much prime was given.
func (d *Demonstrator) choose(st *procedure.State, r *Rehearsal) []procedure.Event {
	if c, ok := d.rightChoice(st, r); ok {
		return []procedure.Event{{Kind: procedure.EventChoose, Subject: c.ID}}
	}
	flooded := false
	for _, s := range st.Steps {
		if s.Step.Kind == procedure.StepHold && s.Elapsed > s.Window.Ideal {
			flooded = true
		}
	}
	chosen := st.Choices[0]
	for _, c := range st.Choices {
		if f, ok := d.lib.Flow(c.Flow); ok && f.Primes() != flooded {
			chosen = c
			break
		}
	}
	return []procedure.Event{{Kind: procedure.EventChoose, Subject: chosen.ID}}
}

// rightChoice finds a choice that answers a fault, or leads to one that does.
func (d *Demonstrator) rightChoice(st *procedure.State, r *Rehearsal) (procedure.Choice, bool) {
	const mostTries = 2
	for _, deep := range []bool{false, true} {
		for _, c := range st.Choices {
			f, ok := d.lib.Flow(c.Flow)
			if !ok || d.tries(st, c.Flow) >= mostTries {
				continue
			}
			if !deep && r.answeredBy(f) {
				return c, true
			}
			for _, next := range f.Choices {
				if g, ok := d.lib.Flow(next.Flow); deep && ok && r.answeredBy(g) {
					return c, true
				}
			}
		}
	}
	return procedure.Choice{}, false
}

// tries is how often a flow was gone over to.
func (d *Demonstrator) tries(st *procedure.State, id procedure.FlowID) int {
	n, last := 0, ""
	for i := range st.Steps {
		if s := &st.Steps[i]; s.Flow == id && s.Step.Kind == procedure.StepCrank && s.Key != last {
			n, last = n+1, s.Key
		}
	}
	return n
}

// diedCranking reports whether the engine fired on the starter and died there.
func diedCranking(st *procedure.State) bool {
	n := len(st.Attempts)
	return n > 0 && st.Attempts[n-1].Died
}
