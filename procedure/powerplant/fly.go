package powerplant

import (
	"math"
	"time"
)

// observeEvery is how often the simulated pilot looks and listens.
const observeEvery = 8 * StepSize

// flight is one simulated pilot at the controls.
type flight struct {
	p        *Plant
	t        Technique
	c        Controls
	detector Detector
	out      Outcome

	fired        bool
	firedAt      time.Duration
	sum          float64 // of the charges' vapour fractions
	charges      int64
	rich         int64 // charges above the rich limit
	halfTurns    int64
	lastFraction float64
}

// Fly lets a simulated pilot of a technique start a plant that stands still,
// without scatter.
func Fly(p *Plant, technique Technique) Outcome {
	f := &flight{p: p, t: technique.withDefaults(p.spec), c: p.controls}
	f.c.Battery, f.c.Magnetos = true, MagnetosBoth
	f.set()
	f.out.PeakC = p.winding
	begin := p.Elapsed()
	if f.t.Overprime > 0 {
		f.prime(f.t.Overprime, 0)
		f.attempt(false)
		f.pump(false)
	}
	f.out.Attempts, f.out.Cranked, f.out.Fired = 0, 0, false
	if f.t.Method == PrimeAndCrank {
		f.prime(f.t.Prime, f.t.Strokes)
		f.wait(f.t.Wait)
	} else {
		f.wait(f.t.Rest)
	}
	for try := range f.t.Attempts {
		if try > 0 {
			f.wait(f.t.Rest)
		}
		if f.attempt(true) {
			break
		}
		if f.t.Method != PrimeAndCrank {
			f.pump(false)
		}
	}
	f.out.Took = p.Elapsed() - begin
	f.judge()
	return f.out
}

func (f *flight) set() { f.p.SetControls(f.c) }

func (f *flight) pump(on bool) {
	f.c.BoostPump = on && f.p.spec.FuelSystem == Injected
	f.set()
}

// step advances to the pilot's next look.
func (f *flight) step() []Signal {
	for range int(observeEvery / StepSize) {
		f.p.Step()
	}
	f.out.PeakC = max(f.out.PeakC, f.p.winding)
	if f.p.halfTurns > f.halfTurns+1 { // the first charges were drawn in before this attempt
		f.count()
	}
	return f.detector.Observe(f.p.Elapsed(), f.p)
}

func (f *flight) count() {
	if x := f.p.latest.fraction; f.p.latest.air > 0 && x != f.lastFraction {
		f.lastFraction = x
		f.sum += x
		f.charges++
		if x > f.p.spec.Fuel.RichLimit {
			f.rich++
		}
	}
}

func (f *flight) wait(d time.Duration) {
	for end := f.p.Elapsed() + d; f.p.Elapsed() < end; {
		f.step()
	}
}

// prime sends fuel to the ports the way the aircraft does it.
func (f *flight) prime(d time.Duration, strokes int) {
	f.pump(true)
	f.c.ThrottleMM = f.t.PrimeMM
	f.set()
	if f.p.spec.FuelSystem == Carburetted {
		for range strokes {
			f.c.Primer = 1
			f.set()
			f.wait(time.Second)
			f.c.Primer = 0
			f.set()
			f.wait(time.Second)
		}
		f.c.Mixture = 1
		f.set()
		return
	}
	f.wait(2 * time.Second)
	if d <= 0 {
		return
	}
	f.c.Mixture = 1
	f.set()
	// A prime is timed finer than the pilot looks.
	f.p.Advance(d)
	f.c.Mixture = 0
	f.set()
}

// attempt cranks, and catches the engine if it fires. It reports whether it ran
// on. With catch false the pilot does nothing when it fires.
func (f *flight) attempt(catch bool) bool {
	f.out.Attempts++
	f.fired = false
	f.sum, f.charges, f.rich, f.halfTurns = 0, 0, 0, f.p.halfTurns
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
		if f.hears(f.step()) {
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

func (f *flight) hears(signals []Signal) bool {
	for _, s := range signals {
		if s == SignalFires && !f.fired {
			f.fired, f.firedAt = true, f.p.Elapsed()
			f.out.Fired = true
		}
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
			f.pump(true)
		}
		f.step()
	}
}

// runOn waits and reports whether it still runs.
func (f *flight) runOn() bool {
	if f.fired {
		f.wait(f.t.RunOn)
	} else {
		f.wait(2 * time.Second)
	}
	if !f.fired || f.p.rpm() < RunsRPM || f.p.smoothed < RunsFiring {
		f.c.Mixture = 0
		if f.p.spec.FuelSystem == Carburetted && f.t.Method == PrimeAndCrank {
			f.c.Mixture = 1
		}
		f.set()
		return false
	}
	f.out.Started = true
	f.out.SettledRPM = f.p.rpm()
	return true
}

// judge says why.
func (f *flight) judge() {
	o, p := &f.out, f.p
	o.WetG = p.wet
	if f.charges > 0 {
		o.Fraction = f.sum / float64(f.charges)
	}
	wet := p.wet / 4 / p.spec.Cylinder.PlugsWet
	fuel := &p.spec.Fuel
	switch {
	case o.Started:
		o.Reason = ReasonStarted
	case p.halfTurns-f.halfTurns < 4:
		o.Reason = ReasonNoCrank
	case p.fault.leftDead || p.fault.couplingFailed || p.controls.Magnetos == MagnetosOff || p.controls.Magnetos == MagnetoRight:
		o.Reason = ReasonNoSpark
	case math.Pow(wet, 4) > 1:
		o.Reason = ReasonWet
	case o.Fraction > fuel.RichLimit && o.Fired:
		o.Reason = ReasonDiedRich
	case o.Fraction > fuel.RichLimit-fuel.RichWidth:
		o.Reason = ReasonRich
	case o.Fired:
		o.Reason = ReasonDied
	case o.Fraction < fuel.LeanLimit+fuel.LeanWidth:
		o.Reason = ReasonLean
	default:
		o.Reason = ReasonChance
	}
	o.Flooded = o.Reason == ReasonWet || o.Reason == ReasonRich || o.Reason == ReasonDiedRich
}
