package powerplant

import (
	"math"
	"testing"
	"time"
)

var mild = Conditions{OATCelsius: 15}

func TestEveryFaultIsListedAndSet(t *testing.T) {
	for _, f := range Faults() {
		if f.Name == "" || f.Signs == "" || f.WayOut == "" {
			t.Errorf("%s has no name, signs or way out", f.Fault)
		}
		mustNew(t, injected180(), mild, f.Fault)
	}
	if err := mustNew(t, injected180(), mild).Inject("gremlins"); err == nil {
		t.Error("an unknown fault was set")
	}
}

func TestBoostPumpDead(t *testing.T) {
	c := sit(t, injected180(), mild, FaultPumpDead)
	c.prime(4.2)
	if r := c.p.Readings(); r.FuelPressureKPa > 1 || r.FuelFlowGPS > 0.05 {
		t.Errorf("signs: %.0f kPa and %.2f g/s, want nothing", r.FuelPressureKPa, r.FuelFlowGPS)
	}
	if c.crank(6) {
		t.Error("it fired on no prime")
	}
	// The way out: the engine's own pump primes while cranking.
	c.set(func(x *Controls) { x.Mixture = 1 })
	fired := false
	for range 3 {
		c.wait(45)
		if fired = c.crank(6); fired {
			break
		}
	}
	if c.catch(); !fired || !c.runs() {
		t.Error("way out: cranking with the mixture forward did not start it")
	}
}

func TestNoFuel(t *testing.T) {
	c := sit(t, injected180(), mild, FaultNoFuel)
	c.prime(4.2)
	if r := c.p.Readings(); r.FuelPressureKPa > 1 || r.FuelFlowGPS > 0.05 {
		t.Errorf("signs: %.0f kPa and %.2f g/s, want nothing", r.FuelPressureKPa, r.FuelFlowGPS)
	}
	c.set(func(x *Controls) { x.Mixture = 1 })
	if c.crank(6) {
		t.Error("it fired on nothing")
	}
	// The selector left off looks the same, and turning it on is the way out.
	c = sit(t, injected180(), mild)
	c.set(func(x *Controls) { x.FuelOff = true })
	c.prime(4.2)
	if r := c.p.Readings(); r.FuelFlowGPS > 0.05 || c.crank(6) {
		t.Errorf("selector off: %.2f g/s", r.FuelFlowGPS)
	}
	c.wait(45)
	c.set(func(x *Controls) { x.FuelOff = false })
	if !c.start(4.2) {
		t.Error("way out: with the selector on it did not start")
	}
}

func TestVapourInLines(t *testing.T) {
	hot := Conditions{OATCelsius: 25, SinceShutdown: 15 * time.Minute}
	// Signs: the flow wanders far below the usual.
	c := sit(t, injected180(), hot, FaultVapourInLines)
	c.set(func(x *Controls) { x.BoostPump, x.ThrottleMM = true, 28 })
	c.wait(2)
	c.set(func(x *Controls) { x.Mixture = 1 })
	c.wait(1.4)
	well := sit(t, injected180(), hot)
	well.set(func(x *Controls) { x.BoostPump, x.ThrottleMM = true, 28 })
	well.wait(2)
	well.set(func(x *Controls) { x.Mixture = 1 })
	well.wait(1.4)
	if sick, usual := c.p.Readings().FuelFlowGPS, well.p.Readings().FuelFlowGPS; sick > 0.6*usual {
		t.Errorf("signs: %.2f g/s with vapour in the lines and %.2f without", sick, usual)
	}
	failed, cleared := 0, 0
	for seed := range uint64(10) {
		p, err := New(injected180(), hot, seed, FaultVapourInLines)
		if err != nil {
			t.Fatal(err)
		}
		c := &cockpit{t: t, p: p, c: Controls{Battery: true, Magnetos: MagnetosBoth}}
		if !c.start(1.4) {
			failed++
		}
		// The way out: pump on and mixture forward until the flow is steady,
		// and only then the prime.
		p, err = New(injected180(), hot, seed, FaultVapourInLines)
		if err != nil {
			t.Fatal(err)
		}
		c = &cockpit{t: t, p: p, c: Controls{Battery: true, Magnetos: MagnetosBoth}}
		c.set(func(x *Controls) { x.BoostPump, x.ThrottleMM = true, 28 })
		c.wait(2)
		c.set(func(x *Controls) { x.Mixture = 1 })
		if !c.until(10, func() bool { return c.p.Readings().FuelFlowGPS > 2 }) {
			t.Fatalf("seed %d: the flow never came up", seed)
		}
		c.wait(0.5)
		c.set(func(x *Controls) { x.Mixture, x.ThrottleMM = 0, 9 })
		c.wait(4)
		if c.crank(6) {
			if c.catch(); c.runs() {
				cleared++
			}
		}
	}
	if failed < 7 || cleared < 8 {
		t.Errorf("the ordinary hot prime failed in %d of 10, the way out worked in %d of 10", failed, cleared)
	}
}

