package powerplant

import (
	"testing"
	"time"
)

// coldStart flies one whole cold start, from still to settled, and tells how
// much simulated time it took.
func coldStart(b testing.TB, spec Spec, seed uint64) time.Duration {
	p, err := New(spec, Conditions{OATCelsius: 10}, seed)
	if err != nil {
		b.Fatal(err)
	}
	c := Controls{Battery: true, Magnetos: MagnetosBoth}
	hold := func(d time.Duration) {
		p.SetControls(c)
		p.Advance(d)
	}
	hold(5 * time.Second)
	c.BoostPump, c.ThrottleMM = true, 28
	hold(4 * time.Second)
	c.Mixture = 1
	hold(4200 * time.Millisecond)
	c.Mixture, c.ThrottleMM = 0, 9
	hold(8 * time.Second)
	c.Starter = true
	hold(2200 * time.Millisecond)
	c.Mixture, c.Starter, c.Alternator = 1, false, true
	hold(10 * time.Second)
	if p.rpm() < 900 {
		b.Fatalf("it did not start: %.0f rpm", p.rpm())
	}
	return p.Elapsed()
}

// BenchmarkColdStart reports simulated seconds per second over whole starts.
func BenchmarkColdStart(b *testing.B) {
	spec := injected180()
	var sum time.Duration
	b.ReportAllocs()
	for range b.N {
		sum += coldStart(b, spec, 4)
	}
	b.ReportMetric(sum.Seconds()/b.Elapsed().Seconds(), "sim-s/s")
}

func benchPlant(b *testing.B, prepare func(c *Controls, p *Plant)) {
	p, err := New(injected180(), Conditions{OATCelsius: 10}, 4)
	if err != nil {
		b.Fatal(err)
	}
	c := Controls{Battery: true, Magnetos: MagnetosBoth}
	prepare(&c, p)
	b.ReportAllocs()
	for b.Loop() {
		p.Step()
	}
	b.ReportMetric(float64(b.N)*StepSize.Seconds()/b.Elapsed().Seconds(), "sim-s/s")
}

func BenchmarkStepStopped(b *testing.B) {
	benchPlant(b, func(c *Controls, p *Plant) { p.SetControls(*c) })
}

func BenchmarkStepCranking(b *testing.B) {
	benchPlant(b, func(c *Controls, p *Plant) {
		p.spec.Starter.WindingHeat = 1e12 // cranks for ever
		c.Starter, c.ExternalPower, c.Magnetos = true, true, MagnetosOff
		p.SetControls(*c)
		p.Advance(time.Second)
	})
}

func BenchmarkStepRunning(b *testing.B) {
	benchPlant(b, func(c *Controls, p *Plant) {
		Fly(p, Technique{Prime: 4200 * time.Millisecond})
		if p.rpm() < 800 {
			b.Fatal("it did not start")
		}
	})
}

// BenchmarkTrial is one whole seeded trial, soak included.
func BenchmarkTrial(b *testing.B) {
	spec := injected180()
	b.ReportAllocs()
	for i := range b.N {
		if _, err := Trial(spec, Conditions{OATCelsius: 10}, Technique{Prime: 4 * time.Second}, UsualScatter(), uint64(i)); err != nil {
			b.Fatal(err)
		}
	}
}
