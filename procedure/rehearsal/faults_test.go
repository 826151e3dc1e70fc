package rehearsal_test

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// Each fault, flown in the simulated engine: what a pilot can see of it, where
// it leads if nobody looks, and that the way out is one. The signs and the ways
// out are common practice, no source; the numbers belong to the Brindles, which
// are invented.

// faultCase is one fault as an instructor would set it.
type faultCase struct {
	fault    powerplant.Fault
	aircraft procedure.AircraftID
	flow     procedure.FlowID // cold unless said
	hot      bool             // a warm day, a quarter of an hour after shutdown
	// Flown as though nothing were wrong: what is seen at some moment, what
	// never is, and where it has led four minutes after the last act.
	signs, never []sign
	left         sign
	// The drills that the way out goes through, and how it ends.
	drills []procedure.FlowID
	ends   procedure.Outcome
}

const (
	big   procedure.AircraftID = "brindle-180"
	small procedure.AircraftID = "brindle-100"
)

var faultCases = []faultCase{
	{fault: powerplant.FaultPumpDead, aircraft: big,
		signs: []sign{flowAtZero, {"the pump is silent, and draws nothing", func(l *look) bool {
			return l.primes() && !l.noise.BoostPump && l.amperes() > -5
		}}},
		never: []sign{fires}, left: standsStill,
		drills: ids("no-fuel-flow", "own-pump"), ends: procedure.Started},
	{fault: powerplant.FaultNoFuel, aircraft: big,
		signs: []sign{flowAtZero, {"the pump is heard, and draws its current", func(l *look) bool {
			return l.primes() && l.noise.BoostPump && l.amperes() < -5
		}}},
		never: []sign{fires}, left: standsStill,
		drills: ids("no-fuel-flow", "stop"), ends: procedure.Stopped},
	{fault: powerplant.FaultNoFuel, aircraft: small,
		signs: []sign{turnsWell}, never: []sign{fires, runs}, left: standsStill,
		drills: ids("something-else", "stop"), ends: procedure.Stopped},
	{fault: powerplant.FaultVapourInLines, aircraft: big, flow: "hot", hot: true,
		signs: []sign{{"the flow is low in the prime", func(l *look) bool {
			return l.primes() && l.st.At-l.st.HeldSince > 1200*time.Millisecond && l.flow() > 0.02 && l.flow() < 1
		}}, {"it fires and dies", func(l *look) bool { return lastAttempt(l).Died }}},
		never: []sign{runs}, left: standsStill,
		drills: ids("something-else", "vapour"), ends: procedure.Started},

	{fault: powerplant.FaultWeakBattery, aircraft: big, signs: []sign{lowVolts, turnsSlowly}, left: voltsNotCalled,
		drills: ids("external-power"), ends: procedure.Started},
	{fault: powerplant.FaultWeakBattery, aircraft: small, signs: []sign{lowVolts, turnsSlowly}, left: voltsNotCalled,
		drills: ids("external-power"), ends: procedure.Started},
	{fault: powerplant.FaultDeadBattery, aircraft: big, signs: []sign{lowVolts, chatters}, never: []sign{turnsWell, fires}, left: standsStill,
		drills: ids("external-power"), ends: procedure.Started},
	{fault: powerplant.FaultDeadBattery, aircraft: small, signs: []sign{lowVolts, chatters}, never: []sign{turnsWell, fires}, left: standsStill,
		drills: ids("external-power"), ends: procedure.Started},
	{fault: powerplant.FaultSulphated, aircraft: big, signs: []sign{readsWell, dips}, never: []sign{turnsWell, fires}, left: standsStill,
		drills: ids("something-else", "external-start"), ends: procedure.Started},
	{fault: powerplant.FaultSulphated, aircraft: small, signs: []sign{readsWell, dips}, never: []sign{turnsWell, fires}, left: standsStill,
		drills: ids("something-else", "external-start"), ends: procedure.Started},

	{fault: powerplant.FaultDriveSticks, aircraft: big, signs: []sign{whirrs}, never: []sign{turnsWell, fires}, left: standsStill,
		drills: ids("starter-again", "crank-again"), ends: procedure.Started},
	{fault: powerplant.FaultDriveSticks, aircraft: small, signs: []sign{whirrs}, never: []sign{turnsWell, fires}, left: standsStill,
		drills: ids("starter-again", "crank-again"), ends: procedure.Started},
	{fault: powerplant.FaultStaysEngaged, aircraft: big, signs: []sign{fires, staysLit}, left: starterBurns,
		drills: ids("starter-stays-engaged"), ends: procedure.Stopped},
	{fault: powerplant.FaultStaysEngaged, aircraft: small, signs: []sign{fires, staysLit}, left: starterBurns,
		drills: ids("starter-stays-engaged"), ends: procedure.Stopped},

	{fault: powerplant.FaultLeftMagneto, aircraft: big, signs: []sign{turnsWell, flowRises}, never: []sign{fires}, left: standsStill,
		drills: ids("something-else", "stop"), ends: procedure.Stopped},
	{fault: powerplant.FaultLeftMagneto, aircraft: small, signs: []sign{turnsWell}, never: []sign{fires}, left: standsStill,
		drills: ids("something-else", "stop"), ends: procedure.Stopped},
	{fault: powerplant.FaultImpulse, aircraft: big, signs: []sign{turnsWell, flowRises}, never: []sign{fires}, left: standsStill,
		drills: ids("something-else", "stop"), ends: procedure.Stopped},
	{fault: powerplant.FaultImpulse, aircraft: small, signs: []sign{turnsWell}, never: []sign{fires}, left: standsStill,
		drills: ids("something-else", "stop"), ends: procedure.Stopped},
	{fault: powerplant.FaultRightMagneto, aircraft: big, flow: "magnetos", signs: []sign{runs, diesOnRight}, never: []sign{diesOnLeft}, left: standsStill,
		drills: ids("magneto-dead"), ends: procedure.Stopped},
	{fault: powerplant.FaultRightMagneto, aircraft: small, flow: "magnetos", signs: []sign{runs, diesOnRight}, never: []sign{diesOnLeft}, left: standsStill,
		drills: ids("magneto-dead"), ends: procedure.Stopped},

	{fault: powerplant.FaultNoOilPressure, aircraft: big, signs: []sign{runs, noOil}, never: []sign{someOil}, left: seized,
		drills: ids("no-oil-pressure"), ends: procedure.Stopped},
	{fault: powerplant.FaultNoOilPressure, aircraft: small, signs: []sign{runs, noOil}, never: []sign{someOil}, left: seized,
		drills: ids("no-oil-pressure"), ends: procedure.Stopped},
	{fault: powerplant.FaultAlternatorDead, aircraft: big, signs: []sign{noCharge}, left: stillDischarges,
		drills: ids("no-charge"), ends: procedure.Stopped},
	{fault: powerplant.FaultAlternatorDead, aircraft: small, signs: []sign{noCharge}, left: stillDischarges,
		drills: ids("no-charge"), ends: procedure.Stopped},

	{fault: powerplant.FaultMixtureStuck, aircraft: big,
		signs: []sign{{"fuel flows on with the lever at cut-off", func(l *look) bool {
			return !l.st.Fired && !l.st.Holding && l.moved[procedure.ControlMixture] < 0.05 && len(l.st.Primes) > 0 && l.flow() > 1
		}}, smell, drips}, never: []sign{fires}, left: dangerLeft,
		drills: ids("mixture-stuck"), ends: procedure.Stopped},
	{fault: powerplant.FaultMixtureStuck, aircraft: small, flow: "magnetos",
		signs: []sign{{"it runs on with the lever at cut-off", func(l *look) bool {
			return l.st.Fired && !l.st.Cranking && len(l.st.Attempts) > 0 && l.st.Runs && l.moved[procedure.ControlMixture] < 0.05 && l.rpm() > 600
		}}}, left: notStopped,
		drills: ids("mixture-stuck"), ends: procedure.Stopped},

	{fault: powerplant.FaultInductionFire, aircraft: big, signs: []sign{dripsBefore, smoke}, left: dangerLeft,
		drills: ids("fire-in-start"), ends: procedure.Stopped},
	{fault: powerplant.FaultInductionFire, aircraft: small, signs: []sign{dripsBefore, smoke}, left: dangerLeft,
		drills: ids("fire-in-start"), ends: procedure.Stopped},
	{fault: powerplant.FaultFlooded, aircraft: big, signs: []sign{smell, turnsWell}, never: []sign{runs}, left: standsStill,
		drills: ids("flooded-patience"), ends: procedure.Started},
	{fault: powerplant.FaultFlooded, aircraft: small, signs: []sign{smell, turnsWell}, never: []sign{runs}, left: standsStill,
		drills: ids("flooded"), ends: procedure.Started},
}

