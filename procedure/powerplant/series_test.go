package powerplant

import (
	"testing"
	"time"
)

// What a series shares between primes changes nothing: each prime, in whatever
// order, comes out as it does alone, to the last bit.
func TestSeriesIsItsTrials(t *testing.T) {
	for _, spec := range Specs() {
		for seed := range uint64(6) {
			cond := Conditions{OATCelsius: float64(8 * seed), SinceShutdown: time.Duration(seed) * 20 * time.Minute}
			s, err := NewSeries(spec, cond, StandardTechnique(spec, 0), UsualScatter(), seed)
			if err != nil {
				t.Fatal(err)
			}
			for _, prime := range []float64{1.5, 4, 4, 7, 0, 3, 0.1} {
				technique := StandardTechnique(spec, seconds(prime))
				if !(spec.FuelSystem == Injected) {
					technique.Strokes = int(prime)
				}
				alone, err := Trial(spec, cond, technique, UsualScatter(), seed)
				if err != nil {
					t.Fatal(err)
				}
				if got := s.Fly(technique.Prime, technique.Strokes); got != alone {
					t.Errorf("%s, seed %d, prime %g: %+v in a series, %+v alone", spec.Name, seed, prime, got, alone)
				}
			}
		}
	}
}

// Ended as soon as it is plain how it ends, a start ends as it does when it is
// flown to the end.
func TestSureIsSure(t *testing.T) {
	t.Parallel()
	n, started, flooded := 0, 0, 0
	for _, spec := range Specs() {
		for _, since := range []time.Duration{0, 45 * time.Minute, 20 * time.Minute} {
			for _, oat := range []float64{-15, 5, 30} {
				for seed := range uint64(12) {
					whole, err := NewSeries(spec, Conditions{OATCelsius: oat, SinceShutdown: since}, StandardTechnique(spec, 0), UsualScatter(), seed)
					if err != nil {
						t.Fatal(err)
					}
					sure := *whole
					sure.technique.UntilSure, sure.ready.t.UntilSure = true, true
					sure.rewind()
					for strokes := range 10 {
						prime := time.Duration(strokes) * time.Second
						a, b := whole.Fly(prime, strokes), sure.Fly(prime, strokes)
						if a.Started != b.Started || a.Flooded != b.Flooded || a.Fired != b.Fired {
							t.Errorf("%s, %g degC, %v, seed %d, prime %d: to the end %+v, until sure %+v", spec.Name, oat, since, seed, strokes, a, b)
						}
						n++
						if a.Started {
							started++
						}
						if a.Flooded {
							flooded++
						}
					}
				}
			}
		}
	}
	t.Logf("%d trials, %d started, %d flooded", n, started, flooded)
	if started < n/10 || flooded < n/10 {
		t.Errorf("of %d trials %d started and %d flooded: too few of each to say", n, started, flooded)
	}
}
