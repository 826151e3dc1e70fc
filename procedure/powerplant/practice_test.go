package powerplant

import (
	"testing"
	"time"
)

// Facts of the trade that every small injected engine shares. Their source is
// common practice, no source, unless a test names another.

func TestAtLeast24VoltsBeforeStart(t *testing.T) {
	c := sit(t, injected180(), Conditions{OATCelsius: 15})
	if v := c.p.Readings().BusVolts; v < 24.2 || v > 26 {
		t.Errorf("a well-kept battery shows %.1f V before the start, want 24.2 to 26", v)
	}
	c = sit(t, injected180(), Conditions{OATCelsius: 15, BatteryCharge: 0.2})
	if v := c.p.Readings().BusVolts; v > 24 {
		t.Errorf("a battery a fifth full shows %.1f V, want under 24", v)
	}
}

func TestColdPrimeStartsAndTenSecondsFlood(t *testing.T) {
	for _, s := range []float64{3, 4, 5} {
		if !sit(t, injected180(), Conditions{OATCelsius: 15}).start(s) {
			t.Errorf("a cold prime of %g s did not start it", s)
		}
	}
	c := sit(t, injected180(), Conditions{OATCelsius: 15})
	if c.start(10) {
		t.Error("a cold prime of 10 s started it")
	}
	if in := c.p.Inside(); in.PlugsWet < 0.5 {
		t.Errorf("after 10 s of prime the plugs are wet to %.2f, want at least half", in.PlugsWet)
	}
	if !c.p.Readings().Drips {
		t.Error("after 10 s of prime nothing drips")
	}
}

// levelled is how long after the mixture went forward the flow levelled off.
func levelled(t *testing.T, cond Conditions) time.Duration {
	c := sit(t, injected180(), cond)
	c.set(func(x *Controls) { x.BoostPump, x.ThrottleMM = true, 28 })
	c.wait(3)
	c.heard = nil
	c.set(func(x *Controls) { x.Mixture = 1 })
	begin := c.p.Elapsed()
	if !c.until(10, func() bool { return c.hears(SignalLevelsOff) }) {
		t.Fatalf("%+v: the flow never levelled off", cond)
	}
	return c.p.Elapsed() - begin
}

func TestFlowLevelsOffInThreeToFiveSeconds(t *testing.T) {
	for _, oat := range []float64{-10, 0, 10, 20, 30} {
		if d := levelled(t, Conditions{OATCelsius: oat}); d < 3*time.Second || d > 5*time.Second {
			t.Errorf("at %g degC the flow levels off after %v, want 3 to 5 s", oat, d)
		}
	}
	// A line still full from the last flight shows it sooner.
	hot := levelled(t, Conditions{OATCelsius: 15, SinceShutdown: 20 * time.Minute})
	if cold := levelled(t, Conditions{OATCelsius: 15}); hot >= cold {
		t.Errorf("the flow levels off after %v hot and %v cold", hot, cold)
	}
}

func TestWarmEngineWantsOneToTwoSeconds(t *testing.T) {
	for _, s := range []float64{1, 1.5, 2} {
		if !sit(t, injected180(), Conditions{OATCelsius: 15, SinceShutdown: 45 * time.Minute}).start(s) {
			t.Errorf("a warm prime of %g s did not start it", s)
		}
	}
}

// About 1000 rpm after the start is also the FAA Airplane Flying Handbook's.
func TestThousandAfterStart(t *testing.T) {
	for _, oat := range []float64{0, 10, 20, 30} {
		c := sit(t, injected180(), Conditions{OATCelsius: oat}).mustStart()
		if rpm := c.p.Readings().RPM; rpm < 900 || rpm > 1100 {
			t.Errorf("at %g degC it settles at %.0f rpm at the start mark, want about 1000", oat, rpm)
		}
	}
}