func ids(names ...procedure.FlowID) []procedure.FlowID { return names }

// Two faults are about parts that the Brindle 100 does not have.
var notOn = map[procedure.AircraftID][]powerplant.Fault{
	small: {powerplant.FaultPumpDead, powerplant.FaultVapourInLines},
}

// look is what there is to see, hear and smell at one moment.
type look struct {
	least float64 // the aircraft's, V
	shown map[procedure.InstrumentID]float64
	moved map[procedure.ControlID]procedure.Position
	noise rehearsal.Noise
	st    procedure.State
	worst float64 // starter winding so far, degC; of the record, not of the seat
}

func (l *look) cranking() bool   { return l.st.Cranking && !l.st.Fired }
func (l *look) primes() bool     { return l.st.Holding && !l.st.Cranking }
func (l *look) volts() float64   { return l.shown[procedure.InstrumentBusVolts] }
func (l *look) amperes() float64 { return l.shown[procedure.InstrumentAmperes] }
func (l *look) flow() float64    { return l.shown[procedure.InstrumentFuelFlow] }
func (l *look) rpm() float64     { return l.shown[procedure.InstrumentRPM] }

func (l *look) lit(i procedure.InstrumentID) bool { return l.shown[i] == 1 }

// crankedFor is how long the starter has been engaged without a firing.
func (l *look) crankedFor() time.Duration {
	if !l.cranking() {
		return 0
	}
	return l.st.At - lastAttempt(l).Engaged
}

