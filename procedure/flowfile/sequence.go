package flowfile

import (
	"fmt"

	"kickover/procedure"
)

// sequence reads steps one after another and checks each against what came
// before it: a crank needs a propeller-area check, a catch needs a crank.
type sequence struct {
	r      *report
	a      *procedure.Aircraft
	ids    map[string]int
	branch bool // the steps after a failed attempt

	clear      bool  // a propeller-area check stands since the last crank
	brakesHeld bool  // a step has asked for the brakes
	cranked    bool  // a crank came before
	unreleased *node // the crank that nothing has released yet
	alone      *node // the step before, when it is together with nobody yet
	paired     bool  // the step before was marked together
}

// all reads the list of steps of what it belongs to; mend is what to do about too
// many.
func (s *sequence) all(n *node, of, mend string) []procedure.Step {
	nodes := list(s.r, n, "steps")
	if len(nodes) > maxSteps {
		s.r.complain(nodes[maxSteps], fmt.Sprintf("the %s has %d steps; at most %d are read", of, len(nodes), maxSteps), mend)
		nodes = nodes[:maxSteps]
	}
	var steps []procedure.Step
	for _, n := range nodes {
		steps = append(steps, s.next(n))
	}
	s.finish()
	return steps
}

// next reads a step and moves on.
func (s *sequence) next(n *node) procedure.Step {
	step, f := readStep(s.r, n, s.a, s.ids)
	if step.Kind == "" {
		// Complained about. It may have been the very step that the others need.
		s.clear, s.brakesHeld, s.cranked, s.unreleased = true, true, true, nil
		return step
	}
	s.order(&step, &f)
	s.together(&step, &f)
	return step
}

func (s *sequence) order(step *procedure.Step, f *fields) {
	at := f.vals["kind"]
	switch step.Kind {
	case procedure.StepPropClear:
		s.clear = true
	case procedure.StepRest:
		// Whoever was clear before a rest need not be clear after it.
		s.clear = false
	case procedure.StepCrank:
		s.crank(step, f, at)
	case procedure.StepCatch, procedure.StepRelease, procedure.StepSettle:
		if !s.cranked && !s.branch {
			s.r.complain(at, fmt.Sprintf("a %s step comes before any crank step", step.Kind), "put it after the crank")
		} else if s.branch {
			s.r.complain(at, fmt.Sprintf("a %s step cannot follow an attempt that failed: there is no running engine", step.Kind), "use \"kind: set\"")
		}
	}
	if step.WindowFrom == procedure.FromFires && !s.cranked && !s.branch && step.Kind == procedure.StepSet {
		s.r.complain(f.vals["window"], "the window counts from the firing, but no crank step comes before", "remove \"from: fires\", or put the step after the crank")
	}
	if step.Kind == procedure.StepRelease {
		s.unreleased = nil
	}
	for _, t := range step.Targets {
		if t.Control == procedure.ControlBrakes {
			held, ok := heldDetent(s.a)
			s.brakesHeld = ok && t.Met(held)
		}
	}
}

func (s *sequence) crank(step *procedure.Step, f *fields, at *node) {
	if s.branch {
		s.r.complain(at, "the steps after a failed attempt must not crank", "let a choice lead to a flow that does, with its own propeller-area check")
		return
	}
	if !s.clear {
		s.r.complain(at, "this crank has no propeller-area check before it", "put a step with \"kind: prop-clear\" before it; every crank, and every attempt after a rest, needs its own")
	}
	if !s.brakesHeld {
		s.r.complain(at, "the starter is engaged without a step that holds the brakes", "put a step with \"set: { brakes: held }\" before it")
	}
	if limit := s.a.Starter.Crank; limit > 0 && step.Window.Max > limit {
		s.r.complain(f.vals["window"], fmt.Sprintf("the crank may last %s; the starter of the %s allows %s", seconds(step.Window.Max), s.a.Name, seconds(limit)),
			fmt.Sprintf("write \"max: %s\" or less", seconds(limit)))
	}
	s.cranked, s.clear, s.unreleased = true, false, at
}

// together finds steps marked together that have no neighbour so marked.
func (s *sequence) together(step *procedure.Step, f *fields) {
	if !step.Together {
		s.lonely()
		s.paired = false
		return
	}
	if s.paired {
		s.alone = nil
	} else {
		s.alone = f.vals["together"]
	}
	s.paired = true
}

func (s *sequence) lonely() {
	if s.alone != nil {
		s.r.complain(s.alone, "the step is together with no neighbour", "mark the step before or after it too, or remove the key")
	}
	s.alone = nil
}

// finish checks what only the end can show.
func (s *sequence) finish() {
	s.lonely()
	if s.unreleased != nil {
		s.r.complain(s.unreleased, "nothing lets go of the starter after this crank", "put a step with \"kind: release\" after it")
	}
}

func heldDetent(a *procedure.Aircraft) (procedure.Position, bool) {
	c, ok := a.Control(procedure.ControlBrakes)
	if !ok {
		return 0, false
	}
	return c.Detent(procedure.DetentHeld)
}
