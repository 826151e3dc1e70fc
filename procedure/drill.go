package procedure

import (
	"slices"
	"time"
)

// This file is what a pilot does when something is wrong: the signs of a fault,
// the drill that they call for, and how a run goes over to it.
//
// A drill is a flow with signs. A student begins it by doing it: the first of
// its acts that is not so already, done while its signs stand or shortly after.
// In Demonstrate it begins at its signs; in Perform, shortly after, where the
// student has not seen them; in Evaluate nobody helps.

// EngineState is what the engine does, as far as signs are about it.
type EngineState string

// The states. The empty one is any.
const (
	EngineStill    EngineState = "still"    // neither cranked nor firing
	EngineCranking EngineState = "cranking" // the starter is engaged and it does not fire
	EngineRuns     EngineState = "running"  // it fires, with the starter let go
)

// Signs are how a pilot knows what is wrong: how the engine and the controls
// stand, and what the instruments show, all together and for a time.
type Signs struct {
	Engine     EngineState
	Targets    []Target
	Conditions []Condition
	For        time.Duration // how long they stand before an eye may be sure
	Cold       *ColdSigns
}

// ColdSigns replaces how long signs must stand when the outside air is colder:
// cold oil is slow to show its pressure.
type ColdSigns struct {
	BelowCelsius float64
	For          time.Duration
}

// Taken is a drill that was begun.
type Taken struct {
	Flow    FlowID
	SeenAt  time.Duration // when its signs first stood; At where it was chosen without signs
	At      time.Duration
	Shown   bool   // the phase began it, not the student
	Answers string // the fault in force that it answers; empty when there is none
}

const (
	// signsLinger is how long after the signs have gone the drill may still be
	// begun: turning back from a dead magneto takes the sign away.
	signsLinger = 30 * time.Second
	// promptAfter is how long Perform leaves a student alone with the signs.
	promptAfter = 3 * time.Second
)

// watched is a drill whose signs are looked for.
type watched struct {
	flow    *Flow
	since   time.Duration // since when the signs hold; -1 when they do not
	stood   bool          // they held for long enough
	from    time.Duration // since when they had held then
	goneAt  time.Duration // when they ceased, having stood
	alerted bool          // a danger was left unanswered, and that was said
	quiet   bool          // the signs that hold are being answered, by it or by another
}

// reads reports whether an instrument is among the signs.
func (w *watched) reads(id InstrumentID) bool {
	return slices.ContainsFunc(w.flow.Signs.Conditions, func(c Condition) bool { return c.Instrument == id })
}

type drillState struct {
	watch  []watched
	in     *Flow // the drill that was begun last; nil before the first
	closed bool  // its end has been dealt with
	taken  []Taken
	faults []string // in force, in the order of being set; kept from the student
}

// begunBy is a drill that the next movement may begin, and which of its steps
// that movement must meet.
type begunBy struct {
	flow   *Flow
	seenAt time.Duration
	step   int
}

// watchDrills looks for the drills of an aircraft.
func (r *Run) watchDrills() {
	for _, f := range r.setup.Library.Flows {
		if f.Signs != nil {
			r.drill.watch = append(r.drill.watch, watched{flow: f, since: -1})
		}
	}
}

// stops reports whether what is being flown ends with the engine stopped.
func (r *Run) stops() bool {
	if r.drill.in != nil && !r.drill.closed {
		return r.drill.in.Ends == Stopped
	}
	return r.flow.Ends == Stopped && r.cutOffAsked()
}

// cutOffAsked reports whether the flow has come to the step that stops the engine.
func (r *Run) cutOffAsked() bool {
	ran := false
	for i := range r.steps {
		s := &r.steps[i]
		if s.Step.Kind == StepCrank {
			ran = true
		}
		if !ran || s.Status != StatusPresent && s.Status != StatusDone {
			continue
		}
		for _, t := range s.Step.Targets {
			if t.Control == ControlMixture && t.Met(0) && s.Step.Kind == StepSet {
				return true
			}
		}
	}
	return false
}

// noteSigns keeps since when the signs of each drill hold.
func (r *Run) noteSigns() {
	for i := range r.drill.watch {
		w := &r.drill.watch[i]
		holds := r.signsHold(w.flow.Signs)
		switch {
		case holds && w.since < 0:
			w.since = r.now
		case !holds && w.since >= 0:
			if !w.quiet && r.now-w.since >= r.sureAfter(w) {
				w.stood, w.from, w.goneAt = true, w.since, r.now
			}
			w.since, w.alerted, w.quiet = -1, false, false
		}
	}
}