func lastAttempt(l *look) procedure.Attempt {
	if n := len(l.st.Attempts); n > 0 {
		return l.st.Attempts[n-1]
	}
	return procedure.Attempt{}
}

func (l *look) breached(b procedure.Breach) bool {
	return slices.ContainsFunc(l.st.Breaches, func(at procedure.BreachAt) bool { return at.Breach == b })
}

// sign is something that is seen, or where something led.
type sign struct {
	what string
	is   func(*look) bool
}

const second = time.Second

var (
	flowAtZero = sign{"the flow stays at zero in the prime", func(l *look) bool {
		return l.primes() && l.st.At-l.st.HeldSince > 3*second && l.flow() < 0.05
	}}
	flowRises = sign{"fuel flows in the prime", func(l *look) bool { return l.primes() && l.flow() > 2 }}
	smell     = sign{"a smell of fuel", func(l *look) bool { return l.lit(procedure.InstrumentFuelSmell) }}
	drips     = sign{"fuel drips", func(l *look) bool { return l.lit(procedure.InstrumentDrips) }}

	dripsBefore = sign{"fuel drips before the start", func(l *look) bool { return len(l.st.Attempts) == 0 && l.lit(procedure.InstrumentDrips) }}
	smoke       = sign{"smoke at the cowling", func(l *look) bool { return l.lit(procedure.InstrumentSmoke) }}

	lowVolts = sign{"the volts are below the least before the start", func(l *look) bool {
		return l.moved[procedure.ControlBattery] != 0 && len(l.st.Attempts) == 0 && l.volts() < l.least
	}}
	readsWell = sign{"the volts read well before the start", func(l *look) bool { return len(l.st.Attempts) == 0 && l.volts() >= l.least }}
	dips      = sign{"the volts fall by half as it cranks", func(l *look) bool { return l.cranking() && l.volts() < 0.67*l.least }}
	chatters  = sign{"the volts collapse and the propeller stands", func(l *look) bool { return l.crankedFor() > second && l.volts() < l.least/2 && l.rpm() < 5 }}

	whirrs = sign{"the starter light is lit and the propeller stands", func(l *look) bool {
		return l.crankedFor() > second && l.lit(procedure.InstrumentStarterLight) && l.rpm() == 0 && l.amperes() < -20
	}}
	turnsSlowly = sign{"it turns slowly", func(l *look) bool { return l.crankedFor() > second && l.rpm() > 5 && l.rpm() < 130 }}
	turnsWell   = sign{"it turns well", func(l *look) bool { return l.crankedFor() > second && l.rpm() > 130 }}
	staysLit    = sign{"the starter light stays lit after the release", func(l *look) bool {
		return l.st.Fired && !l.st.Cranking && l.st.At-lastAttempt(l).Released > 2*second && l.lit(procedure.InstrumentStarterLight)
	}}

	fires       = sign{"it fires", func(l *look) bool { return l.st.Fired }}
	runs        = sign{"it runs", func(l *look) bool { return l.st.Runs }}
	diesOnRight = sign{"on the right magneto it dies", func(l *look) bool { return l.dead(procedure.DetentRight) }}
	diesOnLeft  = sign{"on the left magneto it dies", func(l *look) bool { return l.dead(procedure.DetentLeft) }}

	noOil    = sign{"no oil pressure 15 s after it fired", func(l *look) bool { return l.st.Fired && l.st.At-l.st.FiredAt > 15*second && l.oil() < 5 }}
	someOil  = sign{"oil pressure", func(l *look) bool { return l.oil() > 20 }}
	noCharge = sign{"alternator on, and on discharge", func(l *look) bool {
		return l.st.Fired && l.moved[procedure.ControlAlternator] != 0 && l.rpm() > 800 && l.volts() < 1.06*l.least && l.amperes() < 0
	}}

	// Where it leads.
	standsStill     = sign{"the propeller stands", func(l *look) bool { return l.rpm() == 0 && !l.st.Fired }}
	voltsNotCalled  = sign{"the volts were not what they should be", func(l *look) bool { return l.verdict("volts") != procedure.OnTime }}
	starterBurns    = sign{"the starter burns", func(l *look) bool { return l.worst > 155 && l.breached(procedure.BreachDanger) }}
	seized          = sign{"the bearings seize", func(l *look) bool { return l.rpm() == 0 && lastAttempt(l).Died && l.breached(procedure.BreachNoOil) }}
	stillDischarges = sign{"the battery carries it alone", func(l *look) bool { return l.st.Fired && l.amperes() < 0 }}
	notStopped      = sign{"the propeller was not seen to stand before the rest was switched off", func(l *look) bool { return l.verdict("stopped") != procedure.OnTime }}
	dangerLeft      = sign{"a danger is left unanswered", func(l *look) bool { return l.breached(procedure.BreachDanger) }}
)

