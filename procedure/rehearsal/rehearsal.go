package rehearsal

import (
	"fmt"
	"math"
	"slices"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/starter"
)

// Voice speaks. Package audio has one; a rehearsal without a voice has captions
// only.
type Voice interface {
	// Say asks for a line to be heard with its beat at an offset of the run. A
	// beat that is not in the future means as soon as possible.
	Say(u Utterance)
	// Hush drops what was asked for under the tag and has not begun; the empty
	// tag drops everything.
	Hush(tag string)
}

// Utterance is one line to be heard.
type Utterance struct {
	Line     procedure.Line
	Beat     time.Duration // offset of the run at which its beat should fall
	Priority procedure.Priority
	Tag      string
}

// Recorder keeps events as they happen. Append is called by the owner of the
// run and must not block.
type Recorder interface {
	Append(e procedure.Event)
}

// Options are what a run begins with.
type Options struct {
	Library    *procedure.Library
	Flow       procedure.FlowID
	Phase      procedure.Phase
	Panel      string
	Conditions Conditions
	Faults     []powerplant.Fault
	Seed       uint64
	Hands      []procedure.Event // acts to be taken at their offsets, in order of time
	Hand       *Demonstrator     // flies the run; nil is nobody, or the instructor in Demonstrate
	Replay     bool              // a stored run is flown again: by Hands alone
	Happenings bool              // people walk in and voices interrupt, in Perform and Evaluate
	Voice      Voice             // nil: captions only
	Captioned  bool              // the voice tells by Spoken what is heard, and when
	Sound      Sound             // nil: no engine sound; only [Drive] makes it heard
	Recorder   Recorder          // nil: kept in memory only
}

// sampleEvery is how often the gauges are looked at for the record: often
// enough to see the flow level off, seldom enough to keep a run small.
const sampleEvery = 100 * time.Millisecond

// Rehearsal is one live run.
type Rehearsal struct {
	o        Options
	run      *procedure.Run
	plant    *powerplant.Plant
	signals  powerplant.Detector
	ledger   *starter.Ledger
	events   []procedure.Event
	captions captioner
	hands    *Demonstrator
	script   []procedure.Event // what is left of Options.Hands
	world    *happenings

	physics   time.Duration // how far the powerplant has been stepped
	now       time.Duration // how far the run has been advanced: at most a step further
	positions []procedure.Position
	readings  []float64 // what each instrument showed when last looked at
	recorded  []float64 // what the record says it showed
	inside    insideTrace
	trace     []TracePoint
	alerts    []Alert
	levers    bool // a control moved since the powerplant was last told
	faults    []string
}

// New begins a run at offset zero.
func New(o Options) (*Rehearsal, error) {
	if o.Library == nil || o.Library.Aircraft == nil {
		return nil, fmt.Errorf("rehearsal: no aircraft was given")
	}
	o.Faults = o.withSituation()
	ledger := starter.New(o.Library.Aircraft.Starter)
	run, err := procedure.NewRun(procedure.Setup{
		Library: o.Library, Flow: o.Flow, Phase: o.Phase, Panel: o.Panel,
		OATCelsius: o.Conditions.OATCelsius, Ledger: ledger,
	})
	if err != nil {
		return nil, err
	}
	plant, err := newPlant(o)
	if err != nil {
		return nil, err
	}
	a := o.Library.Aircraft
	r := &Rehearsal{
		o: o, run: run, plant: plant, ledger: ledger,
		positions: make([]procedure.Position, len(a.Controls)),
		readings:  make([]float64, len(a.Instruments)),
		recorded:  make([]float64, len(a.Instruments)),
		levers:    true,
		script:    o.Hands,
	}
	for i, c := range a.Controls {
		r.positions[i] = c.Initial
	}
	for i := range r.recorded {
		r.recorded[i], r.readings[i] = math.Inf(-1), math.NaN()
	}
	r.hands = o.Hand
	if r.hands == nil && o.Phase == procedure.Demonstrate && !o.Replay {
		r.hands = NewDemonstrator(o.Library)
	}
	if o.Happenings && !o.Replay && (o.Phase == procedure.Perform || o.Phase == procedure.Evaluate) {
		r.world = newHappenings(o.Seed)
	}
	for _, f := range o.Faults {
		r.happen(procedure.Event{Kind: procedure.EventFault, Subject: string(f)})
	}
	r.happen(procedure.Event{Kind: procedure.EventTick})
	return r, nil
}

// withSituation adds what a flow's situation says of the engine: a flow for a
// flooded engine begins with a flooded engine.
func (o Options) withSituation() []powerplant.Fault {
	f, ok := o.Library.Flow(o.Flow)
	if !ok {
		return o.Faults
	}
	fault, ok := map[string]powerplant.Fault{
		"flooded": powerplant.FaultFlooded, "fire": powerplant.FaultInductionFire,
	}[f.Situation]
	if !ok || slices.Contains(o.Faults, fault) {
		return o.Faults
	}
	return append(slices.Clone(o.Faults), fault)
}