func (r *Run) signsHold(s *Signs) bool {
	switch s.Engine {
	case EngineStill:
		if r.engine.fired || r.engine.cranking {
			return false
		}
	case EngineCranking:
		if r.engine.fired || !r.engine.cranking {
			return false
		}
	case EngineRuns:
		if !r.engine.fired || r.engine.cranking {
			return false
		}
	}
	for _, t := range s.Targets {
		if !t.Met(r.positions[t.Control]) {
			return false
		}
	}
	for _, c := range s.Conditions {
		if v, ok := r.readings[c.Instrument]; !ok || !r.panel.Shows(c.Instrument) || !c.Holds(v) {
			return false
		}
	}
	return true
}

// sureAfter is how long the signs must stand in this air.
func (r *Run) sureAfter(w *watched) time.Duration {
	s := w.flow.Signs
	if s.Cold != nil && r.setup.OATCelsius < s.Cold.BelowCelsius {
		return s.Cold.For
	}
	return s.For
}

// stands reports whether the drill is called for now, and since when.
func (r *Run) stands(w *watched) (time.Duration, bool) {
	switch {
	case r.under(w):
		return 0, false
	case w.since >= 0 && r.now-w.since >= r.sureAfter(w):
		return w.since, true
	case w.stood && r.now-w.goneAt <= signsLinger:
		return w.from, true
	}
	return 0, false
}

// under reports whether what the drill is for is in hand: by itself, by another
// or by stopping the engine, whose drill no other takes the place of.
func (r *Run) under(w *watched) bool {
	return w.quiet || r.drill.in == w.flow && !r.drill.closed || r.busyStopping()
}

// busyStopping reports whether a drill that ends with the engine stopped is
// being flown.
func (r *Run) busyStopping() bool {
	return r.drill.in != nil && !r.drill.closed && r.drill.in.Ends == Stopped
}

// forgetStillSigns drops what was seen before the engine was turned: whoever
// cranks has gone past it.
func (r *Run) forgetStillSigns() {
	for i := range r.drill.watch {
		if w := &r.drill.watch[i]; w.flow.Signs.Engine == EngineStill {
			w.since, w.stood, w.quiet, w.alerted = -1, false, false, false
		}
	}
}

// standing lists the drills that are called for.
func (r *Run) standing() []FlowID {
	var out []FlowID
	for i := range r.drill.watch {
		if _, ok := r.stands(&r.drill.watch[i]); ok {
			out = append(out, r.drill.watch[i].flow.ID)
		}
	}
	return out
}

// beginnings lists the drills that a movement of a control may begin: those
// whose signs stand, and those that are offered as a choice.
func (r *Run) beginnings(id ControlID) []begunBy {
	var out []begunBy
	add := func(f *Flow, seenAt time.Duration) {
		for i := range f.Steps {
			s := &f.Steps[i]
			if s.Kind != StepSet {
				return
			}
			if r.met(s) {
				continue
			}
			if concerns(s, id) {
				out = append(out, begunBy{f, seenAt, i})
			}
			return
		}
	}
	for i := range r.drill.watch {
		if at, ok := r.stands(&r.drill.watch[i]); ok {
			add(r.drill.watch[i].flow, at)
		}
	}
	if r.branch.awaiting {
		for _, c := range r.branch.noStart.Choices {
			if f, ok := r.setup.Library.Flow(c.Flow); ok && f.Ends != "" {
				add(f, r.now)
			}
		}
	}
	return out
}

// beginByAct begins the first of the drills whose act the movement was.
func (r *Run) beginByAct(candidates []begunBy) bool {
	for _, c := range candidates {
		if r.met(&c.flow.Steps[c.step]) {
			r.beginDrill(c.flow, c.seenAt, c.step, false)
			return true
		}
	}
	return false
}

// dueDrills: the signs have stood for so long that the phase begins the drill
// itself, or that a danger was left unanswered; oil pressure has a breach of its
// own.
func (r *Run) dueDrills(consider func(time.Duration, func())) {
	for i := range r.drill.watch {
		w := &r.drill.watch[i]
		if w.since < 0 || r.under(w) {
			continue
		}
		sure := w.since + r.sureAfter(w)
		switch r.setup.Phase {
		case Demonstrate:
			consider(sure, func() { r.beginDrill(w.flow, w.since, 0, true) })
		case Perform:
			consider(sure+promptAfter, func() { r.beginDrill(w.flow, w.since, 0, true) })
		}
		if first := &w.flow.Steps[0]; !w.reads(InstrumentOilPressure) && first.Criticality == 3 && w.flow.Ends == Stopped && !first.Window.Zero() && !w.alerted {
			consider(past(w.since+r.window(first).Max), func() {
				w.alerted = true
				r.breach(BreachDanger, nil)
			})
		}
	}
}