// dead reports whether it is going down on one magneto. Detents of both
// Brindles: off, right, left, both, start.
func (l *look) dead(detent string) bool {
	at := map[string]procedure.Position{procedure.DetentRight: 1, procedure.DetentLeft: 2}[detent]
	return l.st.Fired && l.moved[procedure.ControlIgnition] == at && l.rpm() < 600
}

func (l *look) oil() float64 { return l.shown[procedure.InstrumentOilPressure] }

func (l *look) verdict(key string) procedure.Verdict {
	for _, s := range l.st.Steps {
		if s.Key == key {
			return s.Verdict
		}
	}
	return procedure.Pending
}

func (c faultCase) name() string { return fmt.Sprintf("%s/%s", c.aircraft, c.fault) }

// options begin the case's flow; without the fault it is a sound aeroplane.
func (c faultCase) options(t *testing.T, phase procedure.Phase, seed uint64, faults ...powerplant.Fault) rehearsal.Options {
	o := rehearsal.Options{
		Library: shipped.Aircraft(t, c.aircraft), Flow: c.flow, Phase: phase, Seed: seed, Faults: faults,
		Conditions: rehearsal.Conditions{OATCelsius: 15},
	}
	if o.Flow == "" {
		o.Flow = "cold"
	}
	if c.hot {
		o.Conditions = rehearsal.Conditions{OATCelsius: 25, SinceShutdown: 15 * time.Minute}
	}
	return o
}