func TestWeakBattery(t *testing.T) {
	c := sit(t, injected180(), Conditions{OATCelsius: 0}, FaultWeakBattery)
	if v := c.p.Readings().BusVolts; v >= 24.2 || v < 22 {
		t.Errorf("signs: %.1f V before the start, want less than 24.2", v)
	}
	slow := c.turns(4)
	if well := sit(t, injected180(), Conditions{OATCelsius: 0}).turns(4); slow > 0.8*well {
		t.Errorf("signs: it cranks at %.0f rpm and a good battery at %.0f", slow, well)
	}
	c.set(func(x *Controls) { x.ExternalPower = true })
	c.wait(60)
	if !c.start(4.2) {
		t.Error("way out: external power did not start it")
	}
}

// turns cranks with the ignition off and returns the mean rpm.
func (c *cockpit) turns(s float64) float64 {
	before := c.p.halfTurns
	c.lowVolts = 1e9
	c.set(func(x *Controls) { x.Magnetos, x.Starter = MagnetosOff, true })
	c.wait(s)
	c.set(func(x *Controls) { x.Magnetos, x.Starter = MagnetosBoth, false })
	return float64(c.p.halfTurns-before) / 2 / s * 60
}

func TestDeadBattery(t *testing.T) {
	c := sit(t, injected180(), mild, FaultDeadBattery)
	if v := c.p.Readings().BusVolts; v > 23.5 {
		t.Errorf("signs: %.1f V before the start, want far below 24.2", v)
	}
	lights := 0
	lit := false
	c.set(func(x *Controls) { x.Starter = true })
	c.until(3, func() bool {
		if now := c.p.Readings().StarterLight; now != lit {
			lit = now
			lights++
		}
		return false
	})
	c.set(func(x *Controls) { x.Starter = false })
	if lights < 8 {
		t.Errorf("signs: the contactor changed %d times in 3 s, want it to chatter", lights)
	}
	if c.p.halfTurns > 1 {
		t.Errorf("signs: a dead battery turned the engine %d half turns", c.p.halfTurns)
	}
	c.set(func(x *Controls) { x.ExternalPower = true })
	if !c.start(4.2) {
		t.Error("way out: external power did not start it")
	}
}

func TestSulphatedBatteryReadsWellUntilItCranks(t *testing.T) {
	c := sit(t, injected180(), mild, FaultSulphated)
	if v := c.p.Readings().BusVolts; v < 24.2 {
		t.Errorf("signs: %.1f V before the start, want at least 24.2", v)
	}
	slow := c.turns(3)
	well := sit(t, injected180(), mild)
	fast := well.turns(3)
	if c.lowVolts > 16 || well.lowVolts < c.lowVolts+2 {
		t.Errorf("signs: the bus dips to %.1f V and a good battery's to %.1f, want under 16", c.lowVolts, well.lowVolts)
	}
	if slow > 0.7*fast {
		t.Errorf("signs: it cranks at %.0f rpm and a good battery at %.0f", slow, fast)
	}
	c.set(func(x *Controls) { x.ExternalPower = true })
	c.wait(45)
	if !c.start(4.2) {
		t.Error("way out: external power did not start it")
	}
}