// beginDrill goes over to a drill. Of its steps those before done were so
// already.
func (r *Run) beginDrill(f *Flow, seenAt time.Duration, done int, shown bool) {
	r.drill.taken = append(r.drill.taken, Taken{Flow: f.ID, SeenAt: seenAt, At: r.now, Shown: shown, Answers: r.faultAnswered(f)})
	for i := range r.drill.watch {
		w := &r.drill.watch[i]
		if w.flow == f || slices.ContainsFunc(f.Answers, func(fault string) bool { return slices.Contains(w.flow.Answers, fault) }) {
			w.quiet, w.stood = w.since >= 0, false
		}
	}
	if f.Ends == Resumed {
		r.interpose(f, seenAt, done)
		return
	}
	if r.holding != nil {
		r.holding.step = -1 // it goes on, and is nobody's prime
	}
	r.leaveSteps(seenAt)
	r.branch.pending, r.branch.awaiting = false, false
	r.drill.in, r.drill.closed = f, f.Ends != Stopped && len(f.Choices) == 0
	if f.NoStart != nil {
		r.flow = f
	}
	r.area.configure(f)
	r.emit(Effect{Kind: EffectHush, At: r.now})
	r.present = len(r.steps)
	r.lastDone = seenAt
	r.appendSteps(f.ID, f.Steps)
	r.metAlready(r.present, done, seenAt)
	r.beginPresent(seenAt)
}

// metAlready notes that the first steps of a drill were so when its signs came.
func (r *Run) metAlready(from, n int, at time.Duration) {
	for i := from; i < from+n && i < len(r.steps); i++ {
		if s := &r.steps[i]; s.metSince >= 0 {
			s.metSince = at
		}
	}
}

// interpose puts a drill's steps before the present one: it goes on after them.
func (r *Run) interpose(f *Flow, seenAt time.Duration, done int) {
	at := min(r.present, len(r.steps))
	if at < len(r.steps) && r.steps[at].Status == StatusPresent {
		r.steps[at].Status = StatusNext
		r.emit(Effect{Kind: EffectHush, At: r.now, Step: r.steps[at].Step.ID})
	}
	tail := slices.Clone(r.steps[at:])
	all := r.steps
	r.steps = r.steps[:at:at]
	r.appendStates(f.ID, f.Steps, all)
	n := len(r.steps) - at
	r.steps = append(r.steps, tail...)
	if r.holding != nil && r.holding.step >= at {
		r.holding.step += n
	}
	r.noteMet(nil)
	r.metAlready(at, done, seenAt)
	r.present, r.lastDone = at, seenAt
	r.beginPresent(seenAt)
}

// leaveSteps closes what was under way: the crank with its verdict up to the
// signs, what was passed over as missed, and the rest as not reached.
func (r *Run) leaveSteps(seenAt time.Duration) {
	for i := range r.steps {
		s := &r.steps[i]
		switch {
		case s.Finished():
		case r.cranked(s):
			r.closeCrank(s, max(s.Begin, r.crankedUntil(seenAt)))
		case s.Status == StatusOpen:
			r.miss(s)
		default:
			s.Status = StatusNotReached
		}
	}
}

// drillDone deals with the end of a drill's steps, and reports whether the run
// waits for something or has ended.
func (r *Run) drillDone() bool {
	f := r.drill.in
	if f == nil || r.drill.closed {
		return false
	}
	if len(f.Choices) > 0 {
		r.drill.closed = true
		r.branch.noStart, r.branch.awaiting = &NoStart{Choices: f.Choices}, true
		r.emit(Effect{Kind: EffectBranch, At: r.now})
		return true
	}
	if r.faultAnswered(f) == "" {
		r.conclude(NotStarted) // stopped without a reason
		return true
	}
	r.conclude(Stopped)
	return true
}

// faultAnswered is the fault in force that a drill answers, empty when there is none.
func (r *Run) faultAnswered(f *Flow) string {
	for _, fault := range r.drill.faults {
		if slices.Contains(f.Answers, fault) {
			return fault
		}
	}
	return ""
}

// fightingFire reports whether there is smoke or flame to be seen, or was a
// moment ago, or the drill for it is being flown: the starter's limits and the
// engine's racing are then the lesser evil.
func (r *Run) fightingFire() bool {
	if r.readings[InstrumentSmoke] > 0 {
		return true
	}
	for i := range r.drill.watch {
		w := &r.drill.watch[i]
		_, stands := r.stands(w)
		if w.reads(InstrumentSmoke) && (stands || r.drill.in == w.flow && !r.drill.closed) {
			return true
		}
	}
	return false
}
