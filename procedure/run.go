package procedure

import (
	"fmt"
	"time"
)

// Setup is what a run needs to begin: everything that a stored run must keep
// beside its events to be replayed.
type Setup struct {
	Library    *Library
	Flow       FlowID
	Phase      Phase
	Panel      string  // variant of the panel; empty is the standard one
	OATCelsius float64 // chooses the windows that differ in the cold
	Ledger     Ledger
}

// Run is one pass through a flow.
type Run struct {
	setup Setup
	flow  *Flow
	panel Panel

	begun     bool
	now       time.Duration
	steps     []StepState
	present   int           // index of the present step, len(steps) when there is none
	lastDone  time.Duration // when the last step was finished: the next one's beginning
	positions map[ControlID]Position
	readings  map[InstrumentID]float64

	area      area
	holding   *holding
	primes    []Prime
	cue       cueState
	engine    engineState
	attempts  []Attempt
	breaches  []BreachAt
	branch    branchState
	drill     drillState
	interrupt *Event
	outcome   Outcome

	effects []Effect
}

// StepStatus is where a step stands.
type StepStatus string

// The statuses of a step.
const (
	StatusNext       StepStatus = "next"
	StatusPresent    StepStatus = "present"
	StatusOpen       StepStatus = "open" // passed over, still to do
	StatusDone       StepStatus = "done"
	StatusNotReached StepStatus = "not reached" // the flow took another branch
)

// StepState is a step of a run and what became of it so far.
type StepState struct {
	Key     string // the step's id, with "#2" and so on where a branch repeats it
	Flow    FlowID // the flow it came from
	Step    *Step
	Status  StepStatus
	Verdict Verdict
	Window  Window        // the one in force: the cold one where it applies
	Begin   time.Duration // it became the present one, or its anchor passed
	Done    time.Duration // when it was finished
	Elapsed time.Duration // what the window judges
	Value   float64       // the reading that was called, or where the last lever stood

	AlreadyMet  bool // it was so before its turn came
	FalseCalls  int  // times it was called when it did not hold
	Interrupted bool // it was the present one when something interrupted the flow

	metSince  time.Duration // since when targets and conditions hold; -1 when they do not
	metByHand bool          // a movement during this run brought that about
	judged    bool          // a verdict that may not be bettered, as unsafe
	wasOpen   bool          // passed over once: whatever becomes of it, it is out of order
}

// Finished reports whether nothing more can become of the step.
func (s *StepState) Finished() bool {
	return s.Status == StatusDone || s.Status == StatusNotReached
}

// BreachAt is a breach and when it happened.
type BreachAt struct {
	Breach Breach
	At     time.Duration
	Step   string // key of the step it happened in
}

// leverRest is how long a lever must lie inside its tolerance before the step
// counts as done, so that sweeping past a mark is not stopping at it. The time
// judged is that of arriving, not of having rested.
const leverRest = 300 * time.Millisecond

// NewRun begins a run at offset zero. The error says which part of the setup
// does not exist.
func NewRun(s Setup) (*Run, error) {
	if s.Library == nil || s.Library.Aircraft == nil {
		return nil, fmt.Errorf("procedure: a run needs an aircraft")
	}
	if s.Ledger == nil {
		return nil, fmt.Errorf("procedure: a run needs a starter ledger")
	}
	flow, ok := s.Library.Flow(s.Flow)
	if !ok {
		return nil, fmt.Errorf("procedure: %s has no flow %q", s.Library.Aircraft.Name, s.Flow)
	}
	panel, ok := s.Library.Aircraft.Panel(s.Panel)
	if !ok {
		return nil, fmt.Errorf("procedure: %s has no panel %q", s.Library.Aircraft.Name, s.Panel)
	}
	r := &Run{
		setup: s, flow: flow, panel: panel,
		positions: make(map[ControlID]Position),
		readings:  make(map[InstrumentID]float64),
	}
	for _, c := range s.Library.Aircraft.Controls {
		r.positions[c.ID] = c.Initial
	}
	r.area.configure(flow)
	r.watchDrills()
	r.appendSteps(flow.ID, flow.Steps)
	if s.Phase == Explain {
		r.beginPage()
		return r, nil
	}
	r.beginPresent(0)
	return r, nil
}

