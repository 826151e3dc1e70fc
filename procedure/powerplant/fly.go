package powerplant

import "time"

// observeEvery is how often the simulated pilot looks and listens.
const observeEvery = 8 * StepSize

// halfPrime is what an engine gets that is no longer flooded.
const halfPrime = 2 * time.Second

// flight is one simulated pilot at the controls.
type flight struct {
	p   *Plant
	t   Technique
	c   Controls
	out Outcome

	begun                    time.Duration
	forward                  int64 // step at which the prime began
	strokes                  int   // of it so far
	fired                    bool
	dry                      bool // a flooded engine that gave no sign of fuel
	firedAt                  time.Duration
	halfTurns                int64   // at the attempt's beginning
	sum                      float64 // of its charges' vapour fractions
	lastFraction             float64
	charges, lean, rich, wet int // charges, and those that each cause kept from firing
}

// Fly lets a simulated pilot of a technique start a plant that stands still,
// without scatter.
func Fly(p *Plant, technique Technique) Outcome {
	f := newFlight(p, technique.withDefaults(p.spec))
	if f.t.Method == PrimeAndCrank {
		f.reachForPrime()
		f.primeTo(f.t.Prime, f.t.Strokes)
	}
	return f.start()
}

// newFlight puts a pilot into a plant and lets somebody flood it first, if the
// technique says so.
func newFlight(p *Plant, t Technique) *flight {
	f := &flight{p: p, t: t, c: p.controls, begun: p.Elapsed()}
	f.c.Battery, f.c.Magnetos = true, MagnetosBoth
	f.set()
	f.out.PeakC = p.winding
	if t.Overprime > 0 || t.Overstrokes > 0 {
		f.reachForPrime()
		f.primeTo(t.Overprime, t.Overstrokes)
		f.endPrime()
		f.attempt(false)
		f.pump(false)
		f.out.Attempts, f.out.Cranked, f.out.Fired = 0, 0, false
	}
	return f
}

// start is what follows the prime, to the end.
func (f *flight) start() Outcome {
	if f.t.Method == PrimeAndCrank {
		f.endPrime()
		f.wait(f.t.Wait)
	} else {
		f.wait(f.t.Rest)
	}
	for try := range f.t.Attempts {
		if try > 0 {
			f.restAndThink()
		}
		if f.attempt(true) {
			break
		}
		if f.t.Method != PrimeAndCrank {
			f.pump(false)
			f.dry = !f.fired && f.p.puddle < DripsFrom
		}
	}
	f.out.Took = f.p.Elapsed() - f.begun
	f.judge()
	return f.out
}

// restAndThink lets the starter cool. An engine with no drips that gave no cough
// is no longer flooded: half a prime.
func (f *flight) restAndThink() {
	f.wait(f.t.Rest)
	if !f.dry {
		return
	}
	f.reachForPrime()
	f.primeTo(halfPrime, 1)
	f.endPrime()
	f.wait(f.t.Wait)
	f.pump(false)
}

func (f *flight) set() { f.p.SetControls(f.c) }

func (f *flight) pump(on bool) {
	f.c.BoostPump = on && f.p.injected
	f.set()
}

// step advances to the pilot's next look.
func (f *flight) step() {
	for range int(observeEvery / StepSize) {
		f.p.Step()
	}
	f.out.PeakC = max(f.out.PeakC, f.p.winding)
	if f.p.halfTurns > f.halfTurns+1 { // the first charges were drawn in before this attempt
		f.count()
	}
}

// count classes the charge that came up last.
func (f *flight) count() {
	x := f.p.latest.fraction
	if f.p.latest.air == 0 || x == f.lastFraction {
		return
	}
	f.lastFraction = x
	f.sum += x
	f.charges++
	fuel := &f.p.spec.Fuel
	switch {
	case x < fuel.LeanLimit+fuel.LeanWidth:
		f.lean++
	case f.p.plugsWet() > 0.5:
		f.wet++
	case x > fuel.RichLimit-fuel.RichWidth:
		f.rich++
	}
}

func (f *flight) wait(d time.Duration) {
	for end := f.p.Elapsed() + d; f.p.Elapsed() < end; {
		f.step()
	}
}

// reachForPrime has everything ready for the prime.
func (f *flight) reachForPrime() {
	f.pump(true)
	f.c.ThrottleMM = f.t.PrimeMM
	f.set()
	if f.p.injected {
		f.wait(2 * time.Second)
	}
	f.forward, f.strokes = f.p.steps, 0
}

// primeTo sends fuel to the ports the way the aircraft does it, until so much of
// it is done in all.
func (f *flight) primeTo(d time.Duration, strokes int) {
	if !f.p.injected {
		for ; f.strokes < strokes; f.strokes++ {
			f.c.Primer = 1
			f.set()
			f.wait(time.Second)
			f.c.Primer = 0
			f.set()
			f.wait(time.Second)
		}
		return
	}
	if d > 0 {
		f.c.Mixture = 1
		f.set()
		// A prime is timed finer than the pilot looks.
		f.p.advanceTo(f.forward + f.p.stepsIn(d))
	}
}

