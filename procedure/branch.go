package procedure

import "time"

// This file is what follows an attempt that failed, and how a run ends.

type branchState struct {
	pending  bool // an attempt failed; the branch opens at due
	due      time.Duration
	noStart  *NoStart // the branch in force: whose choices are offered
	awaiting bool     // the student has yet to choose
	chosen   []Decision
}

// Decision is a choice the student made after an attempt failed.
type Decision struct {
	At       time.Duration
	Choice   string
	Inferred bool // made by acting, not by saying
}

// Why a run ends, the text of EventEnd.
const (
	EndComplete  = "complete"
	EndAbandoned = "abandoned"
	EndHands     = "hands-ended"
)

// openBranch takes the flow's way after an attempt that failed: what was still
// to come of this attempt is not reached, and the branch's steps follow.
func (r *Run) openBranch() {
	r.branch.pending = false
	r.closeAttemptSteps()
	ns := r.flow.NoStart
	if ns == nil {
		r.conclude(NotStarted)
		return
	}
	r.branch.noStart, r.branch.awaiting = ns, len(ns.Choices) > 0
	r.emit(Effect{Kind: EffectBranch, At: r.now})
	r.present = len(r.steps)
	r.lastDone = r.now
	r.appendSteps(r.flow.ID, ns.Steps)
	r.beginPresent(r.now)
}

// closeAttemptSteps gives the crank its verdict where it did not fire, and sets
// aside what only follows a start.
func (r *Run) closeAttemptSteps() {
	for i := range r.steps {
		s := &r.steps[i]
		if s.Finished() {
			continue
		}
		switch {
		case r.cranked(s):
			r.closeCrank(s, r.engine.releasedAt)
		case s.Step.Kind == StepCatch && len(r.attempts) > 0 && r.attempts[len(r.attempts)-1].Died:
			// It fired and died with the mixture still back.
			r.miss(s)
		case s.Status == StatusOpen:
			r.miss(s)
		default:
			s.Status = StatusNotReached
		}
	}
}

// cranked reports whether the step is the crank under way, and the starter was
// engaged for it.
func (r *Run) cranked(s *StepState) bool {
	return s.Step.Kind == StepCrank && s.Status == StatusPresent &&
		len(r.attempts) > 0 && r.attempts[len(r.attempts)-1].Engaged >= s.Begin
}

// crankedUntil is when the last engagement ended, or now while it lasts.
func (r *Run) crankedUntil(now time.Duration) time.Duration {
	if r.engine.cranking {
		return now
	}
	return r.engine.releasedAt
}

// closeCrank judges a crank on which it did not fire by how long it lasted.
func (r *Run) closeCrank(s *StepState, end time.Duration) {
	r.closeStep(s, end, s.Window.Judge(end-s.Begin))
}

// closeStep ends a step where it stands, and goes on to no other.
func (r *Run) closeStep(s *StepState, end time.Duration, v Verdict) {
	s.Done, s.Elapsed = end, max(0, end-s.Begin)
	r.close(s, v)
}

func (r *Run) miss(s *StepState) { r.close(s, Missed) }

func (r *Run) close(s *StepState, v Verdict) {
	if !s.judged {
		s.Verdict = v
	}
	s.Status = StatusDone
	r.emit(Effect{Kind: EffectVerdict, At: r.now, Step: s.Step.ID, Verdict: s.Verdict})
}

// choose takes the student's decision.
func (r *Run) choose(id string) {
	if !r.branch.awaiting {
		return
	}
	for _, c := range r.branch.noStart.Choices {
		if c.ID == id {
			r.take(c, false)
			return
		}
	}
}

// inferChoice takes the decision from an act: priming again, or cranking with
// the throttle open or not.
func (r *Run) inferChoice(priming bool) {
	if !r.branch.awaiting {
		return
	}
	var best *Choice
	var bestOff Position
	for i := range r.branch.noStart.Choices {
		c := &r.branch.noStart.Choices[i]
		f, ok := r.setup.Library.Flow(c.Flow)
		if !ok || !hasKind(f, StepCrank) || hasKind(f, StepHold) != priming {
			continue
		}
		if off := r.throttleOff(f); best == nil || off < bestOff {
			best, bestOff = c, off
		}
	}
	if best != nil {
		r.take(*best, true)
	}
}

func hasKind(f *Flow, k StepKind) bool {
	for i := range f.Steps {
		if f.Steps[i].Kind == k {
			return true
		}
	}
	return false
}

// throttleOff is how far the throttle stands from where the flow cranks.
func (r *Run) throttleOff(f *Flow) Position {
	var off Position
	for i := range f.Steps {
		if f.Steps[i].Kind == StepCrank {
			return off
		}
		for _, t := range f.Steps[i].Targets {
			if t.Control == ControlThrottle {
				off = max(t.At-r.positions[ControlThrottle], r.positions[ControlThrottle]-t.At)
			}
		}
	}
	return off
}