func TestStarterDoesNotEngage(t *testing.T) {
	engaged := 0
	for seed := range uint64(10) {
		p, err := New(injected180(), mild, seed, FaultDriveSticks)
		if err != nil {
			t.Fatal(err)
		}
		c := &cockpit{t: t, p: p, c: Controls{Battery: true, Magnetos: MagnetosBoth}}
		c.prime(4.2)
		for range 6 {
			c.set(func(x *Controls) { x.Starter = true })
			c.wait(1)
			if p.Readings().RPM > 0 {
				engaged++
				break
			}
			if r := p.Readings(); !r.StarterLight || r.Amperes > -20 {
				t.Errorf("signs: starter light %v, %.0f A, want it lit and a whirr", r.StarterLight, r.Amperes)
			}
			c.set(func(x *Controls) { x.Starter = false })
			c.wait(5)
		}
	}
	if engaged < 7 {
		t.Errorf("way out: trying again engaged it in %d of 10", engaged)
	}
}

func TestStarterStaysEngaged(t *testing.T) {
	c := sit(t, injected180(), mild, FaultStaysEngaged).mustStart()
	r := c.p.Readings()
	if !r.StarterLight || r.Amperes > -20 {
		t.Errorf("signs: starter light %v and %.0f A after the release", r.StarterLight, r.Amperes)
	}
	left := sit(t, injected180(), mild, FaultStaysEngaged).mustStart()
	left.wait(180)
	if !left.p.Inside().StarterBurntOut {
		t.Errorf("left engaged for three minutes the starter is whole at %.0f degC", left.p.Inside().WindingC)
	}
	c.set(func(x *Controls) { x.Mixture, x.Battery = 0, false })
	c.wait(20)
	if in := c.p.Inside(); in.StarterEngaged || in.StarterBurntOut || c.p.Readings().RPM > 0 {
		t.Errorf("way out: engaged %v, burnt out %v, %.0f rpm", in.StarterEngaged, in.StarterBurntOut, c.p.Readings().RPM)
	}
}

func (c *cockpit) meanRPM(s float64) float64 {
	sum, looks := 0.0, 0
	c.until(s, func() bool { sum += c.p.Readings().RPM; looks++; return false })
	return sum / float64(looks)
}

func TestRightMagnetoDead(t *testing.T) {
	c := sit(t, injected180(), mild, FaultRightMagneto).mustStart()
	c.set(func(x *Controls) { x.Magnetos = MagnetoRight })
	c.wait(2)
	if in := c.p.Inside(); in.Firing > 0.2 {
		t.Errorf("signs: on R it fires %.2f of its charges", in.Firing)
	}
	// On a sound engine each magneto alone costs a little.
	well := sit(t, injected180(), mild).mustStart()
	well.set(func(x *Controls) { x.ThrottleMM = 24 })
	well.wait(20)
	both := well.meanRPM(5)
	well.set(func(x *Controls) { x.Magnetos = MagnetoRight })
	well.wait(5)
	if drop := both - well.meanRPM(5); drop < 25 || drop > 150 {
		t.Errorf("a sound engine drops %.0f rpm on one magneto, want 25 to 150 (common practice, no source)", drop)
	}
}