// Now is how far the run has come.
func (r *Rehearsal) Now() time.Duration { return r.now }

// Done reports whether the run has ended.
func (r *Rehearsal) Done() bool { return r.run.Outcome() != procedure.Running }

// Events is the run's list so far. The slice is the rehearsal's own.
func (r *Rehearsal) Events() []procedure.Event { return r.events }

// State is where the flow stands.
func (r *Rehearsal) State() procedure.State { return r.run.State() }

// Input takes an act of the student, stamped with its offset. One stamped
// before what has already happened is taken as happening now. A replay takes
// none: it is the run that was.
func (r *Rehearsal) Input(e procedure.Event) {
	if r.Done() || r.o.Replay {
		return
	}
	r.Advance(e.At)
	if !r.Done() {
		r.take(e)
	}
}

// Advance lets the run come to an offset.
func (r *Rehearsal) Advance(to time.Duration) {
	for !r.Done() && r.physics+powerplant.StepSize <= to {
		r.takeHands(r.physics + powerplant.StepSize - 1)
		r.step()
	}
	r.takeHands(to)
	r.now = max(r.now, to)
	if !r.Done() {
		r.happen(procedure.Event{Kind: procedure.EventTick, At: r.now})
	}
	r.captions.advance(r.now)
}

// takeHands lets the scripted hands act that are due up to and including at.
func (r *Rehearsal) takeHands(at time.Duration) {
	for len(r.script) > 0 && r.script[0].At <= at && !r.Done() {
		e := r.script[0]
		r.script = r.script[1:]
		if e.Kind == procedure.EventFault {
			_ = r.Inject(powerplant.Fault(e.Subject)) // of a record: an engine that has no such fault never had it
			continue
		}
		r.take(e)
		if e.Kind == procedure.EventSkip {
			r.Advance(r.now + time.Duration(e.Value*float64(time.Second)))
		}
	}
}

// take lets an act happen. What an instrument shows when it is called is part of
// the event, so that the run can be judged again without the powerplant.
func (r *Rehearsal) take(e procedure.Event) {
	e.At = max(e.At, r.physics, r.now)
	if e.Kind == procedure.EventReport {
		e.Value = r.reading(procedure.InstrumentID(e.Subject))
	}
	r.happen(e)
}

// restLeft is how much of a rest is still to come: what the starter is owed, or
// what the flow waits for.
func (r *Rehearsal) restLeft(st *procedure.State) time.Duration {
	return max(0, max(r.ledger.Ready(), st.RestUntil)-st.At)
}

// SkipRest lets a rest pass at once, with the powerplant living through it, and
// returns how much was passed over.
func (r *Rehearsal) SkipRest() time.Duration {
	st := r.run.State()
	left := r.restLeft(&st)
	if left == 0 || r.Done() || st.Fired || st.Cranking {
		return 0
	}
	r.happen(procedure.Event{Kind: procedure.EventSkip, At: r.now, Value: left.Seconds()})
	r.Advance(r.now + left)
	return left
}

// Spoken shows a line while it is heard: from c.At to until.
func (r *Rehearsal) Spoken(c Caption, until time.Duration) { r.captions.hear(c, until) }

// Paused notes that a stretch of real time did not count, as when the machine
// slept: what was due in it is not held against the student.
func (r *Rehearsal) Paused(length time.Duration) {
	r.happen(procedure.Event{Kind: procedure.EventPause, At: r.now, Value: length.Seconds()})
}

// End closes the run.
func (r *Rehearsal) End(why string) {
	r.happen(procedure.Event{Kind: procedure.EventEnd, At: r.now, Text: why})
}

// step advances the powerplant by one step and lets happen what comes of it.
func (r *Rehearsal) step() {
	if r.o.Phase == procedure.Explain {
		r.physics += powerplant.StepSize
		return
	}
	if r.levers {
		r.plant.SetControls(r.controls())
		r.levers = false
	}
	r.plant.Step()
	r.physics += powerplant.StepSize
	for _, s := range r.signals.Observe(r.physics, r.plant) {
		r.happen(procedure.Event{Kind: procedure.EventSignal, At: r.physics, Subject: string(s)})
	}
	if r.physics%sampleEvery == 0 {
		r.sample()
	}
	if due, ok := r.run.Next(); ok && due <= r.physics {
		r.happen(procedure.Event{Kind: procedure.EventTick, At: r.physics})
	}
	if r.physics%actEvery == 0 {
		r.act()
	}
}

// act lets the demonstrator's hands and the world do what they do. They see the
// run as it is at this step, however far apart the caller's own looks are.
func (r *Rehearsal) act() {
	if r.hands == nil && r.world == nil {
		return
	}
	r.happen(procedure.Event{Kind: procedure.EventTick, At: r.physics})
	if r.hands != nil {
		st := r.run.State()
		for _, e := range r.hands.act(&st, r) {
			e.At = r.physics
			r.take(e)
		}
	}
	if r.world != nil {
		st := r.run.State()
		for _, e := range r.world.act(&st) {
			e.At = r.physics
			r.happen(e)
		}
	}
}

