package procedure

import "time"

// catchGrace is how long after the starter was let go an engine may still catch
// by itself before the attempt counts as failed. Estimate: it coasts down in
// about two seconds.
const catchGrace = 2 * time.Second

// past is the first moment after the last one that belongs to a window.
func past(edge time.Duration) time.Duration { return edge + 1 }

// Next is the next moment at which something falls due by itself, and false
// when nothing will. Ticking then, or later, or not at all before the next
// event, comes to the same.
func (r *Run) Next() (time.Duration, bool) {
	due, act := r.nextDue()
	return max(due, r.now), act != nil
}

// nextDue finds what falls due next and what to do then; nil when nothing will.
func (r *Run) nextDue() (time.Duration, func()) {
	var (
		due time.Duration
		act func()
	)
	consider := func(at time.Duration, do func()) {
		if act == nil || at < due {
			due, act = at, do
		}
	}
	if r.outcome != Running || r.setup.Phase == Explain {
		return 0, nil
	}
	r.dueLevers(consider)
	r.dueStarter(consider)
	r.dueRunning(consider)
	r.dueDrills(consider)
	if at, s := r.answerDue(); s != nil {
		consider(at, func() { r.answered(s) })
	}
	if s := r.step(StepRest); s != nil && s.Status != StatusNext && !r.engine.cranking {
		consider(r.restUntil(s), func() { r.finish(s, r.now, OnTime) })
	}
	if r.branch.pending {
		consider(r.branch.due, r.openBranch)
	}
	return due, act
}

// dueLevers: a lever has rested inside its tolerance long enough.
func (r *Run) dueLevers(consider func(time.Duration, func())) {
	for i := r.present; i < r.horizon(); i++ {
		s := &r.steps[i]
		if s.Step.Kind != StepSet || s.Finished() || s.metSince < 0 || !r.hasLever(s.Step) {
			continue
		}
		if i == r.present {
			consider(max(s.metSince, s.Begin)+leverRest, func() { r.rested(s) })
			continue
		}
		if !r.catching() && r.movedTo(s) && !r.holdAheadOfAny(i, s.Step) && !r.onItsWay(s.Step) {
			consider(s.metSince+leverRest, func() { r.passTo(r.index(s), r.metAt(s.metSince)) })
		}
	}
}

// movedTo reports whether a step ahead came to be met by a hand during the
// present step, and was not simply so all along.
func (r *Run) movedTo(s *StepState) bool {
	return s.metByHand && s.metSince > r.steps[r.present].Begin
}

func (r *Run) holdAheadOfAny(i int, s *Step) bool {
	for _, t := range s.Targets {
		if r.holdAhead(i, t.Control) {
			return true
		}
	}
	return false
}

// onItsWay reports whether the present step moves one of the same controls: a
// lever that rests at the start mark on its way to the prime mark has not passed
// over the prime.
func (r *Run) onItsWay(ahead *Step) bool {
	for _, t := range ahead.Targets {
		if concerns(r.steps[r.present].Step, t.Control) {
			return true
		}
	}
	return false
}

// metAt lists which steps were met before at.
func (r *Run) metAt(at time.Duration) []bool {
	out := make([]bool, len(r.steps))
	for i := range r.steps {
		out[i] = r.steps[i].metSince >= 0 && r.steps[i].metSince < at
	}
	return out
}

func (r *Run) rested(s *StepState) {
	r.finish(s, max(s.metSince, s.Begin), s.Window.Judge(max(0, s.metSince-s.Begin)))
}

// dueStarter: the starter passes its limit, or stays in a running engine.
func (r *Run) dueStarter(consider func(time.Duration, func())) {
	if !r.engine.cranking {
		return
	}
	if at, ok := r.setup.Ledger.LimitAt(); ok && !r.engine.limitSaid {
		consider(past(at), func() {
			r.engine.limitSaid = true
			if !r.fightingFire() {
				r.breach(BreachCrankLimit, r.attemptStep())
			}
		})
	}
	if s := r.step(StepRelease); s != nil && r.engine.fired && !r.engine.starterIn {
		consider(past(r.engine.firedAt+2*s.Window.Max), func() {
			r.engine.starterIn = true
			r.breach(BreachStarterIn, s)
		})
	}
}

