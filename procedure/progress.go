package procedure

import (
	"fmt"
	"math"
	"time"
)

// This file is how a run moves along its steps: which one is present, when one
// is finished, and what becomes of those that were passed over.

// moved is a movement being judged: which control, and which steps were already
// met before it.
type moved struct {
	control   ControlID
	metBefore []bool
}

// appendSteps adds a flow's or a branch's steps to the run.
func (r *Run) appendSteps(from FlowID, steps []Step) {
	r.appendStates(from, steps, r.steps)
	r.noteMet(nil)
}

// appendStates adds steps to the run under keys that none of the taken ones has.
func (r *Run) appendStates(from FlowID, steps []Step, taken []StepState) {
	for i := range steps {
		s := &steps[i]
		st := StepState{
			Key: uniqueKey(s.ID, taken), Flow: from, Step: s,
			Status: StatusNext, Window: r.window(s), metSince: -1,
			Value: math.NaN(),
		}
		r.steps = append(r.steps, st)
	}
}

func uniqueKey(id StepID, taken []StepState) string {
	n := 1
	for i := range taken {
		if taken[i].Step.ID == id {
			n++
		}
	}
	if n == 1 {
		return string(id)
	}
	return fmt.Sprintf("%s#%d", id, n)
}

// window is the one in force: the cold one where the outside air is colder.
func (r *Run) window(s *Step) Window {
	if s.Cold != nil && r.setup.OATCelsius < s.Cold.BelowCelsius {
		return s.Cold.Window
	}
	return s.Window
}

// step finds the first unfinished step of a kind, nil when there is none.
func (r *Run) step(k StepKind) *StepState {
	for i := range r.steps {
		if s := &r.steps[i]; s.Step.Kind == k && !s.Finished() {
			return s
		}
	}
	return nil
}

// upcoming is like step, but looks no further than the next crank.
func (r *Run) upcoming(k StepKind) *StepState {
	for i := range r.steps {
		s := &r.steps[i]
		if s.Finished() {
			continue
		}
		if s.Step.Kind == k {
			return s
		}
		if s.Step.Kind == StepCrank && i >= r.present {
			return nil
		}
	}
	return nil
}

// horizon is the index after the last step that a hand may reach ahead to: the
// next crank, since what follows it only has a meaning once the engine fired,
// or a rest, since what is made ready during it does not end it.
func (r *Run) horizon() int {
	for i := r.present; i < len(r.steps); i++ {
		if k := r.steps[i].Step.Kind; k == StepCrank || k == StepRest {
			return i + 1
		}
	}
	return len(r.steps)
}

func (r *Run) index(s *StepState) int {
	for i := range r.steps {
		if &r.steps[i] == s {
			return i
		}
	}
	return -1
}

// met reports whether a step's targets and conditions hold now.
func (r *Run) met(s *Step) bool {
	for _, t := range s.Targets {
		if !t.Met(r.positions[t.Control]) {
			return false
		}
	}
	for _, c := range s.Conditions {
		v, ok := r.readings[c.Instrument]
		if r.panel.Shows(c.Instrument) && (!ok || !c.Holds(v)) {
			return false
		}
	}
	return len(s.Targets)+len(s.Conditions) > 0
}

func (r *Run) metBefore() []bool {
	out := make([]bool, len(r.steps))
	for i := range r.steps {
		out[i] = r.steps[i].metSince >= 0
	}
	return out
}

// noteMet keeps since when each unfinished step's targets hold. m is the
// movement that may have brought it about, nil when there was none.
func (r *Run) noteMet(m *moved) {
	for i := range r.steps {
		s := &r.steps[i]
		if s.Finished() {
			continue
		}
		switch met := r.met(s.Step); {
		case met && s.metSince < 0:
			s.metSince = r.now
			s.metByHand = m != nil && concerns(s.Step, m.control)
		case !met:
			s.metSince = -1
		}
	}
}

// reconsider looks whether something that just happened finished a step. m is
// the movement that happened, nil for anything else.
func (r *Run) reconsider(m *moved) {
	r.noteMet(m)
	if m != nil {
		r.reachAhead(m)
		r.finishOpen(m)
	}
	r.finishPresent()
	r.finishTogether()
}

// reachAhead finds a step beyond the present one that this movement met: the
// student did it before its turn.
func (r *Run) reachAhead(m *moved) {
	if r.present >= len(r.steps) || r.catching() {
		return
	}
	for i := r.present + 1; i < r.horizon(); i++ {
		s := &r.steps[i]
		if s.Step.Kind != StepSet || s.Finished() || s.metSince < 0 {
			continue
		}
		if i < len(m.metBefore) && m.metBefore[i] || !concerns(s.Step, m.control) {
			continue
		}
		if r.needsRest(s.Step, m.control) {
			continue // the deadline in nextDue takes it when the lever rests
		}
		if r.holdAhead(i, m.control) || r.onItsWay(s.Step) {
			continue
		}
		r.passTo(i, m.metBefore)
		return
	}
}