// FAA Airplane Flying Handbook: oil pressure within 30 s of the start.
func TestOilPressureWithinThirtySeconds(t *testing.T) {
	for _, oat := range []float64{-10, 0, 20, 35} {
		c := sit(t, injected180(), Conditions{OATCelsius: oat})
		c.prime(4.5)
		if !c.crank(6) {
			t.Fatalf("at %g degC it did not fire", oat)
		}
		c.set(func(x *Controls) { x.Mixture = 1 })
		begin := c.p.Elapsed()
		if !c.until(30, func() bool { return c.p.Readings().OilPressureKPa > 170 }) {
			t.Errorf("at %g degC no oil pressure after %v", oat, c.p.Elapsed()-begin)
		}
		if c.p.Inside().BearingWear > 0 {
			t.Errorf("at %g degC an ordinary start wore the bearings", oat)
		}
	}
}

// What happens when the catch is late: the prime is used up in a few seconds.
func TestLateCatchDies(t *testing.T) {
	for delay, want := range map[float64]bool{1: true, 2: true, 6: false} {
		p := mustNew(t, injected180(), Conditions{OATCelsius: 10})
		if o := Fly(p, Technique{Prime: seconds(4.2), MixtureDelay: seconds(delay)}); o.Started != want {
			t.Errorf("mixture %g s late: started is %v, want %v", delay, o.Started, want)
		}
	}
}

// A hot engine starts without a prime when the mixture goes forward while it is
// cranked, as some pilots do it.
func TestHotEngineStartsWithoutPrime(t *testing.T) {
	c := sit(t, injected180(), Conditions{OATCelsius: 15, SinceShutdown: 20 * time.Minute})
	c.set(func(x *Controls) { x.BoostPump, x.ThrottleMM, x.Mixture = true, 9, 1 })
	if !c.crank(6) {
		t.Fatal("it did not fire")
	}
	if c.catch(); !c.runs() {
		t.Error("it fired and did not run")
	}
}

func TestThinAirMeansLessFuelAndLowerIdle(t *testing.T) {
	t.Parallel()
	idle := func(h float64) float64 {
		c := sit(t, injected180(), Conditions{OATCelsius: 10, PressureAltitudeM: h}).mustStart()
		sum, looks := 0.0, 0
		c.until(5, func() bool { sum += c.p.Readings().RPM; looks++; return false })
		return sum / float64(looks)
	}
	low, middle, high := idle(0), idle(1500), idle(3000)
	if !(low > middle+15 && middle > high+15) {
		t.Errorf("idle is %.0f, %.0f and %.0f rpm at 0, 1500 and 3000 m, want it to fall", low, middle, high)
	}
	best := func(h float64) float64 {
		return bestPrime(t, injected180(), Conditions{OATCelsius: 10, PressureAltitudeM: h})
	}
	if a, b := best(0), best(3000); b >= a {
		t.Errorf("the best prime is %.2f s at sea level and %.2f s at 3000 m, want it shorter", a, b)
	}
}

// Preheat thins the oil, so that the engine turns faster and oil comes sooner.
func TestPreheatHelpsInTheCold(t *testing.T) {
	turn := func(preheat time.Duration) (rpm, oil float64) {
		c := sit(t, injected180(), Conditions{OATCelsius: -20, Preheat: preheat})
		c.set(func(x *Controls) { x.Magnetos, x.Starter = MagnetosOff, true })
		c.wait(1)
		turns := c.p.halfTurns
		c.wait(4)
		return float64(c.p.halfTurns-turns) / 2 / 4 * 60, c.p.Inside().OilCSt
	}
	coldRPM, coldOil := turn(0)
	warmRPM, warmOil := turn(time.Hour)
	if warmRPM < coldRPM+15 || warmOil > coldOil/4 {
		t.Errorf("preheat: %.0f to %.0f rpm and %.0f to %.0f cSt, want a clear gain", coldRPM, warmRPM, coldOil, warmOil)
	}
}
