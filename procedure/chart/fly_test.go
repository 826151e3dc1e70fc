package chart_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/flowfile"
	"kickover/procedure/proficiency"
	"kickover/procedure/rehearsal"
)

func brindle180(t testing.TB) *procedure.Library {
	t.Helper()
	libs, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range libs {
		if l.Aircraft.ID == "brindle-180" {
			return l
		}
	}
	t.Fatal("the Brindle 180 is not shipped")
	return nil
}

// student flies a flow with set times: how long the prime is held, how long the
// starter is cranked at most, and how long each step takes to begin.
type student struct {
	prime, crank time.Duration
	think        time.Duration
	slow         procedure.StepID // takes this one thrice as long as its window
	forgets      procedure.StepID // leaves this one out
	gives        int              // attempts before giving up
	swaps        procedure.StepID // does the one after it first
	spread       float64          // of the logarithm of each step's think time; 0: none
	rng          *rand.Rand

	acted time.Duration
	key   string
	since time.Duration
	wait  time.Duration
}

// fly flies the cold start at 10 degC and debriefs it.
func (p student) fly(t testing.TB) *debrief.Report {
	t.Helper()
	report, _ := p.record(t)
	return report
}

// record is fly with the run's events.
func (p student) record(t testing.TB) (*debrief.Report, []procedure.Event) {
	t.Helper()
	lib := brindle180(t)
	r, err := rehearsal.New(rehearsal.Options{
		Library: lib, Flow: "cold", Phase: procedure.Evaluate, Seed: 1,
		Conditions: rehearsal.Conditions{OATCelsius: 10},
	})
	if err != nil {
		t.Fatal(err)
	}
	for at := time.Duration(0); at < 10*time.Minute && !r.Done(); at += 50 * time.Millisecond {
		r.Advance(at)
		st := r.State()
		for _, e := range p.act(lib, &st) {
			e.At = at
			r.Input(e)
		}
		if n := len(st.Attempts); n >= max(1, p.gives) && !st.Attempts[n-1].Open && !st.Fired &&
			at > st.Attempts[n-1].Released+4*time.Second {
			r.End(procedure.EndHands)
		}
	}
	report, err := debrief.Of(debrief.Subject{
		Library: lib, Flow: "cold", Phase: procedure.Evaluate, OATCelsius: 10, Events: r.Events(),
	})
	if err != nil {
		t.Fatal(err)
	}
	return report, r.Events()
}

// improving is an invented student's n-th run: quicker each time, a prime that
// drifts toward the ideal, a lapse from run 36 to 39, and now and then the brief
// said before the throttle is set.
func improving(n int) student {
	rng := rand.New(rand.NewPCG(uint64(n), 4))
	pace := (1 + 2.2*math.Exp(-.1*float64(n))) * math.Exp(.2*rng.NormFloat64())
	if n >= 36 && n <= 39 {
		pace *= 2.5
	}
	hold := (4.2 + .6*math.Exp(-float64(n)/9)) * (1 + (.06+.08*math.Exp(-float64(n)/10))*rng.NormFloat64())
	p := student{
		prime: time.Duration(hold * 1e9), crank: 6 * time.Second, think: time.Duration(pace * 1e9),
		spread: .2, rng: rng,
	}
	if n%8 == 3 && n < 40 {
		p.swaps = "throttle-start"
	}
	return p
}

// fifty is the report of fifty of them, flown and debriefed one by one.
func fifty(t testing.TB) *proficiency.Report {
	t.Helper()
	flow, ok := brindle180(t).Flow("cold")
	if !ok {
		t.Fatal("no cold start")
	}
	var runs []proficiency.Run
	begin := time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC)
	for n := 1; n <= 50; n++ {
		report, events := improving(n).record(t)
		runs = append(runs, proficiency.Observe(begin.Add(time.Duration(n)*20*time.Hour), flow, procedure.Evaluate, report, events))
	}
	return proficiency.Of(runs)
}

func move(id procedure.ControlID, to procedure.Position) procedure.Event {
	return procedure.Event{Kind: procedure.EventMove, Subject: string(id), Value: float64(to)}
}

func call(subject string) procedure.Event {
	return procedure.Event{Kind: procedure.EventCall, Subject: subject}
}