// Neither sparks at cranking speed: the left has the only impulse coupling.
func TestLeftMagnetoDeadOrCouplingFailed(t *testing.T) {
	for _, f := range []Fault{FaultLeftMagneto, FaultImpulse} {
		c := sit(t, injected180(), mild, f)
		c.prime(4.2)
		before := c.p.halfTurns
		if c.crank(6) {
			t.Errorf("%s: it fired", f)
		}
		if turned := c.p.halfTurns - before; turned < 15 {
			t.Errorf("%s: signs: only %d half turns, want it to crank well", f, turned)
		}
		in := c.p.Inside()
		if in.Firings != 0 || in.ChargeFraction < in.LeanLimit {
			t.Errorf("%s: %d firings at %.3f vapour, want none although it would burn", f, in.Firings, in.ChargeFraction)
		}
		o := Fly(mustNew(t, injected180(), mild, f), Technique{Prime: seconds(4.2)})
		if o.Reason != ReasonNoSpark {
			t.Errorf("%s: reason is %q", f, o.Reason)
		}
	}
}

func TestNoOilPressure(t *testing.T) {
	c := sit(t, injected180(), mild, FaultNoOilPressure).mustStart()
	c.wait(18)
	if r := c.p.Readings(); r.OilPressureKPa > 5 {
		t.Errorf("signs: %.0f kPa half a minute after the start", r.OilPressureKPa)
	}
	// The way out: mixture to cut-off within 30 s, and nothing is worn.
	c.set(func(x *Controls) { x.Mixture = 0 })
	c.wait(30)
	if in := c.p.Inside(); in.BearingWear > 0 || c.p.Readings().RPM > 0 {
		t.Errorf("way out: wear %.2f, %.0f rpm", in.BearingWear, c.p.Readings().RPM)
	}
	left := sit(t, injected180(), mild, FaultNoOilPressure).mustStart()
	left.wait(240)
	if in := left.p.Inside(); in.BearingWear < 1 || left.p.Readings().RPM > 0 {
		t.Errorf("left running dry for four minutes: wear %.2f, %.0f rpm, want it seized", in.BearingWear, left.p.Readings().RPM)
	}
}

func TestAlternatorDead(t *testing.T) {
	volts := func(faults ...Fault) Readings {
		c := sit(t, injected180(), mild, faults...).mustStart()
		c.set(func(x *Controls) { x.Alternator, x.BoostPump = true, false })
		c.wait(5)
		return c.p.Readings()
	}
	if r := volts(); r.BusVolts < 26.5 || r.Amperes <= 0 || r.Amperes > 45 {
		t.Errorf("a sound alternator: %.1f V, %.0f A", r.BusVolts, r.Amperes)
	}
	if r := volts(FaultAlternatorDead); r.BusVolts > 25.5 || r.Amperes >= 0 {
		t.Errorf("signs: %.1f V, %.0f A, want no charge", r.BusVolts, r.Amperes)
	}
}

func TestMixtureLinkageStuck(t *testing.T) {
	c := sit(t, injected180(), mild, FaultMixtureStuck)
	c.prime(4.2)
	if r := c.p.Readings(); r.FuelFlowGPS < 1 {
		t.Errorf("signs: %.2f g/s with the lever at cut-off, want it to flow on", r.FuelFlowGPS)
	}
	c.set(func(x *Controls) { x.BoostPump, x.FuelOff = false, true })
	c.wait(10)
	if r := c.p.Readings(); r.FuelFlowGPS > 0.1 {
		t.Errorf("way out: %.2f g/s with the pump and the selector off", r.FuelFlowGPS)
	}
	// In a running engine the lever no longer stops it; the selector does.
	c = sit(t, injected180(), mild).mustStart()
	if err := c.p.Inject(FaultMixtureStuck); err != nil {
		t.Fatal(err)
	}
	c.wait(1)
	c.set(func(x *Controls) { x.Mixture = 0 })
	c.wait(10)
	if !c.runs() {
		t.Error("signs: the stuck lever stopped it")
	}
	c.set(func(x *Controls) { x.FuelOff = true; x.BoostPump = false })
	c.wait(60)
	if rpm := c.p.Readings().RPM; rpm > 0 {
		t.Errorf("way out: %.0f rpm a minute after the selector went off", rpm)
	}
}