// unseeing flies a fault with the hands of somebody who flew a sound aeroplane,
// at the same moments, and then does nothing for four minutes.
func unseeing(t *testing.T, c faultCase) []look {
	sound := begin(t, c.options(t, procedure.Demonstrate, 1))
	fly(sound)
	o := c.options(t, procedure.Evaluate, 2, c.fault)
	o.Hands = rehearsal.Replayable(sound.Events())
	r := begin(t, o)
	last, _ := r.LastHand()
	var seen []look
	worst, counted := 0.0, 0
	moved := map[procedure.ControlID]procedure.Position{}
	for at := time.Duration(0); at < last+4*time.Minute && !r.Done(); at += 100 * time.Millisecond {
		r.Advance(at)
		for _, e := range r.Events()[counted:] {
			switch {
			case e.Kind == procedure.EventMove:
				moved[procedure.ControlID(e.Subject)] = procedure.Position(e.Value)
			case e.Subject == string(procedure.InsideWinding):
				worst = max(worst, e.Value)
			}
		}
		counted = len(r.Events())
		snap := r.Snapshot()
		l := look{least: snap.Aircraft.MinBusVolts, noise: r.Noise(), st: r.State(), worst: worst,
			shown: map[procedure.InstrumentID]float64{}, moved: maps.Clone(moved)}
		for i := range snap.Aircraft.Instruments {
			l.shown[snap.Aircraft.Instruments[i].ID] = snap.Readings[i]
		}
		seen = append(seen, l)
	}
	return seen
}

func TestFaultsShowTheirSigns(t *testing.T) {
	for _, c := range faultCases {
		t.Run(c.name(), func(t *testing.T) {
			seen := unseeing(t, c)
			when := func(s sign) int { return slices.IndexFunc(seen, func(l look) bool { return s.is(&l) }) }
			for _, s := range c.signs {
				if when(s) < 0 {
					t.Errorf("sign: it was never seen that %s", s.what)
				}
			}
			for _, s := range c.never {
				if i := when(s); i >= 0 {
					t.Errorf("sign: at %v it was seen that %s", seen[i].st.At, s.what)
				}
			}
			if end := &seen[len(seen)-1]; !c.left.is(end) {
				t.Errorf("left alone: it is not so that %s; outcome %q, breaches %v", c.left.what, end.st.Outcome, end.st.Breaches)
			}
		})
	}
}

// The way out, by somebody who sees the signs and knows the drill, prompted and
// not, is judged as right: in time, with nothing unsafe, and with an outcome
// that says so.
func TestFaultsHaveAWayOut(t *testing.T) {
	for _, c := range faultCases {
		for _, phase := range []procedure.Phase{procedure.Demonstrate, procedure.Perform, procedure.Evaluate} {
			t.Run(c.name()+"/"+string(phase), func(t *testing.T) {
				o := c.options(t, phase, 4, c.fault)
				o.Hand = rehearsal.NewDemonstrator(o.Library)
				r := begin(t, o)
				fly(r)
				st := r.State()
				if st.Outcome != c.ends {
					t.Errorf("it ended %q at %v, breaches %v, want %q", st.Outcome, st.At, st.Breaches, c.ends)
				}
				through := flowsThrough(&st)
				for _, id := range c.drills {
					if !slices.Contains(through, id) {
						t.Errorf("it went through %v and not through %q", through, id)
					}
				}
				for _, s := range st.Steps {
					if slices.Contains(c.drills, s.Flow) && s.Status == procedure.StatusDone && s.Verdict != procedure.OnTime {
						t.Errorf("%s of %s came out %q after %v", s.Key, s.Flow, s.Verdict, s.Elapsed)
					}
				}
			})
		}
	}
}

// flowsThrough lists the flows whose steps a run went through, in order.
func flowsThrough(st *procedure.State) []procedure.FlowID {
	var out []procedure.FlowID
	for _, s := range st.Steps {
		if s.Status == procedure.StatusDone && (len(out) == 0 || out[len(out)-1] != s.Flow) {
			out = append(out, s.Flow)
		}
	}
	return out
}

// Every fault that an aeroplane can have is in the table above, some flow of it
// is the answer, and no flow answers a fault that does not exist.
func TestEveryFaultHasItsDrill(t *testing.T) {
	known := map[string]bool{}
	for _, f := range powerplant.Faults() {
		known[string(f.Fault)] = true
	}
	for _, id := range []procedure.AircraftID{big, small} {
		lib := shipped.Aircraft(t, id)
		answered := map[string]bool{}
		for _, f := range lib.Flows {
			for _, fault := range f.Answers {
				answered[fault] = true
				if !known[fault] {
					t.Errorf("%s/%s answers a fault %q that there is not", id, f.ID, fault)
				}
			}
		}
		for _, f := range powerplant.Faults() {
			if slices.Contains(notOn[id], f.Fault) {
				continue
			}
			if !answered[string(f.Fault)] {
				t.Errorf("%s: no flow answers %q", id, f.Fault)
			}
			if !slices.ContainsFunc(faultCases, func(c faultCase) bool { return c.aircraft == id && c.fault == f.Fault }) {
				t.Errorf("%s: %q is not flown above", id, f.Fault)
			}
		}
	}
}