// catching reports whether the engine has fired and is not yet on its own:
// nothing may be reached for beyond catch and release.
func (r *Run) catching() bool {
	return r.engine.fired && (r.presentOf(StepCatch) != nil || r.presentOf(StepRelease) != nil)
}

// holdAhead reports whether a hold of this control stands between the present
// step and step i: bringing the mixture back ends the prime and is not yet the
// cut-off of a later step.
func (r *Run) holdAhead(i int, c ControlID) bool {
	for j := r.present; j < i; j++ {
		if h := r.steps[j].Step.Hold; h != nil && h.Control == c && !r.steps[j].Finished() {
			return true
		}
	}
	return false
}

// finishOpen takes a step that was passed over and is done now, after one that
// should have come after it.
func (r *Run) finishOpen(m *moved) {
	for i := range r.steps {
		s := &r.steps[i]
		if s.Status != StatusOpen || s.Step.Kind != StepSet || s.metSince < 0 {
			continue
		}
		if concerns(s.Step, m.control) {
			r.finish(s, r.now, OutOfOrder)
		}
	}
}

func concerns(s *Step, c ControlID) bool {
	for _, t := range s.Targets {
		if t.Control == c {
			return true
		}
	}
	return false
}

// needsRest reports whether the control that moved is a lever of the step, so
// that it must lie still before the step counts as done.
func (r *Run) needsRest(s *Step, id ControlID) bool {
	c, ok := r.setup.Library.Aircraft.Control(id)
	return ok && c.Kind == Lever && concerns(s, id)
}

func (r *Run) hasLever(s *Step) bool {
	for _, t := range s.Targets {
		if c, ok := r.setup.Library.Aircraft.Control(t.Control); ok && c.Kind == Lever {
			return true
		}
	}
	return false
}

// passTo makes step i the present one because the student got there before its
// turn. What was passed over counts as done where it was so already, and stays
// open otherwise.
func (r *Run) passTo(i int, metBefore []bool) {
	for j := r.present; j < i; j++ {
		s := &r.steps[j]
		if s.Finished() {
			continue
		}
		if s.Step.Kind == StepSet && (j < len(metBefore) && metBefore[j]) {
			s.AlreadyMet = true
			s.Begin = r.lastDone
			r.finish(s, max(s.metSince, r.lastDone), OnTime)
			continue
		}
		if s.Step.Kind == StepPropClear && r.area.valid(r.now) {
			s.Begin = min(r.lastDone, r.area.calledAt)
			r.finish(s, r.area.calledAt+r.area.answerWait, s.Window.Judge(r.area.calledAt+r.area.answerWait-s.Begin))
			continue
		}
		if r.failsInDrill(s) {
			s.Status = StatusNotReached
			continue
		}
		s.Status = StatusOpen
		s.wasOpen = s.Step.Kind != StepRest // a rest goes on while the eyes look round
		r.emit(Effect{Kind: EffectHush, At: r.now, Step: s.Step.ID})
	}
	r.present = i
	r.beginPresent(r.lastDone)
}

// failsInDrill reports whether the step is a check of a drill that does not
// hold: that is the reason for going on to the next act, not an omission.
func (r *Run) failsInDrill(s *StepState) bool {
	return r.drill.in != nil && s.Flow == r.drill.in.ID && s.Step.Kind == StepCheck && !r.met(s.Step)
}

// beginPresent makes the step at r.present begin at at, passing over those that
// are finished already.
func (r *Run) beginPresent(at time.Duration) {
	for r.present < len(r.steps) && (r.steps[r.present].Finished() || r.steps[r.present].Status == StatusOpen) {
		r.present++
	}
	if r.present >= len(r.steps) {
		r.flowDone()
		return
	}
	s := &r.steps[r.present]
	s.Status = StatusPresent
	s.Begin = at
	r.emit(Effect{Kind: EffectBegin, At: r.now, Step: s.Step.ID})
	// Catch and release come within two seconds: their call-outs are all there is
	// time for, and they were briefed.
	if !s.Step.Together {
		r.say(r.now, s.Step.ID, s.Step.Prompt, PriorityPrompt)
	}
	r.scheduleFrom(s, FromStep, at)
	if s.Step.Kind == StepSet && s.metSince >= 0 {
		s.AlreadyMet = true
	}
	r.finishPresent()
}

// finishPresent finishes the present step if it is one of those that are
// finished by how things stand, and they stand so.
func (r *Run) finishPresent() {
	if r.present >= len(r.steps) || r.setup.Phase == Explain {
		return
	}
	s := &r.steps[r.present]
	switch s.Step.Kind {
	case StepSet:
		if s.metSince < 0 {
			return
		}
		if !s.AlreadyMet && r.hasLever(s.Step) {
			return // its lever must rest first: nextDue
		}
		r.finish(s, max(s.metSince, s.Begin), s.Window.Judge(max(0, s.metSince-s.Begin)))
	case StepRest:
		if r.now >= r.restUntil(s) && !r.engine.cranking {
			r.finish(s, r.now, OnTime)
		}
	}
}

