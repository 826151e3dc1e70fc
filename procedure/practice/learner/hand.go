package learner

import (
	"math"
	"math/rand/v2"
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// Hand is how one run is flown. It serves one run.
type Hand struct {
	Prime  time.Duration // how long the prime is held
	Crank  time.Duration // how long the starter is engaged at most
	Think  time.Duration // from a step's being due to its first act
	React  time.Duration // from the firing to the mixture and the starter; 0 is 0.6 s
	Spread float64       // of the logarithm of Think, from step to step; 0: none
	Seed   uint64        // of that spread

	Slow     procedure.StepID // takes thrice as long as its window
	Forgets  procedure.StepID // is left out
	Swaps    procedure.StepID // is done after the one that follows it
	Attempts int              // before giving up; 0 is one

	rng   *rand.Rand
	lib   *procedure.Library
	key   string        // of the step being thought about
	wait  time.Duration // how long it is thought about
	acted time.Duration
}

const (
	looksEvery = 50 * time.Millisecond // between two decisions
	reaction   = 600 * time.Millisecond
	mayCatch   = 3 * time.Second  // after letting go of the starter
	longest    = 15 * time.Minute // of a run, as flown
)

// Fly flies a run to its end and gives its events.
func (h *Hand) Fly(o rehearsal.Options) ([]procedure.Event, error) {
	r, err := rehearsal.New(o)
	if err != nil {
		return nil, err
	}
	if h.React == 0 {
		h.React = reaction
	}
	h.lib, h.rng = o.Library, rand.New(rand.NewPCG(h.Seed, 1))
	for at := time.Duration(0); at < longest && !r.Done(); at = max(at, r.Now()) + looksEvery {
		r.Advance(at)
		st := r.State()
		if resting(&st) {
			r.SkipRest()
			continue
		}
		for _, e := range h.act(&st) {
			e.At = at
			r.Input(e)
		}
		if h.givesUp(&st) {
			break
		}
	}
	r.End(procedure.EndHands)
	return r.Events(), nil
}

func resting(st *procedure.State) bool {
	return st.Present < len(st.Steps) && st.Steps[st.Present].Step.Kind == procedure.StepRest &&
		st.RestUntil > st.At && st.At-st.Steps[st.Present].Begin > 2*time.Second
}

func (h *Hand) givesUp(st *procedure.State) bool {
	n := len(st.Attempts)
	return n >= max(1, h.Attempts) && !st.Attempts[n-1].Open && !st.Fired && st.At > st.Attempts[n-1].Released+mayCatch+time.Second
}

// act is what the hand does now.
func (h *Hand) act(st *procedure.State) []procedure.Event {
	if len(st.Choices) > 0 {
		return []procedure.Event{{Kind: procedure.EventChoose, Subject: h.choose(st).ID}}
	}
	if st.Present >= len(st.Steps) {
		return nil
	}
	if st.Fired && st.At-st.FiredAt > h.React {
		if out := h.catch(st); out != nil {
			return out
		}
	}
	if st.Cranking {
		if a := st.Attempts[len(st.Attempts)-1]; !st.Fired && st.At-a.Engaged >= h.Crank {
			return []procedure.Event{h.release()}
		}
		return nil
	}
	if n := len(st.Attempts); n > 0 && !st.Fired && (n >= max(1, h.Attempts) || st.At < st.Attempts[n-1].Released+mayCatch) {
		return nil // it may still catch, or enough was tried
	}
	s := &st.Steps[st.Present]
	h.come(s, st.At)
	if st.Holding {
		if st.At-st.HeldSince >= h.Prime {
			return []procedure.Event{move(s.Step.Hold.Control, s.Step.Hold.Rest)}
		}
		return nil
	}
	if st.At-h.acted < h.wait {
		return nil
	}
	h.acted = st.At
	return h.do(st, st.Present)
}

// come thinks about a step that it has just come to.
func (h *Hand) come(s *procedure.StepState, at time.Duration) {
	if s.Key == h.key {
		return
	}
	h.key, h.acted, h.wait = s.Key, at, h.Think
	if h.Spread > 0 {
		h.wait = time.Duration(float64(h.Think) * math.Exp(h.Spread*h.rng.NormFloat64()))
	}
	if s.Step.ID == h.Slow {
		h.wait = 3 * s.Window.Max
	}
}

// choose goes by the prime: more than the ideal flooded it.
func (h *Hand) choose(st *procedure.State) procedure.Choice {
	flooded := false
	for _, s := range st.Steps {
		flooded = flooded || s.Step.Kind == procedure.StepHold && s.Elapsed > s.Window.Ideal
	}
	for _, c := range st.Choices {
		if f, ok := h.lib.Flow(c.Flow); ok && f.Primes() != flooded {
			return c
		}
	}
	return st.Choices[0]
}

// catch is what follows the firing: the mixture, and the starter let go.
func (h *Hand) catch(st *procedure.State) []procedure.Event {
	var out []procedure.Event
	if st.Cranking {
		out = append(out, h.release())
	}
	for i := st.Present; i < len(st.Steps); i++ {
		if s := &st.Steps[i]; s.Step.Kind == procedure.StepCatch && !s.Finished() {
			out = append(out, targets(s.Step)...)
		}
	}
	return out
}

// do is the act of a step.
func (h *Hand) do(st *procedure.State, i int) []procedure.Event {
	s := &st.Steps[i]
	other := i+1 < len(st.Steps) && !st.Steps[i+1].Finished()
	if (s.Step.ID == h.Swaps || s.Step.ID == h.Forgets) && other {
		return h.do(st, i+1)
	}
	switch s.Step.Kind {
	case procedure.StepSet:
		return targets(s.Step)
	case procedure.StepCheck:
		return []procedure.Event{{Kind: procedure.EventReport, Subject: string(s.Step.Conditions[0].Instrument)}}
	case procedure.StepHold:
		return []procedure.Event{move(s.Step.Hold.Control, s.Step.Hold.Full)}
	case procedure.StepBrief:
		return []procedure.Event{call(procedure.CallReady)}
	case procedure.StepPropClear:
		return look(st)
	case procedure.StepCrank:
		return []procedure.Event{h.ignition(procedure.DetentStart)}
	case procedure.StepSettle:
		throttle, _ := h.lib.Aircraft.Control(procedure.ControlThrottle)
		if mark, ok := throttle.Mark("start"); ok {
			return []procedure.Event{move(procedure.ControlThrottle, mark.At)}
		}
	}
	return nil
}

func look(st *procedure.State) []procedure.Event {
	for i, looked := range st.Area.Looked {
		if !looked {
			return []procedure.Event{{Kind: procedure.EventLook, Subject: procedure.Sectors[i]}}
		}
	}
	if !st.Area.Called {
		return []procedure.Event{call(procedure.CallClear)}
	}
	return nil
}

func targets(s *procedure.Step) []procedure.Event {
	var out []procedure.Event
	for _, g := range s.Targets {
		out = append(out, move(g.Control, g.At))
	}
	return out
}

func (h *Hand) release() procedure.Event { return h.ignition(procedure.DetentBoth) }

func (h *Hand) ignition(detent string) procedure.Event {
	c, _ := h.lib.Aircraft.Control(procedure.ControlIgnition)
	at, _ := c.Detent(detent)
	return move(procedure.ControlIgnition, at)
}

func move(id procedure.ControlID, to procedure.Position) procedure.Event {
	return procedure.Event{Kind: procedure.EventMove, Subject: string(id), Value: float64(to)}
}

func call(subject string) procedure.Event {
	return procedure.Event{Kind: procedure.EventCall, Subject: subject}
}
