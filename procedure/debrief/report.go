package debrief

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/starter"
)

// Subject is the run to be looked at: what it began with, and its events.
type Subject struct {
	Library    *procedure.Library
	Flow       procedure.FlowID
	Phase      procedure.Phase
	Panel      string
	OATCelsius float64
	Faults     []string
	Events     []procedure.Event
}

// Report is what a run came to.
type Report struct {
	Outcome  procedure.Outcome
	Started  bool // the engine ran at the end, safely or not
	Unsafe   bool
	Length   time.Duration
	Steps    []Step
	Primes   []procedure.Prime
	Prime    time.Duration // of the last attempt: all its holds together
	Attempts []Attempt
	Breaches []procedure.BreachAt
	Omitted  int // steps lost after an interruption
	Skipped  time.Duration
	Faults   []powerplant.FaultInfo // what was wrong and was not told

	FuelFlow Trace // g/s as indicated
	RPM      Trace
	Vapour   Trace // % by volume in the charge
	Wet      Trace // g of liquid in the cylinders
	Fuel     Trace // g let through since the run began
	Winding  Trace // degC
	Band     Band

	Why     string   // one sentence: why it did or did not start
	Reasons []Reason // at most three, the most telling first

	limits  procedure.StarterLimits
	leadsTo map[string]string // the situation of the flow that each choice leads to
}

// Band is the range of vapour that burns, in % by volume.
type Band struct{ Lean, Rich float64 }

// Step is what became of one step.
type Step struct {
	Key         string
	Step        *procedure.Step
	Verdict     procedure.Verdict
	Reached     bool // the flow came to it
	Window      procedure.Window
	Begin, Done time.Duration
	Elapsed     time.Duration
	Value       float64 // of a reading that was called, NaN otherwise
}

// Off is by how much the step missed its window: positive late, negative early,
// zero inside.
func (s Step) Off() time.Duration {
	switch {
	case s.Window.Zero():
		return 0
	case s.Elapsed > s.Window.Max:
		return s.Elapsed - s.Window.Max
	case s.Elapsed < s.Window.Min:
		return s.Elapsed - s.Window.Min
	}
	return 0
}

// Attempt is one engagement of the starter with what was in the cylinders.
type Attempt struct {
	procedure.Attempt
	Prime  time.Duration // given since the attempt before
	Vapour float64       // % by volume, as it fired, else the middle of what came up; NaN when nothing did
	Wet    float64       // g of liquid in the cylinders as it began
	RPM    float64       // the middle of its cranking speed

	DyingVapour float64 // % by volume as it died; NaN when it did not
	DyingWet    float64 // g of liquid in the cylinders then
}

// How far back the charges lie that made it fire, and those that let it die: of a
// cranked engine's six a second three that burn are a firing, and a dozen that do
// not its end.
const (
	firingCharges = 250 * time.Millisecond
	dyingCharges  = time.Second
)

// Of looks at a run.
func Of(s Subject) (*Report, error) {
	run, err := procedure.Replay(procedure.Setup{
		Library: s.Library, Flow: s.Flow, Phase: s.Phase, Panel: s.Panel,
		OATCelsius: s.OATCelsius, Ledger: starter.New(s.Library.Aircraft.Starter),
	}, s.Events)
	if err != nil {
		return nil, fmt.Errorf("debrief: the run cannot be replayed: %w", err)
	}
	spec, err := powerplant.ByName(s.Library.Aircraft.Powerplant)
	if err != nil {
		return nil, fmt.Errorf("debrief: %s: %w", s.Library.Aircraft.Name, err)
	}
	st := run.State()
	r := &Report{
		Outcome: st.Outcome, Unsafe: st.Unsafe(), Length: st.At,
		Started: st.Fired && (st.Runs || st.Outcome == procedure.Started),
		Primes:  st.Primes, Breaches: st.Breaches, Omitted: st.Omitted,
		limits: s.Library.Aircraft.Starter, leadsTo: situations(s.Library),
		Band: Band{Lean: 100 * spec.Fuel.LeanLimit, Rich: 100 * spec.Fuel.RichLimit},
	}
	r.readFaults(s)
	r.readTraces(s.Events)
	for i := range st.Steps {
		r.Steps = append(r.Steps, stepOf(&st.Steps[i]))
	}
	r.readAttempts(&st)
	r.explain(&st)
	return r, nil
}

// situations are where the choices of an aircraft's flows lead.
func situations(lib *procedure.Library) map[string]string {
	out := map[string]string{}
	for _, f := range lib.Flows {
		choices := f.Choices
		if f.NoStart != nil {
			choices = append(slices.Clone(choices), f.NoStart.Choices...)
		}
		for _, c := range choices {
			if g, ok := lib.Flow(c.Flow); ok {
				out[c.ID] = g.Situation
			}
		}
	}
	return out
}

