package powerplant

import "testing"

// Cold and discharge slow the starter down: common practice, no source.
func TestBatteryAndOilDecideHowItCranks(t *testing.T) {
	crank := func(cond Conditions) float64 {
		t.Helper()
		return sit(t, injected180(), cond).turns(4)
	}
	last := 0.0
	for _, charge := range []float64{0.3, 0.5, 0.7, 1} {
		rpm := crank(Conditions{OATCelsius: 20, BatteryCharge: charge})
		if rpm <= last {
			t.Errorf("charged to %.1f it cranks at %.0f rpm, no faster than with less", charge, rpm)
		}
		last = rpm
	}
	if rpm := crank(Conditions{OATCelsius: -20, BatteryCharge: 0.3}); rpm > 40 {
		t.Errorf("a battery a third full at -20 degC cranks at %.0f rpm, want it to fail", rpm)
	}
	warm, cold := crank(Conditions{OATCelsius: 20}), crank(Conditions{OATCelsius: -20})
	if cold > 0.85*warm {
		t.Errorf("it cranks at %.0f rpm at 20 degC and %.0f at -20, want it slower", warm, cold)
	}
	thick := crank(Conditions{OATCelsius: -15, OilGrade: OilGrade100})
	if thin := crank(Conditions{OATCelsius: -15, OilGrade: OilGrade65}); thin <= thick {
		t.Errorf("at -15 degC it cranks at %.0f rpm in grade 65 and %.0f in grade 100", thin, thick)
	}
}

// Under-primed: half the prime again, once.
func TestHalfThePrimeAgain(t *testing.T) {
	for _, oat := range []float64{0, 15, 30} {
		failed, mended := 0, 0
		for seed := range uint64(30) {
			p, err := New(injected180(), cold(oat), seed)
			if err != nil {
				t.Fatal(err)
			}
			c := &cockpit{t: t, p: p, c: Controls{Battery: true, Magnetos: MagnetosBoth}}
			if c.start(1) {
				continue
			}
			failed++
			c.wait(45)
			if c.start(2.1) {
				mended++
			}
		}
		if failed < 20 || float64(mended) < 0.85*float64(failed) {
			t.Errorf("at %g degC 1 s of prime failed in %d of 30, half a prime again mended %d", oat, failed, mended)
		}
	}
}
