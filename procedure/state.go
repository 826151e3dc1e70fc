package procedure

import (
	"fmt"
	"time"
)

// State is everything about a run at its present moment. It is a copy.
type State struct {
	At          time.Duration
	Steps       []StepState
	Present     int // index into Steps; len(Steps) when there is none
	Area        AreaState
	AreaValid   bool
	Cranking    bool
	Fired       bool
	FiredAt     time.Duration
	Runs        bool
	Holding     bool
	HeldSince   time.Duration
	Levelled    bool
	LevelledAt  time.Duration
	Primes      []Prime
	Attempts    []Attempt
	Breaches    []BreachAt
	Choices     []Choice // offered now
	Decisions   []Decision
	Standing    []FlowID      // drills that are called for and not begun
	Drills      []Taken       // those that were begun
	Interrupted *Event        // what waits for an answer, nil when nothing does
	Omitted     int           // steps missed or out of order that an interruption broke into
	RestUntil   time.Duration // when the present rest is over, zero when there is none
	Outcome     Outcome
}

// State copies where the run stands.
func (r *Run) State() State {
	s := State{
		At: r.now, Present: r.present,
		Steps:     append([]StepState(nil), r.steps...),
		Area:      r.area.state(),
		AreaValid: r.area.valid(r.now),
		Cranking:  r.engine.cranking, Fired: r.engine.fired, FiredAt: r.engine.firedAt, Runs: r.engine.runs,
		Levelled: r.cue.levelled, LevelledAt: r.cue.levelledAt,
		Primes:      append([]Prime(nil), r.primes...),
		Attempts:    append([]Attempt(nil), r.attempts...),
		Breaches:    append([]BreachAt(nil), r.breaches...),
		Decisions:   append([]Decision(nil), r.branch.chosen...),
		Interrupted: r.interrupt,
		Standing:    r.standing(),
		Drills:      append([]Taken(nil), r.drill.taken...),
		Outcome:     r.outcome,
	}
	if r.holding != nil {
		s.Holding, s.HeldSince = true, r.holding.begin
	}
	s.soFar()
	if rest := r.presentOf(StepRest); rest != nil {
		s.RestUntil = r.restUntil(rest)
	}
	if r.branch.awaiting {
		s.Choices = r.branch.noStart.Choices
	}
	for i := range s.Steps {
		if st := &s.Steps[i]; st.Interrupted && (st.Verdict == Missed || st.Verdict == OutOfOrder) {
			s.Omitted++
		}
	}
	return s
}

// soFar lets what is still held or engaged last until now.
func (s *State) soFar() {
	for i := range s.Primes {
		if p := &s.Primes[i]; p.Open {
			p.End = s.At
		}
	}
	for i := range s.Attempts {
		if a := &s.Attempts[i]; a.Open {
			a.Released = s.At
		}
	}
}

func (a *area) state() AreaState {
	return AreaState{
		Looked: a.looked, Occupied: a.occupied, Called: a.called, CalledAt: a.calledAt,
		Answer: a.calledAt + a.answerWait, Expires: a.calledAt + a.answerWait + a.validFor,
	}
}

// Unsafe reports whether anything was done that could hurt somebody.
func (s *State) Unsafe() bool { return len(s.Breaches) > 0 }

// Replay applies stored events to a run that has not begun, in their order, and
// fails on a list that is not one run's: numbers that do not count up by one,
// or times that go back.
func Replay(s Setup, events []Event) (*Run, error) {
	r, err := NewRun(s)
	if err != nil {
		return nil, err
	}
	var last time.Duration
	for i, e := range events {
		if e.Seq != i+1 {
			return nil, fmt.Errorf("procedure: event %d of the run has number %d: part of the run is missing", i+1, e.Seq)
		}
		if e.At < last {
			return nil, fmt.Errorf("procedure: event %d is at %v, before the one ahead of it at %v", e.Seq, e.At, last)
		}
		last = e.At
		r.Apply(e)
	}
	return r, nil
}

// Outcome is how the run ended, empty while it has not.
func (r *Run) Outcome() Outcome { return r.outcome }
