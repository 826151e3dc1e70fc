package powerplant

import (
	"testing"
	"time"
)

// The hand primer: two to four strokes cold, none warm, many flood. Common
// practice, no source.
func TestStrokesTable(t *testing.T) {
	t.Parallel()
	spec := carburetted100()
	for _, target := range []struct {
		cond        Conditions
		strokes     []int
		least, most float64
	}{
		{cold(0), []int{2, 3, 4}, 0.9, 1},
		{cold(20), []int{2, 3, 4}, 0.9, 1},
		{cold(0), []int{0}, 0, 0.1},
		{cold(20), []int{0}, 0, 0.5},
		{cold(0), []int{10}, 0, 0.3},
		{cold(20), []int{10}, 0, 0.3},
		{after(45), []int{0}, 0.9, 1},
		{after(45), []int{6}, 0, 0.5},
		{after(20), []int{0}, 0.9, 1},
		{after(20), []int{5}, 0, 0.5},
	} {
		for _, n := range target.strokes {
			p, _ := chance(t, spec, target.cond, Technique{Strokes: n}, 200)
			t.Logf("%3.0f degC, %8v after shutdown, %2d strokes: P(start) %.3f", target.cond.OATCelsius, target.cond.SinceShutdown, n, p)
			if p < target.least || p > target.most {
				t.Errorf("%+v, %d strokes: P(start) %.3f, want %.2f to %.2f", target.cond, n, p, target.least, target.most)
			}
		}
	}
}

// Flooded: mixture at cut-off, throttle open, crank; when it fires, reverse both.
func TestCarburettorClearsByAir(t *testing.T) {
	for _, cond := range []Conditions{cold(0), cold(20), after(20)} {
		p, _ := chance(t, carburetted100(), cond, Technique{Method: OpenThrottle, Overstrokes: 10, Crank: 10 * time.Second, Attempts: 3}, 200)
		if p < 0.9 {
			t.Errorf("%+v: cleared in %.3f, want 0.9", cond, p)
		}
	}
}

// A stroke needs about a second to fill; pumped fast it sends little.
func TestPrimerFillsSlowly(t *testing.T) {
	sent := func(hold time.Duration) float64 {
		p := mustNew(t, carburetted100(), Conditions{OATCelsius: 10})
		p.SetControls(Controls{Primer: 1})
		p.Advance(hold)
		p.SetControls(Controls{})
		p.Advance(100 * time.Millisecond)
		in := p.Inside()
		return in.FilmLightG + in.FilmHeavyG
	}
	full := carburetted100().Carburettor.PrimerGrams
	if slow := sent(time.Second); slow < 0.85*full {
		t.Errorf("a stroke held for a second sends %.2f g of %.2f", slow, full)
	}
	if fast := sent(100 * time.Millisecond); fast > 0.4*full {
		t.Errorf("a stroke held for a tenth of a second sends %.2f g of %.2f", fast, full)
	}
}

// Pumping the throttle of a still engine squirts fuel that nothing carries up:
// it lies in the airbox, where a backfire lights it.
func TestPumpingTheThrottleSpillsFuel(t *testing.T) {
	p := mustNew(t, carburetted100(), Conditions{OATCelsius: 10})
	for range 8 {
		p.SetControls(Controls{ThrottleMM: 60})
		p.Advance(time.Second)
		p.SetControls(Controls{})
		p.Advance(time.Second)
	}
	if in := p.Inside(); in.PuddleG < p.spec.Fire.PuddleGrams || in.FilmLightG+in.FilmHeavyG > 0.5 {
		t.Errorf("pumped: %.1f g spilt and %.1f g at the ports, want it spilt", in.PuddleG, in.FilmLightG+in.FilmHeavyG)
	}
	if !p.Readings().Drips {
		t.Error("spilt fuel does not drip")
	}
}

func TestTwelveVolts(t *testing.T) {
	c := sit(t, carburetted100(), Conditions{OATCelsius: 15})
	if v := c.p.Readings().BusVolts; v < 12.1 || v > 13 {
		t.Errorf("a well-kept battery shows %.1f V before the start, want 12.1 to 13", v)
	}
	o := Fly(c.p, Technique{Strokes: 3, RunOn: 20 * time.Second})
	if !o.Started {
		t.Fatalf("it did not start: %s", o.Reason)
	}
	if rpm := c.p.Readings().RPM; rpm < 850 || rpm > 1150 {
		t.Errorf("it settles at %.0f rpm with the throttle cracked 6 mm, want about 1000", rpm)
	}
	if kpa := c.p.Readings().OilPressureKPa; kpa < 170 {
		t.Errorf("oil pressure is %.0f kPa 20 s after the start", kpa)
	}
	controls := c.p.Controls()
	controls.Alternator = true
	c.p.SetControls(controls)
	c.p.Advance(2 * time.Second)
	if r := c.p.Readings(); r.BusVolts < 13.5 || r.Amperes <= 0 {
		t.Errorf("alternator on: %.1f V and %.0f A, want 14 V and a charge", r.BusVolts, r.Amperes)
	}
}
