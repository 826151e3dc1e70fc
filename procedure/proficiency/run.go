package proficiency

import (
	"errors"
	"time"

	"kickover/procedure"
	"kickover/procedure/debrief"
)

// ErrNotEnough is returned where a method needs more runs than there are.
var ErrNotEnough = errors.New("not enough runs")

// Run is what this package needs to know of one run.
type Run struct {
	At        time.Time
	Aircraft  procedure.AircraftID
	Flow      procedure.FlowID
	FlowTitle string
	Phase     procedure.Phase
	Prompted  bool // each step was spoken: it shows less of what is known
	Steps     []Step
	Attempts  int
	Breaches  int // acts that could have hurt somebody
	Started   bool
}

// Step is what became of one step of a run.
type Step struct {
	ID          procedure.StepID
	Title       string
	Kind        procedure.StepKind
	Criticality int
	Verdict     procedure.Verdict
	Window      procedure.Window
	Elapsed     time.Duration    // what the window judged; zero when it was not done
	Hesitation  time.Duration    // from when it was due to the first act for it; negative when unknown
	TakenFor    procedure.StepID // what was done when this was due, if it was done out of order
}

// Done reports whether the step was done, in whatever order and time.
func (s Step) Done() bool {
	return s.Verdict != procedure.Pending && s.Verdict != procedure.Missed
}

// Inside reports whether the step was done as it should be.
func (s Step) Inside() bool { return s.Verdict == procedure.OnTime }

// Observe makes a Run of a debriefed run and its events. What a branch repeats
// after an attempt that failed is left out: it is another task.
func Observe(at time.Time, flow *procedure.Flow, phase procedure.Phase, r *debrief.Report, events []procedure.Event) Run {
	run := Run{
		At: at, Aircraft: flow.Aircraft, Flow: flow.ID, FlowTitle: flow.Title, Phase: phase,
		Prompted: phase != procedure.Evaluate,
		Attempts: len(r.Attempts), Breaches: len(r.Breaches), Started: r.Started,
	}
	first := r.Steps[:min(len(flow.Steps), len(r.Steps))]
	for i, s := range first {
		if !s.Reached {
			continue
		}
		step := Step{
			ID: s.Step.ID, Title: s.Step.Title, Kind: s.Step.Kind, Criticality: s.Step.Criticality,
			Verdict: s.Verdict, Window: s.Window, Elapsed: s.Elapsed, Hesitation: hesitation(s, events),
		}
		if s.Verdict == procedure.OutOfOrder {
			step.TakenFor = takenFor(first[i+1:], s)
		}
		run.Steps = append(run.Steps, step)
	}
	return run
}

// hesitation is how long nothing was done for a step after it was due; -1 when
// its act cannot be told from the events.
func hesitation(s debrief.Step, events []procedure.Event) time.Duration {
	for _, e := range events {
		if e.At < s.Begin || !actsFor(s.Step, e) {
			continue
		}
		if e.At > s.Done {
			break
		}
		return e.At - s.Begin
	}
	return -1
}

// actsFor reports whether an event is the student acting for a step.
func actsFor(s *procedure.Step, e procedure.Event) bool {
	switch e.Kind {
	case procedure.EventMove:
		for _, t := range s.Targets {
			if string(t.Control) == e.Subject {
				return true
			}
		}
		return s.Kind == procedure.StepSettle && e.Subject == string(procedure.ControlThrottle)
	case procedure.EventReport:
		return s.Kind == procedure.StepCheck && len(s.Conditions) > 0 && e.Subject == string(s.Conditions[0].Instrument)
	case procedure.EventLook:
		return s.Kind == procedure.StepPropClear
	case procedure.EventCall:
		return s.Kind == procedure.StepBrief && e.Subject == procedure.CallReady
	}
	return false
}

// takenFor is the step that was done when another was due: of those that should
// have come later, the first that was done.
func takenFor(later []debrief.Step, due debrief.Step) procedure.StepID {
	var id procedure.StepID
	best := due.Done
	for _, s := range later {
		if s.Reached && s.Verdict != procedure.Missed && s.Done >= due.Begin && s.Done < best {
			best, id = s.Done, s.Step.ID
		}
	}
	return id
}
