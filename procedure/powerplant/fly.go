package powerplant

import "time"

// observeEvery is how often the simulated pilot looks and listens.
const observeEvery = 8 * StepSize

// halfPrime is what an engine gets that is no longer flooded.
const halfPrime = 2 * time.Second

// flight is one simulated pilot at the controls.
type flight struct {
	p        *Plant
	t        Technique
	c        Controls
	detector Detector
	out      Outcome

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
	f := &flight{p: p, t: technique.withDefaults(p.spec), c: p.controls}
	f.c.Battery, f.c.Magnetos = true, MagnetosBoth
	f.set()
	f.out.PeakC = p.winding
	begin := p.Elapsed()
	if f.t.Overprime > 0 || f.t.Overstrokes > 0 {
		f.prime(f.t.Overprime, f.t.Overstrokes)
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
			if f.dry {
				// No drips, no cough: it is no longer flooded. Half a prime.
				f.prime(halfPrime, 1)
				f.wait(f.t.Wait)
				f.pump(false)
			}
		}
		if f.attempt(true) {
			break
		}
		if f.t.Method != PrimeAndCrank {
			f.pump(false)
			f.dry = !f.fired && p.puddle < DripsFrom
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
			f.set()
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