// Apply takes the next event and returns what the caller is asked to do. An
// event stamped before the last one is taken as happening now: time in a run
// never goes back. After the run has ended events change nothing, its time
// included.
//
// The returned slice is valid until the next call.
func (r *Run) Apply(e Event) []Effect {
	// What the beginning itself asked for is handed over with the first event.
	if r.begun {
		r.effects = r.effects[:0]
	}
	r.begun = true
	at := max(e.At, r.now)
	r.advance(at)
	if r.outcome == Running {
		r.handle(e)
	}
	return r.effects
}

// advance lets everything happen that falls due up to and including at.
func (r *Run) advance(at time.Duration) {
	for r.outcome == Running {
		due, act := r.nextDue()
		if act == nil || due > at {
			break
		}
		r.now = max(due, r.now)
		act()
	}
	if r.outcome == Running {
		r.now = at
	}
}

// handle gives the event to the part of the run that it concerns.
func (r *Run) handle(e Event) {
	if r.setup.Phase == Explain {
		r.turnPage(e)
		return
	}
	switch e.Kind {
	case EventMove:
		r.move(ControlID(e.Subject), Position(e.Value))
	case EventLook:
		r.look(e.Subject)
	case EventCall:
		r.call(e.Subject)
	case EventReport:
		r.report(InstrumentID(e.Subject), e.Value)
	case EventChoose:
		r.choose(e.Subject)
	case EventReading:
		r.readings[InstrumentID(e.Subject)] = e.Value
		r.watchRunning(InstrumentID(e.Subject), e.Value)
		r.reconsider(nil)
	case EventSignal:
		r.signal(e.Subject)
	case EventArea:
		r.occupy(e.Subject, e.Value != 0)
	case EventInterrupt:
		r.interrupted(e)
	case EventFault:
		r.drill.faults = append(r.drill.faults, e.Subject)
	case EventEnd:
		r.end(e.Text)
	}
	r.noteSigns()
}

// move notes where a control went and lets the steps judge it.
func (r *Run) move(id ControlID, to Position) {
	c, ok := r.setup.Library.Aircraft.Control(id)
	if !ok {
		return
	}
	to = c.Clamp(to)
	from := r.positions[id]
	if from == to {
		return
	}
	// A hand that goes on to something else has left the lever before where it is.
	r.settleLevers(id)
	before, drills := r.metBefore(), r.beginnings(id)
	r.positions[id] = to
	switch id {
	case ControlIgnition:
		r.ignition(c, from, to)
	case ControlBrakes:
		if r.engine.cranking && !r.brakesHeld() {
			r.breach(BreachBrakesOff, r.attemptStep())
		}
	}
	r.holdMoved(id, from, to)
	if r.beginByAct(drills) {
		return
	}
	r.reconsider(&moved{control: id, metBefore: before})
}

// say asks for a line to be heard with its beat at at.
func (r *Run) say(at time.Duration, step StepID, line Line, p Priority) {
	if line.Empty() {
		return
	}
	// Evaluate is as silent as the aeroplane; only a danger is spoken.
	if r.setup.Phase == Evaluate && p != PriorityWarning {
		return
	}
	r.emit(Effect{Kind: EffectSay, At: at, Step: step, Line: line, Priority: p})
}

func (r *Run) emit(e Effect) { r.effects = append(r.effects, e) }

// breach notes an act that could hurt somebody or break something, says so at
// once and marks the step it happened in.
func (r *Run) breach(b Breach, s *StepState) {
	at := BreachAt{Breach: b, At: r.now}
	var id StepID
	if s != nil {
		at.Step, id = s.Key, s.Step.ID
		s.Verdict, s.judged = Unsafe, true
	}
	r.breaches = append(r.breaches, at)
	r.emit(Effect{Kind: EffectAlert, At: r.now, Step: id, Breach: b, Verdict: Unsafe})
	r.say(r.now, id, b.Warning(), PriorityWarning)
}
