package classroom

import (
	"errors"
	"time"

	"kickover/procedure"
)

// Tap is what an instructor heard from a class that calls a flow out aloud.
type Tap string

// The taps. After Called and Hesitated the next step is due; after Wrong the
// same step is, until it is called.
const (
	Called    Tap = "called"
	Hesitated Tap = "hesitated"
	Wrong     Tap = "wrong"
)

// Aloud is a drill with one machine: the class calls each step, the instructor
// taps. It needs no network. The zero value is not useful; see NewAloud.
type Aloud struct {
	flow  *procedure.Flow
	taps  []TapAt
	begun time.Duration
}

// TapAt is a tap and when it was made, on the clock that NewAloud was given.
type TapAt struct {
	Tap  Tap
	Step int
	At   time.Duration
}

// AloudStep is what became of a step.
type AloudStep struct {
	Step    *procedure.Step
	Done    bool
	Wrong   int  // times something else was called
	Slow    bool // hesitated
	Elapsed time.Duration
	Verdict procedure.Verdict // late where the step took longer than its window, or was slow
}

var errAloudOver = errors.New("every step was called: begin again, or take another flow")

// NewAloud begins a drill of a flow at a moment.
func NewAloud(f *procedure.Flow, now time.Duration) *Aloud { return &Aloud{flow: f, begun: now} }

// Due is the step that the class must call, false when all were called.
func (a *Aloud) Due() (*procedure.Step, bool) {
	i := a.due()
	if i >= len(a.flow.Steps) {
		return nil, false
	}
	return &a.flow.Steps[i], true
}

func (a *Aloud) due() int {
	n := 0
	for _, t := range a.taps {
		if t.Tap != Wrong {
			n++
		}
	}
	return n
}

// Tap notes what was heard. Times that go back are taken as now.
func (a *Aloud) Tap(t Tap, now time.Duration) error {
	i := a.due()
	if i >= len(a.flow.Steps) {
		return errAloudOver
	}
	a.taps = append(a.taps, TapAt{Tap: t, Step: i, At: max(now, a.last())})
	return nil
}

// Undo takes the last tap back; a finger slips.
func (a *Aloud) Undo() {
	if n := len(a.taps); n > 0 {
		a.taps = a.taps[:n-1]
	}
}

// Taps are all taps in order.
func (a *Aloud) Taps() []TapAt { return append([]TapAt(nil), a.taps...) }

func (a *Aloud) last() time.Duration {
	if n := len(a.taps); n > 0 {
		return a.taps[n-1].At
	}
	return a.begun
}

// Steps tells what became of each step. The time of a step runs from when the
// one before it was called.
func (a *Aloud) Steps() []AloudStep {
	out := make([]AloudStep, len(a.flow.Steps))
	for i := range out {
		out[i].Step = &a.flow.Steps[i]
	}
	from := a.begun
	for _, t := range a.taps {
		s := &out[t.Step]
		if t.Tap == Wrong {
			s.Wrong++
			continue
		}
		s.Done, s.Slow, s.Elapsed = true, t.Tap == Hesitated, t.At-from
		s.Verdict = aloudVerdict(s)
		from = t.At
	}
	return out
}

// aloudVerdict judges a call. Being early is no fault when nothing is moved, and
// the window of a hold or a crank is about the hand, not the call.
func aloudVerdict(s *AloudStep) procedure.Verdict {
	w := s.Step.Window
	timed := !w.Zero() && s.Step.Kind != procedure.StepHold && s.Step.Kind != procedure.StepCrank
	switch {
	case s.Wrong > 0:
		return procedure.OutOfOrder
	case s.Slow, timed && s.Elapsed > w.Max:
		return procedure.Late
	}
	return procedure.OnTime
}