// attemptStep is the step that an overlong engagement belongs to: the crank
// while it has not fired, the release after.
func (r *Run) attemptStep() *StepState {
	if r.engine.fired {
		return r.step(StepRelease)
	}
	return r.step(StepCrank)
}

// dueRunning: the band has been held, or there is no oil pressure in time.
func (r *Run) dueRunning(consider func(time.Duration, func())) {
	if s := r.step(StepSettle); s != nil && s.Status != StatusNext && s.metSince >= 0 {
		since := max(s.metSince, s.Begin)
		consider(since+s.Step.Dwell, func() { r.finish(s, since, s.Window.Judge(since-r.anchor(s))) })
	}
	s := r.oilCheck()
	if s == nil || !r.engine.fired || r.engine.noOilSaid || r.engine.oilSeen || s.Window.Max == 0 {
		return
	}
	consider(past(r.engine.firedAt+s.Window.Max), func() {
		r.engine.noOilSaid = true
		r.breach(BreachNoOil, s)
	})
}

// answered: nobody answered CLEAR, so the propeller's area is clear.
func (r *Run) answered(s *StepState) {
	if i := r.index(s); i > r.present {
		r.passTo(i, r.metBefore())
	}
	r.finish(s, r.now, s.Window.Judge(r.now-s.Begin))
}

// count asks for the seconds of a timed step to be spoken, each on its second.
func (r *Run) count(s *StepState) {
	if !s.Step.Count {
		return
	}
	last := s.Window.Max
	for n := time.Second; n <= last && n <= 10*time.Second; n += time.Second {
		if r.countYields(s, n) {
			continue
		}
		r.say(s.Begin+n, s.Step.ID, Line{Caption: numberWords[n/time.Second]}, PriorityCount)
	}
}

// countYields drops a number that would fall on a cue: the hand needs the cue.
func (r *Run) countYields(s *StepState, n time.Duration) bool {
	const room = 700 * time.Millisecond
	for _, c := range s.Step.CallOuts {
		at := c.Offset
		if c.Anchor == BeforeIdeal {
			at = s.Window.Ideal - c.Offset
		} else if c.Anchor != FromStep {
			continue
		}
		if n > at-room && n < at+room {
			return true
		}
	}
	return false
}

var numberWords = [...]string{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

// scheduleFrom asks for the call-outs that count from an anchor.
func (r *Run) scheduleFrom(s *StepState, anchor Anchor, at time.Duration) {
	timedByHand := s.Step.Kind == StepHold || s.Step.Kind == StepCrank
	if timedByHand && (s.Step.Kind == StepHold && r.holding == nil || s.Step.Kind == StepCrank && !r.engine.cranking) {
		return // their clock has not begun: they are scheduled when it does
	}
	for _, c := range s.Step.CallOuts {
		if c.Anchor == anchor {
			r.say(at+c.Offset, s.Step.ID, c.Line, PriorityCount)
		}
	}
}

// scheduleIdeal asks for the lines that warn a hand of the ideal.
func (r *Run) scheduleIdeal(s *StepState, begin time.Duration) {
	for _, c := range s.Step.CallOuts {
		if c.Anchor == BeforeIdeal {
			r.say(begin+s.Window.Ideal-c.Offset, s.Step.ID, c.Line, PriorityCue)
		}
	}
}

// scheduleLimit asks for the lines that warn of the starter's limit.
func (r *Run) scheduleLimit(s *StepState) {
	limit, ok := r.setup.Ledger.LimitAt()
	if !ok {
		return
	}
	for _, c := range s.Step.CallOuts {
		if c.Anchor == OnLimit {
			r.say(limit-c.Offset, s.Step.ID, c.Line, PriorityCue)
		}
	}
}