// finishTogether finishes catch and release, which may be done in either order
// once the engine fired.
func (r *Run) finishTogether() {
	if !r.engine.fired {
		return
	}
	for i := range r.steps {
		s := &r.steps[i]
		if s.Finished() || i < r.present {
			continue
		}
		switch s.Step.Kind {
		case StepCatch:
			if s.metSince >= 0 {
				r.finish(s, max(s.metSince, r.engine.firedAt), r.judgeCatch(s))
			}
		case StepRelease:
			if !r.engine.cranking {
				d := max(0, r.engine.releasedAt-r.engine.firedAt)
				r.finish(s, max(r.engine.releasedAt, r.engine.firedAt), s.Window.Judge(d))
			}
		case StepCrank:
			return
		}
	}
}

// judgeCatch calls a mixture that was forward before the engine fired early: it
// floods an engine that would not have fired.
func (r *Run) judgeCatch(s *StepState) Verdict {
	if s.metSince < r.engine.firedAt {
		return Early
	}
	return s.Window.Judge(s.metSince - r.engine.firedAt)
}

// finish closes a step with its verdict and goes on to the next.
func (r *Run) finish(s *StepState, at time.Duration, v Verdict) {
	wasPresent := s.Status == StatusPresent
	s.Done = at
	s.Elapsed = max(0, at-r.anchor(s))
	if !s.judged {
		s.Verdict = s.verdict(v)
	}
	s.Status = StatusDone
	r.lastDone = max(r.lastDone, at)
	if !s.AlreadyMet {
		r.hushUpTo(s)
	}
	r.emit(Effect{Kind: EffectVerdict, At: r.now, Step: s.Step.ID, Verdict: s.Verdict})
	for _, c := range s.Step.CallOuts {
		if c.Anchor == OnDone {
			r.say(r.now+c.Offset, s.Step.ID, c.Line, PriorityCue)
		}
	}
	if wasPresent {
		r.present = r.index(s) + 1
		r.beginPresent(r.lastDone)
	}
}

// hushUpTo drops what a finished step still had to say, and what those before it
// had that were so already: a hand has overtaken the voice.
func (r *Run) hushUpTo(s *StepState) {
	r.emit(Effect{Kind: EffectHush, At: r.now, Step: s.Step.ID})
	for i := r.index(s) - 1; i >= 0 && r.steps[i].AlreadyMet; i-- {
		r.emit(Effect{Kind: EffectHush, At: r.now, Step: r.steps[i].Step.ID})
	}
}

// verdict is what a judgement of time comes to, given what else happened: a
// step that was passed over is out of order, one called too soon is early.
func (s *StepState) verdict(byTime Verdict) Verdict {
	switch {
	case s.wasOpen:
		return OutOfOrder
	case byTime == OnTime && s.FalseCalls > 0:
		return Early
	default:
		return byTime
	}
}

// restUntil is when a rest is over: when the ledger says so, and not before the
// step's own shortest time.
func (r *Run) restUntil(s *StepState) time.Duration {
	return max(r.setup.Ledger.Ready(), s.Begin+s.Window.Min)
}

// settleLevers finishes the present step if its levers lie where they should
// and the hand has gone to something else.
func (r *Run) settleLevers(hand ControlID) {
	if r.present >= len(r.steps) {
		return
	}
	s := &r.steps[r.present]
	if s.Step.Kind == StepSet && s.metSince >= 0 && !concerns(s.Step, hand) {
		r.finish(s, max(s.metSince, s.Begin), s.Window.Judge(max(0, s.metSince-s.Begin)))
	}
}

// report judges the student's calling of an instrument. value is what it showed.
func (r *Run) report(id InstrumentID, value float64) {
	r.settleLevers("")
	s, i := r.checkFor(id)
	if s == nil {
		return
	}
	for _, c := range s.Step.Conditions {
		if c.Instrument == id && !c.Holds(value) || c.Instrument != id && r.contradicts(c) {
			s.FalseCalls++
			s.Value = value
			return
		}
	}
	s.Value = value
	if i > r.present {
		r.passTo(i, r.metBefore())
	}
	r.finish(s, r.now, s.Window.Judge(r.now-r.anchor(s)))
}

// contradicts reports whether another instrument of the same check is seen to
// show something else.
func (r *Run) contradicts(c Condition) bool {
	v, ok := r.readings[c.Instrument]
	return ok && r.panel.Shows(c.Instrument) && !c.Holds(v)
}

// checkFor finds the check that a report is about: one passed over, the present
// one, or one ahead within reach.
func (r *Run) checkFor(id InstrumentID) (*StepState, int) {
	for i := 0; i < r.horizon(); i++ {
		s := &r.steps[i]
		if s.Step.Kind != StepCheck || s.Finished() {
			continue
		}
		for _, c := range s.Step.Conditions {
			if c.Instrument == id {
				return s, i
			}
		}
	}
	return nil, -1
}

// anchor is where a step's window is counted from.
func (r *Run) anchor(s *StepState) time.Duration {
	afterFiring := s.Step.WindowFrom == FromFires || s.Step.Kind == StepCatch || s.Step.Kind == StepRelease
	if afterFiring && r.engine.fired {
		return r.engine.firedAt
	}
	return s.Begin
}