// Nothing is taken for a fault in a sound aeroplane, on a bitter day or a hot
// one, until so many attempts that the battery may be low indeed.
func TestNothingWrongCallsForNoDrill(t *testing.T) {
	since := map[string]time.Duration{"warm": 45 * time.Minute, "hot": 20 * time.Minute}
	for _, id := range []procedure.AircraftID{big, small} {
		lib := shipped.Aircraft(t, id)
		for _, f := range lib.Flows {
			if !f.Entry {
				continue
			}
			for _, oat := range []float64{-25, -10, 15, 38} {
				r := begin(t, rehearsal.Options{Library: lib, Flow: f.ID, Phase: procedure.Demonstrate, Seed: 3,
					Conditions: rehearsal.Conditions{OATCelsius: oat, SinceShutdown: since[f.Situation]}})
				fly(r)
				st := r.State()
				for _, d := range st.Drills {
					if g, _ := lib.Flow(d.Flow); g.Signs != nil && attemptsBefore(&st, d.At) <= 3 {
						t.Errorf("%s/%s at %g degC went over to %q at %v", id, f.ID, oat, d.Flow, d.At)
					}
				}
			}
		}
	}
}

func attemptsBefore(st *procedure.State, at time.Duration) int {
	n := 0
	for _, a := range st.Attempts {
		if a.Engaged < at {
			n++
		}
	}
	return n
}

// Whatever is wrong, in whatever flow, a demonstration comes to an end: it never
// stands and waits for what cannot come.
func TestTheDemonstratorNeverStandsStill(t *testing.T) {
	for _, id := range []procedure.AircraftID{big, small} {
		lib := shipped.Aircraft(t, id)
		for _, f := range lib.Flows {
			for _, fault := range powerplant.Faults() {
				if !f.Entry {
					continue
				}
				r := begin(t, rehearsal.Options{Library: lib, Flow: f.ID, Phase: procedure.Demonstrate, Seed: 5,
					Conditions: rehearsal.Conditions{OATCelsius: 10}, Faults: []powerplant.Fault{fault.Fault}})
				for at := time.Duration(0); at < 2*time.Hour && !r.Done(); at += 30 * second {
					r.Advance(at)
				}
				if st := r.State(); !r.Done() {
					step := ""
					if st.Present < len(st.Steps) {
						step = st.Steps[st.Present].Key
					}
					t.Errorf("%s/%s with %s: still at %q after %v and %d attempts", id, f.ID, fault.Fault, step, st.At, len(st.Attempts))
				}
			}
		}
	}
}

// An aeroplane whose fuel selector was left off shows it, and turning it on is
// all there is to do.
func TestFuelSelector(t *testing.T) {
	lib := shipped.Aircraft(t, big)
	off := procedure.Event{Kind: procedure.EventMove, Subject: string(procedure.ControlSelector), Value: 0}
	r := begin(t, rehearsal.Options{Library: lib, Flow: "cold", Phase: procedure.Evaluate, Seed: 1,
		Conditions: rehearsal.Conditions{OATCelsius: 15}, Hand: rehearsal.NewDemonstrator(lib)})
	r.Input(off)
	most := math.Inf(-1)
	for at := time.Duration(0); at < 40*second; at += 100 * time.Millisecond {
		r.Advance(at)
		st := r.State()
		for i, in := range lib.Aircraft.Instruments {
			if in.ID == procedure.InstrumentFuelFlow && st.Holding {
				most = max(most, r.Snapshot().Readings[i])
			}
		}
	}
	if most > 0.1 {
		t.Errorf("with the selector off %.2f g/s flowed in the prime", most)
	}
	if through := func() []procedure.FlowID { st := r.State(); return flowsThrough(&st) }(); !slices.Contains(through, "no-fuel-flow") {
		t.Errorf("it went through %v and never asked where the fuel is", through)
	}
	if i := slices.IndexFunc(lib.Aircraft.Controls, func(c procedure.Control) bool { return c.ID == procedure.ControlSelector }); r.Snapshot().Positions[i] != 1 {
		t.Error("the drill did not turn the selector on")
	}
}