func (r *Run) take(c Choice, inferred bool) {
	f, ok := r.setup.Library.Flow(c.Flow)
	if !ok {
		return
	}
	if f.Drill() {
		r.beginDrill(f, r.now, 0, false)
		return
	}
	r.branch.awaiting = false
	r.branch.chosen = append(r.branch.chosen, Decision{At: r.now, Choice: c.ID, Inferred: inferred})
	if f.NoStart != nil {
		r.flow = f
	}
	r.area.configure(f)
	r.appendSteps(f.ID, f.Steps)
	if r.present < len(r.steps) && r.steps[r.present].Status == StatusNext {
		r.beginPresent(r.now)
	}
}

// flowDone is reached when no step is left to begin.
func (r *Run) flowDone() {
	r.present = len(r.steps)
	if r.branch.awaiting || r.branch.pending {
		return // the student must choose
	}
	if r.drillDone() {
		return
	}
	if r.flow.Ends == Stopped {
		r.conclude(Stopped)
		return
	}
	if s := r.stillOwed(); s != nil {
		r.present = r.index(s)
		s.Status = StatusPresent
		return
	}
	if r.engine.fired {
		r.conclude(Started)
		return
	}
	r.conclude(NotStarted)
}

// stillOwed finds a step after the start that was passed over and can still be
// made good, as the oil pressure: the run waits for it.
func (r *Run) stillOwed() *StepState {
	for i := len(r.steps) - 1; i >= 0 && r.engine.fired; i-- {
		if r.steps[i].Step.Kind == StepCrank {
			for j := i; j < len(r.steps); j++ {
				if r.steps[j].Status == StatusOpen {
					return &r.steps[j]
				}
			}
		}
	}
	return nil
}

// end closes the run from outside.
func (r *Run) end(why string) {
	switch {
	case r.engine.runs:
		r.conclude(Started)
	case why == EndAbandoned:
		r.conclude(Abandoned)
	default:
		r.conclude(NotStarted)
	}
}

// conclude gives what is left its verdict and ends the run. A breach outweighs
// how it ended.
func (r *Run) conclude(o Outcome) {
	if r.holding != nil {
		r.cutHold()
	}
	for i := range r.steps {
		s := &r.steps[i]
		switch {
		case s.Finished():
		case r.cranked(s):
			r.closeCrank(s, r.crankedUntil(r.now))
		case s.Status == StatusOpen, s.Status == StatusPresent && r.setup.Phase != Explain:
			r.miss(s)
		default:
			s.Status = StatusNotReached
		}
	}
	r.present = len(r.steps)
	r.outcome = o
	if len(r.breaches) > 0 {
		r.outcome = EndUnsafe
	}
	r.emit(Effect{Kind: EffectHush, At: r.now})
	r.emit(Effect{Kind: EffectDone, At: r.now})
}

// call takes what the student said aloud.
func (r *Run) call(subject string) {
	switch subject {
	case CallClear:
		r.settleLevers("")
		r.clear()
	case CallReady:
		r.settleLevers("")
		r.ready()
	case CallAnswered, CallIgnored:
		r.resume()
	}
}

// ready finishes the briefing, present or ahead.
func (r *Run) ready() {
	s := r.upcoming(StepBrief)
	if s == nil {
		return
	}
	if i := r.index(s); i > r.present {
		r.passTo(i, r.metBefore())
	}
	r.finish(s, r.now, s.Window.Judge(r.now-s.Begin))
}

// interrupted notes what broke into the flow and at which step.
func (r *Run) interrupted(e Event) {
	r.interrupt = &e
	if r.present < len(r.steps) {
		r.steps[r.present].Interrupted = true
	}
}

func (r *Run) resume() {
	r.interrupt = nil
	if r.present < len(r.steps) {
		r.steps[r.present].Interrupted = true
	}
}

// turnPage moves through the steps of Explain.
func (r *Run) turnPage(e Event) {
	switch {
	case e.Kind == EventEnd:
		r.conclude(Abandoned)
	case e.Kind != EventCall:
	case e.Subject == CallNext && r.present < len(r.steps):
		s := &r.steps[r.present]
		s.Status = StatusDone
		r.emit(Effect{Kind: EffectHush, At: r.now, Step: s.Step.ID})
		r.present++
		r.beginPage()
	case e.Subject == CallBack && r.present > 0:
		if r.present < len(r.steps) {
			r.steps[r.present].Status = StatusNext
		}
		r.emit(Effect{Kind: EffectHush, At: r.now})
		r.present--
		r.beginPage()
	}
}

// beginPage shows a step of Explain and reads it with its reason.
func (r *Run) beginPage() {
	if r.present >= len(r.steps) {
		r.conclude(Read)
		return
	}
	s := &r.steps[r.present]
	s.Status, s.Begin = StatusPresent, r.now
	r.emit(Effect{Kind: EffectBegin, At: r.now, Step: s.Step.ID})
	r.readAloud(s)
}

// readAloud speaks a step's prompt and its reason.
func (r *Run) readAloud(s *StepState) {
	r.say(r.now, s.Step.ID, s.Step.Prompt, PriorityPrompt)
	r.say(r.now, s.Step.ID, Line{Caption: s.Step.Why}, PriorityPrompt)
	r.say(r.now, s.Step.ID, Line{Caption: s.Step.Wrong}, PriorityPrompt)
}
