package timer

import (
	"math"
	"slices"
	"time"

	"kickover/procedure"
)

// For a flow that does not say. The answer and the look's age are common
// practice, no source; oil pressure within 30 s is the FAA Airplane Flying
// Handbook's.
const (
	defaultAnswer = 3 * time.Second
	defaultValid  = 30 * time.Second
	defaultOil    = 30 * time.Second
)

// plan is what one flow asks of the button.
type plan struct {
	flow   *procedure.Flow
	before []*procedure.Step // fuel controls to set before the prime
	holds  []*procedure.Step // the prime, or each stroke of it
	set    []*procedure.Step // what to set between the prime and the look around
	area   *procedure.Step
	crank  *procedure.Step
	catch  *procedure.Step
	oil    *procedure.Step
	after  []*procedure.Step // once there is oil pressure
}

func newPlan(f *procedure.Flow) *plan {
	p := &plan{flow: f}
	for i := 0; i < len(f.Steps); i++ {
		if s := stroke(f.Steps[i:]); s != nil && p.crank == nil {
			p.holds = append(p.holds, s)
			i++
			continue
		}
		p.take(&f.Steps[i])
	}
	if len(p.holds) == 0 {
		p.set, p.before = p.before, nil
	}
	return p
}

// starts reports whether the flow leads to an attempt; the drill for a fire does
// not, and is no business of a clock's.
func (p *plan) starts() bool { return p.crank != nil && p.area != nil }

// stroke makes one hold of a hand primer's two steps, out and, after at least so
// long, in; nil when the steps do not begin with them.
func stroke(steps []procedure.Step) *procedure.Step {
	if len(steps) < 2 || !movesPrimer(&steps[0]) || !movesPrimer(&steps[1]) || steps[1].Window.Min <= 0 {
		return nil
	}
	in := steps[1]
	in.Kind = procedure.StepHold
	in.Hold = &procedure.Hold{Control: procedure.ControlPrimer}
	in.CallOuts = []procedure.CallOut{{Line: in.Prompt, Anchor: procedure.BeforeIdeal, Offset: mixtureBack.Offset}}
	return &in
}

func movesPrimer(s *procedure.Step) bool {
	return s.Kind == procedure.StepSet && len(s.Targets) == 1 && s.Targets[0].Control == procedure.ControlPrimer
}

func (p *plan) take(s *procedure.Step) {
	switch {
	case s.Kind == procedure.StepPropClear:
		p.area = s
	case s.Kind == procedure.StepCrank:
		p.crank = s
	case p.crank == nil && s.Kind == procedure.StepHold && s.Hold != nil:
		p.holds = append(p.holds, s)
	case p.crank == nil && s.Kind == procedure.StepSet && movesFuel(s):
		if len(p.holds) > 0 {
			p.set = append(p.set, s)
		} else {
			p.before = append(p.before, s)
		}
	case p.crank == nil:
	case s.Kind == procedure.StepCatch:
		p.catch = s
	case checksOil(s):
		p.oil = s
	case s.Kind == procedure.StepSettle, s.Kind == procedure.StepSet, s.Kind == procedure.StepCheck:
		p.after = append(p.after, s)
	}
}

// movesFuel reports whether a step moves what decides how much fuel and air the
// engine gets; brakes and the battery are not the timer's business.
func movesFuel(s *procedure.Step) bool {
	return slices.ContainsFunc(s.Targets, func(t procedure.Target) bool {
		switch t.Control {
		case procedure.ControlMixture, procedure.ControlThrottle, procedure.ControlPump, procedure.ControlPrimer:
			return true
		}
		return false
	})
}

func checksOil(s *procedure.Step) bool {
	return s.Kind == procedure.StepCheck && slices.ContainsFunc(s.Conditions, func(c procedure.Condition) bool {
		return c.Instrument == procedure.InstrumentOilPressure
	})
}

func (p *plan) answerWait() time.Duration {
	if p.area != nil && p.area.AnswerWait > 0 {
		return p.area.AnswerWait
	}
	return defaultAnswer
}

func (p *plan) validFor() time.Duration {
	if p.area != nil && p.area.ValidFor > 0 {
		return p.area.ValidFor
	}
	return defaultValid
}

// oilLimit is how long after the start the oil pressure may take. In air of
// unknown temperature it is the shorter time.
func (p *plan) oilLimit(celsius float64) time.Duration {
	if p.oil == nil || p.oil.Window.Max <= 0 {
		return defaultOil
	}
	return window(p.oil, celsius).Max
}

func window(s *procedure.Step, celsius float64) procedure.Window {
	if s.Cold != nil && !math.IsNaN(celsius) && celsius < s.Cold.BelowCelsius {
		return s.Cold.Window
	}
	return s.Window
}

// noStartSteps are the acts that always follow an attempt that failed; the
// starter is released already and its rest is the ledger's.
func (p *plan) noStartSteps() []*procedure.Step {
	var out []*procedure.Step
	if p.flow.NoStart == nil {
		return nil
	}
	for i := range p.flow.NoStart.Steps {
		if s := &p.flow.NoStart.Steps[i]; s.Kind == procedure.StepSet && movesFuel(s) {
			out = append(out, s)
		}
	}
	return out
}

// The bounds between the situations; common practice, no source.
const (
	hotUntil  = 30 * time.Minute
	warmUntil = 2 * time.Hour
)

// situation is what the time since the last shutdown suggests. Unknown is cold:
// the engine that has stood longest.
func situation(since time.Duration, known bool) string {
	switch {
	case !known || since > warmUntil:
		return "cold"
	case since < hotUntil:
		return "hot"
	default:
		return "warm"
	}
}

// suggested is the flow to begin with: the situation's, or else the next colder
// one's, which the aircraft may do with, or else the first of all.
func suggested(flows []*procedure.Flow, situation string) *procedure.Flow {
	colder := map[string][]string{"hot": {"hot", "warm", "cold"}, "warm": {"warm", "cold"}, "cold": {"cold"}}
	for _, s := range colder[situation] {
		for _, f := range flows {
			if f.Situation == s {
				return f
			}
		}
	}
	if len(flows) > 0 {
		return flows[0]
	}
	return nil
}
