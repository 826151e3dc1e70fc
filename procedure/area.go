package procedure

import "time"

// Sectors lists the thirds of the propeller's area in the order of looking.
var Sectors = [3]string{LookLeft, LookAhead, LookRight}

// Defaults for a flow that does not say: three seconds to answer a call, and
// half a minute until somebody may have walked in unseen. Common practice, no
// source; the flow file may say otherwise.
const (
	defaultAnswerWait = 3 * time.Second
	defaultValidFor   = 30 * time.Second
)

// area is the propeller's area: what was looked at since the last attempt,
// whether CLEAR was called, and who is in it.
type area struct {
	answerWait time.Duration
	validFor   time.Duration
	looked     [3]bool
	occupied   [3]bool
	called     bool
	calledAt   time.Duration
}

// AreaState is the check as it stands.
type AreaState struct {
	Looked   [3]bool // left, ahead, right: looked at, and not entered since
	Occupied [3]bool
	Called   bool
	CalledAt time.Duration
	Answer   time.Duration // when the wait for an answer is over
	Expires  time.Duration // when the check is too old to crank on
}

func (a *area) configure(f *Flow) {
	a.answerWait, a.validFor = defaultAnswerWait, defaultValidFor
	for i := range f.Steps {
		s := &f.Steps[i]
		if s.Kind != StepPropClear {
			continue
		}
		if s.AnswerWait > 0 {
			a.answerWait = s.AnswerWait
		}
		if s.ValidFor > 0 {
			a.validFor = s.ValidFor
		}
		return
	}
}

// spend uses up the check: every attempt needs its own.
func (a *area) spend() {
	a.looked, a.called = [3]bool{}, false
}

func (a *area) allLooked() bool { return a.looked == [3]bool{true, true, true} }

func (a *area) anybody() bool { return a.occupied != [3]bool{} }

// valid reports whether the starter may be engaged on this check now.
func (a *area) valid(now time.Duration) bool {
	return a.called && a.allLooked() && !a.anybody() &&
		now >= a.calledAt+a.answerWait && now <= a.calledAt+a.answerWait+a.validFor
}

func sector(subject string) (int, bool) {
	for i, s := range Sectors {
		if s == subject {
			return i, true
		}
	}
	return 0, false
}

// look notes a look at one third. Looking at a third with somebody in it shows
// them, and does not make it clear.
func (r *Run) look(subject string) {
	i, ok := sector(subject)
	if !ok {
		return
	}
	r.settleLevers("")
	r.area.looked[i] = !r.area.occupied[i]
}

// clear notes the call. Called before every third was seen empty it means
// nothing, and is noted as too early; so is a call with somebody there.
func (r *Run) clear() {
	if !r.area.allLooked() || r.area.anybody() {
		if s := r.upcoming(StepPropClear); s != nil {
			s.FalseCalls++
		}
		return
	}
	r.area.called, r.area.calledAt = true, r.now
}

// occupy notes that somebody entered or left a third: it must be looked at
// again, and CLEAR called again.
func (r *Run) occupy(subject string, in bool) {
	i, ok := sector(subject)
	if !ok {
		return
	}
	r.area.occupied[i] = in
	r.area.looked[i] = false
	r.area.called = false
	if in && r.engine.cranking {
		r.breach(BreachAreaOccupied, r.step(StepCrank))
	}
}

// answerDue is when the wait for an answer ends, while a check waits for it.
func (r *Run) answerDue() (time.Duration, *StepState) {
	if !r.area.called || r.engine.cranking {
		return 0, nil
	}
	s := r.upcoming(StepPropClear)
	if s == nil {
		return 0, nil
	}
	return r.area.calledAt + r.area.answerWait, s
}