// endPrime leaves the mixture where the cranking wants it.
func (f *flight) endPrime() {
	f.c.Mixture = 0
	if !f.p.injected {
		f.c.Mixture = 1
	}
	f.set()
}

// attempt cranks, and catches the engine if it fires. It reports whether it ran
// on. With catch false the pilot does nothing when it fires.
func (f *flight) attempt(catch bool) bool {
	f.out.Attempts++
	f.fired = false
	f.sum, f.halfTurns = 0, f.p.halfTurns
	f.charges, f.lean, f.rich, f.wet = 0, 0, 0, 0
	f.c.ThrottleMM = f.t.StartMM
	clearing := catch && f.t.Method == OpenThrottle
	if clearing {
		f.c.ThrottleMM = f.t.ClearMM
	}
	if catch && f.t.Method != PrimeAndCrank {
		f.c.Mixture = 0
	}
	f.c.Starter = true
	f.set()
	begin := f.p.Elapsed()
	for f.p.Elapsed()-begin < f.t.Crank {
		if f.step(); f.hears() {
			break
		}
	}
	if f.fired && catch {
		f.catch()
	}
	f.c.Starter = false
	f.set()
	f.out.Cranked += f.p.Elapsed() - begin
	f.out.ToFire = 0
	if f.fired {
		f.out.ToFire = f.firedAt - begin
	}
	if !catch {
		f.wait(3 * time.Second)
		return false
	}
	return f.runOn()
}

// hears reports whether it fires, as a [Detector] would.
func (f *flight) hears() bool {
	if !f.fired && f.p.smoothed >= FiresAbove {
		f.fired, f.firedAt, f.out.Fired = true, f.p.Elapsed(), true
	}
	return f.fired
}

// catch brings the mixture forward and lets the starter go, each after the
// pilot's own delay from the first firing.
func (f *flight) catch() {
	released, forward := false, false
	for !released || !forward {
		since := f.p.Elapsed() - f.firedAt
		if !released && since >= f.t.ReleaseDelay {
			released, f.c.Starter = true, false
			f.set()
		}
		if !forward && since >= f.t.MixtureDelay {
			forward, f.c.Mixture = true, 1
			f.c.ThrottleMM = f.t.StartMM
			f.set()
		}
		f.step()
	}
}

// runOn waits and reports whether it still runs.
func (f *flight) runOn() bool {
	switch {
	case f.fired:
		f.runUntil(f.t.RunOn)
	case f.out.Attempts < f.t.Attempts:
		f.wait(2 * time.Second) // the propeller comes to rest
	}
	if !f.fired || f.p.rpm() < RunsRPM || f.p.smoothed < RunsFiring {
		f.c.Mixture = 0
		if !f.p.injected && f.t.Method == PrimeAndCrank {
			f.c.Mixture = 1
		}
		f.set()
		return false
	}
	f.out.Started = true
	f.out.SettledRPM = f.p.rpm()
	return true
}

// An engine that has run like this for so long, with fuel behind it, runs on. Of
// 7,769 trials of which it was said, over all temperatures and primes, none died; a
// test says it again of 2,160 and flies each to its end.
const (
	sureFor    = 2 * time.Second
	sureRPM    = 600.0
	sureFiring = 0.75
	sureFuel   = 0.5 // of the line or the bowl
)

// runUntil lets it run for a time, or until it is plain whether it runs on.
func (f *flight) runUntil(d time.Duration) {
	end := f.p.Elapsed() + d
	since := f.p.Elapsed()
	for f.p.Elapsed() < end {
		f.step()
		if !f.t.UntilSure {
			continue
		}
		if f.p.rpm() < sureRPM || f.p.smoothed < sureFiring || f.p.fuelHere() < sureFuel {
			since = f.p.Elapsed()
		}
		if f.p.still || f.p.Elapsed()-since >= sureFor {
			return
		}
	}
}

// judge says why, from the charges of the last attempt.
func (f *flight) judge() {
	o, p := &f.out, f.p
	o.WetG = p.wet
	if f.charges > 0 {
		o.Fraction = f.sum / float64(f.charges)
	}
	o.Reason = ReasonChance
	most := f.charges / 3
	if f.lean > most {
		o.Reason, most = ReasonLean, f.lean
	}
	if f.rich > most {
		o.Reason, most = ReasonRich, f.rich
	}
	if f.wet > most {
		o.Reason = ReasonWet
	}
	switch {
	case o.Started:
		o.Reason = ReasonStarted
	case p.halfTurns-f.halfTurns < 4:
		o.Reason = ReasonNoCrank
	case f.fired && o.Reason == ReasonRich:
		o.Reason = ReasonDiedRich
	case f.fired:
		o.Reason = ReasonDied
	case p.controls.Magnetos == MagnetosOff || p.controls.Magnetos == MagnetoRight || p.fault.leftDead || p.fault.couplingFailed:
		o.Reason = ReasonNoSpark
	}
	o.Flooded = o.Reason == ReasonWet || o.Reason == ReasonRich || o.Reason == ReasonDiedRich
}