func stepOf(s *procedure.StepState) Step {
	return Step{
		Key: s.Key, Step: s.Step, Verdict: s.Verdict, Window: s.Window,
		Reached: s.Status == procedure.StatusDone, Begin: s.Begin, Done: s.Done,
		Elapsed: s.Elapsed, Value: s.Value,
	}
}

// readFaults lists what was wrong, as the run began and as it was injected; what
// the flow's own name says is not a secret.
func (r *Report) readFaults(s Subject) {
	flow, _ := s.Library.Flow(s.Flow)
	for _, info := range powerplant.Faults() {
		hidden := slices.Contains(s.Faults, string(info.Fault))
		for _, e := range s.Events {
			hidden = hidden || e.Kind == procedure.EventFault && e.Subject == string(info.Fault)
		}
		if hidden && string(info.Fault) != flow.Situation && !(flow.Situation == "fire" && info.Fault == powerplant.FaultInductionFire) {
			r.Faults = append(r.Faults, info)
		}
	}
}

// Point is one recorded value.
type Point struct {
	At    time.Duration
	Value float64
}

// Trace is a quantity over time: each value holds until the next.
type Trace []Point

// At is the value in force at an offset, not a number before the first.
func (t Trace) At(at time.Duration) float64 {
	i := sort.Search(len(t), func(i int) bool { return t[i].At > at })
	if i == 0 {
		return math.NaN()
	}
	return t[i-1].Value
}

// median is the middle of the values in force from one offset to another, each
// weighed by how long it lasted; not a number when there are none.
func (t Trace) median(from, to time.Duration) float64 {
	type span struct {
		value float64
		long  time.Duration
	}
	var spans []span
	var total time.Duration
	for i, p := range t {
		end := to
		if i+1 < len(t) {
			end = min(end, t[i+1].At)
		}
		if long := end - max(p.At, from); long > 0 && !math.IsNaN(p.Value) {
			spans = append(spans, span{p.Value, long})
			total += long
		}
	}
	sort.Slice(spans, func(i, j int) bool { return spans[i].value < spans[j].value })
	var sum time.Duration
	for _, s := range spans {
		if sum += s.long; sum >= total/2 {
			return s.value
		}
	}
	return math.NaN()
}

// readTraces picks the quantities that the report draws out of the events.
func (r *Report) readTraces(events []procedure.Event) {
	traces := map[procedure.InstrumentID]*Trace{
		procedure.InstrumentFuelFlow: &r.FuelFlow,
		procedure.InstrumentRPM:      &r.RPM,
		procedure.InsideVapour:       &r.Vapour,
		procedure.InsideWet:          &r.Wet,
		procedure.InsideFuel:         &r.Fuel,
		procedure.InsideWinding:      &r.Winding,
	}
	for _, e := range events {
		switch e.Kind {
		case procedure.EventReading:
			if t := traces[procedure.InstrumentID(e.Subject)]; t != nil {
				*t = append(*t, Point{e.At, e.Value})
			}
		case procedure.EventSkip:
			r.Skipped += time.Duration(e.Value * float64(time.Second))
		}
	}
}

// readAttempts joins each engagement with the prime before it and with what it
// found in the cylinders.
func (r *Report) readAttempts(st *procedure.State) {
	var since time.Duration
	for _, a := range st.Attempts {
		if a.Running {
			continue // no try to start it
		}
		end := a.Released
		if a.Fired {
			end = a.FiredAt
		}
		// Past its limit the starter burns and the battery goes flat: that is not
		// what kept it from starting.
		if r.limits.Crank > 0 {
			end = min(end, a.Engaged+r.limits.Crank)
		}
		// The first revolutions say little: nothing has been drawn in yet.
		from := a.Engaged + min(time.Second, (end-a.Engaged)/2)
		at := Attempt{
			Attempt: a,
			Prime:   r.primeBetween(since, a.Engaged),
			Vapour:  r.Vapour.median(from, end),
			Wet:     r.Wet.At(a.Engaged),
			RPM:     r.RPM.median(from, end),

			DyingVapour: math.NaN(), DyingWet: math.NaN(),
		}
		if a.Fired {
			at.Vapour = r.Vapour.median(max(from, a.FiredAt-firingCharges), a.FiredAt)
		}
		if a.Died {
			at.DyingVapour = r.Vapour.median(a.DiedAt-dyingCharges, a.DiedAt)
			at.DyingWet = r.Wet.At(a.DiedAt)
		}
		r.Attempts = append(r.Attempts, at)
		since = a.Engaged
	}
	r.Prime = r.primeBetween(since, st.At)
	if n := len(r.Attempts); n > 0 {
		r.Prime = r.Attempts[n-1].Prime
	}
}

func (r *Report) primeBetween(from, to time.Duration) time.Duration {
	var total time.Duration
	for _, p := range r.Primes {
		if p.Begin >= from && p.Begin < to {
			total += p.Length()
		}
	}
	return total
}