func (p *student) act(lib *procedure.Library, st *procedure.State) []procedure.Event {
	ignition, _ := lib.Aircraft.Control(procedure.ControlIgnition)
	start, _ := ignition.Detent(procedure.DetentStart)
	both, _ := ignition.Detent(procedure.DetentBoth)
	if len(st.Choices) > 0 {
		choice := st.Choices[0]
		for _, c := range st.Choices {
			if c.Flow == "flooded-patience" {
				choice = c
			}
		}
		return []procedure.Event{{Kind: procedure.EventChoose, Subject: choice.ID}}
	}
	if st.Present >= len(st.Steps) {
		return nil
	}
	if st.Fired && st.At-st.FiredAt > 600*time.Millisecond {
		var out []procedure.Event
		if st.Cranking {
			out = append(out, move(procedure.ControlIgnition, both))
		}
		for i := st.Present; i < len(st.Steps); i++ {
			if s := &st.Steps[i]; s.Step.Kind == procedure.StepCatch && !s.Finished() {
				for _, g := range s.Step.Targets {
					out = append(out, move(g.Control, g.At))
				}
			}
		}
		if out != nil {
			return out
		}
	}
	if st.Cranking {
		if a := st.Attempts[len(st.Attempts)-1]; !st.Fired && st.At-a.Engaged >= p.crank {
			return []procedure.Event{move(procedure.ControlIgnition, both)}
		}
		return nil
	}
	if n := len(st.Attempts); n > 0 && (n >= max(1, p.gives) && !st.Fired || !st.Fired && st.At < st.Attempts[n-1].Released+3*time.Second) {
		return nil // it may still catch, or enough was tried
	}
	s := &st.Steps[st.Present]
	if s.Key != p.key {
		p.key, p.since, p.acted, p.wait = s.Key, st.At, st.At, p.think
		if p.spread > 0 {
			p.wait = time.Duration(float64(p.think) * math.Exp(p.spread*p.rng.NormFloat64()))
		}
	}
	wait := p.wait
	if s.Step.ID == p.slow {
		wait = 3 * s.Window.Max
	}
	if st.Holding {
		if st.At-st.HeldSince >= p.prime {
			return []procedure.Event{move(s.Step.Hold.Control, s.Step.Hold.Rest)}
		}
		return nil
	}
	if st.At-p.acted < wait {
		return nil
	}
	return p.do(lib, st, s, start)
}

func (p *student) do(lib *procedure.Library, st *procedure.State, s *procedure.StepState, start procedure.Position) []procedure.Event {
	p.acted = st.At
	if s.Step.ID == p.swaps && st.Present+1 < len(st.Steps) && !st.Steps[st.Present+1].Finished() {
		return p.do(lib, st, &st.Steps[st.Present+1], start)
	}
	switch s.Step.Kind {
	case procedure.StepSet:
		if s.Step.ID == p.forgets && st.Present+1 < len(st.Steps) {
			return p.do(lib, st, &st.Steps[st.Present+1], start)
		}
		var out []procedure.Event
		for _, g := range s.Step.Targets {
			out = append(out, move(g.Control, g.At))
		}
		return out
	case procedure.StepCheck:
		return []procedure.Event{{Kind: procedure.EventReport, Subject: string(s.Step.Conditions[0].Instrument)}}
	case procedure.StepHold:
		return []procedure.Event{move(s.Step.Hold.Control, s.Step.Hold.Full)}
	case procedure.StepBrief:
		return []procedure.Event{call(procedure.CallReady)}
	case procedure.StepPropClear:
		for i, looked := range st.Area.Looked {
			if !looked {
				return []procedure.Event{{Kind: procedure.EventLook, Subject: procedure.Sectors[i]}}
			}
		}
		if !st.Area.Called {
			return []procedure.Event{call(procedure.CallClear)}
		}
	case procedure.StepCrank:
		return []procedure.Event{move(procedure.ControlIgnition, start)}
	case procedure.StepSettle:
		if mark, ok := findMark(lib); ok {
			return []procedure.Event{move(procedure.ControlThrottle, mark)}
		}
	}
	return nil
}

func findMark(lib *procedure.Library) (procedure.Position, bool) {
	c, _ := lib.Aircraft.Control(procedure.ControlThrottle)
	m, ok := c.Mark("start")
	return m.At, ok
}