// The drill of the aeroplane's own handbook: keep cranking, mixture to cut-off,
// throttle open, pump off.
func TestInductionFire(t *testing.T) {
	for _, spec := range Specs() {
		light := func() *cockpit {
			c := sit(t, spec, mild, FaultInductionFire)
			c.set(func(x *Controls) { x.ThrottleMM, x.Starter, x.BoostPump, x.Mixture = 9, true, true, 1 })
			if !c.until(20, func() bool { return c.hears(SignalFire) }) {
				t.Fatalf("%s: it never caught fire", spec.Name)
			}
			if !c.p.Readings().Smoke {
				t.Errorf("%s: signs: no smoke", spec.Name)
			}
			return c
		}
		c := light()
		c.set(func(x *Controls) { x.Mixture, x.ThrottleMM, x.BoostPump = 0, spec.Throttle.TravelMM, false })
		if !c.until(15, func() bool { return c.p.Inside().Fire == 0 }) {
			t.Errorf("%s: way out: after 15 s of cranking the fire is at %.2f", spec.Name, c.p.Inside().Fire)
		}
		c = light()
		c.set(func(x *Controls) { x.Starter, x.Magnetos = false, MagnetosOff })
		c.wait(10)
		if in := c.p.Inside(); in.Fire < 0.5 {
			t.Errorf("%s: left alone for 10 s with the pump on the fire is at %.2f, want it to grow", spec.Name, in.Fire)
		}
		c.wait(40)
		if in := c.p.Inside(); !in.FireOutOfHand {
			t.Errorf("%s: fed for 50 s the fire at %.2f is still in hand", spec.Name, in.Fire)
		}
	}
}

// Without the fault no fire starts unless somebody over-primed.
func TestNoFireWithoutSpiltFuel(t *testing.T) {
	for seed := range uint64(100) {
		p, err := New(injected180(), mild, seed)
		if err != nil {
			t.Fatal(err)
		}
		Fly(p, Technique{Prime: seconds(4.2)})
		if in := p.Inside(); in.Fire > 0 {
			t.Fatalf("seed %d: an ordinary start set it on fire", seed)
		}
	}
}

func TestFloodedByThePreviousPilot(t *testing.T) {
	for _, cond := range []Conditions{{OATCelsius: 0}, mild, {OATCelsius: 15, SinceShutdown: 20 * time.Minute}} {
		c := sit(t, injected180(), cond, FaultFlooded)
		if in := c.p.Inside(); in.PlugsWet < 0.5 {
			t.Errorf("%+v: signs: plugs wet to %.2f", cond, in.PlugsWet)
		}
		primed, air, patience := 0, 0, 0
		for seed := range uint64(10) {
			fly := func(tech Technique) Outcome {
				p, err := New(injected180(), cond, seed, FaultFlooded)
				if err != nil {
					t.Fatal(err)
				}
				return Fly(p, tech)
			}
			if fly(Technique{Prime: seconds(4.2)}).Started {
				primed++
			}
			if fly(Technique{Method: OpenThrottle, Attempts: 3, Rest: 45 * time.Second}).Started {
				air++
			}
			if fly(Technique{Method: Patience, Attempts: 3}).Started {
				patience++
			}
		}
		if primed > 2 || air < 9 || patience < 9 {
			t.Errorf("%+v: of 10, primed again %d, by air %d, by patience %d", cond, primed, air, patience)
		}
	}
}

func TestDeadGaugesAreNotNumbers(t *testing.T) {
	p := mustNew(t, injected180(), mild)
	r := p.Readings()
	for name, v := range map[string]float64{"volts": r.BusVolts, "amperes": r.Amperes, "fuel flow": r.FuelFlowGPS, "head": r.CylinderHeadC, "oil temperature": r.OilC} {
		if !math.IsNaN(v) {
			t.Errorf("battery off: %s shows %g, want it dead", name, v)
		}
	}
	if math.IsNaN(r.RPM + r.OilPressureKPa + r.FuelPressureKPa) {
		t.Error("battery off: a gauge that needs no electricity is dead")
	}
}