// sample looks at the gauges and records those that moved.
func (r *Rehearsal) sample() {
	a := r.o.Library.Aircraft
	now := r.plant.Readings()
	for i := range a.Instruments {
		in := &a.Instruments[i]
		v := r.readingOf(now, in.ID)
		r.readings[i] = v
		if changed(r.recorded[i], v, in.Resolution) {
			r.recorded[i] = v
			r.happen(procedure.Event{Kind: procedure.EventReading, At: r.physics, Subject: string(in.ID), Value: v})
		}
		if in.ID == procedure.InstrumentFuelFlow {
			r.keepTrace(v)
		}
	}
	r.inside.sample(r)
}

// changed reports whether a reading moved by at least the least change worth
// recording; a gauge going dead or coming alive always is.
func changed(recorded, v, resolution float64) bool {
	if math.IsNaN(v) || math.IsNaN(recorded) {
		return math.IsNaN(v) != math.IsNaN(recorded)
	}
	return math.Abs(v-recorded) >= resolution
}

const traceLength = 10 * time.Second

func (r *Rehearsal) keepTrace(v float64) {
	if math.IsNaN(v) {
		v = 0
	}
	r.trace = append(r.trace, TracePoint{At: r.physics, Value: v})
	if n := int(traceLength/sampleEvery) + 1; len(r.trace) > n {
		r.trace = r.trace[len(r.trace)-n:]
	}
}

// reading is what an instrument shows this moment; NaN where it is dead or the
// panel has none.
func (r *Rehearsal) reading(id procedure.InstrumentID) float64 {
	panel, _ := r.o.Library.Aircraft.Panel(r.o.Panel)
	if !panel.Shows(id) {
		return math.NaN()
	}
	return r.readingOf(r.plant.Readings(), id)
}

// lastLooked is what an instrument showed when the gauges were last looked at.
func (r *Rehearsal) lastLooked(id procedure.InstrumentID) float64 {
	for i := range r.readings {
		if r.o.Library.Aircraft.Instruments[i].ID == id {
			return r.readings[i]
		}
	}
	return math.NaN()
}

// happen keeps an event and lets the flow engine judge it. Ticks are not kept:
// they change no verdict. A run that comes to its own end says so in its list, so
// that the list alone tells that nothing is missing; after the end nothing happens.
func (r *Rehearsal) happen(e procedure.Event) {
	if r.Done() {
		return
	}
	if e.Kind != procedure.EventTick {
		e = r.keep(e)
	}
	if e.Kind == procedure.EventFault {
		r.faults = append(r.faults, e.Subject)
	}
	if e.Kind == procedure.EventMove {
		r.moveControl(procedure.ControlID(e.Subject), procedure.Position(e.Value))
	}
	for _, f := range r.run.Apply(e) {
		r.effect(f)
	}
	if r.Done() && e.Kind != procedure.EventEnd {
		r.keep(procedure.Event{Kind: procedure.EventEnd, At: r.run.State().At, Text: procedure.EndComplete})
	}
}

// keep numbers an event and puts it at the end of the run's list.
func (r *Rehearsal) keep(e procedure.Event) procedure.Event {
	e.Seq = len(r.events) + 1
	if n := len(r.events); n > 0 {
		e.At = max(e.At, r.events[n-1].At)
	}
	r.events = append(r.events, e)
	if r.o.Recorder != nil {
		r.o.Recorder.Append(e)
	}
	return e
}

// answeredBy reports whether a flow is the right act for something that is wrong.
func (r *Rehearsal) answeredBy(f *procedure.Flow) bool {
	return slices.ContainsFunc(r.faults, func(fault string) bool { return slices.Contains(f.Answers, fault) })
}

func (r *Rehearsal) moveControl(id procedure.ControlID, to procedure.Position) {
	for i := range r.positions {
		if c := &r.o.Library.Aircraft.Controls[i]; c.ID == id {
			r.positions[i] = c.Clamp(to)
			r.levers = true
		}
	}
}

// effect does what the flow engine asks for.
func (r *Rehearsal) effect(f procedure.Effect) {
	switch f.Kind {
	case procedure.EffectSay:
		u := Utterance{Line: f.Line, Beat: f.At, Priority: f.Priority, Tag: string(f.Step)}
		if !r.o.Captioned {
			r.captions.say(u)
		}
		if r.o.Voice != nil {
			r.o.Voice.Say(u)
		}
	case procedure.EffectHush:
		r.captions.hush(string(f.Step))
		if r.o.Voice != nil {
			r.o.Voice.Hush(string(f.Step))
		}
	case procedure.EffectAlert:
		r.alerts = append(r.alerts, Alert{At: f.At, Breach: f.Breach, Text: f.Breach.Warning().Caption})
	}
}

// LastHand is the offset of the last of Options.Hands, and false without any.
func (r *Rehearsal) LastHand() (time.Duration, bool) {
	if len(r.o.Hands) == 0 {
		return 0, false
	}
	return r.o.Hands[len(r.o.Hands)-1].At, true
}
