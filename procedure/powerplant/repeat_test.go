package powerplant

import (
	"fmt"
	"hash/fnv"
	"math"
	"os/exec"
	"regexp"
	"runtime"
	"sync"
	"testing"
	"time"
)

// digest is a fingerprint of a whole start: every gauge, to the last bit.
func digest(t testing.TB, spec Spec, seed uint64) string {
	p, err := New(spec, Conditions{OATCelsius: 7, SinceShutdown: 70 * time.Minute, PressureAltitudeM: 600}, seed)
	if err != nil {
		t.Fatal(err)
	}
	h := fnv.New64a()
	var d Detector
	c := Controls{Battery: true, BoostPump: true, Magnetos: MagnetosBoth, ThrottleMM: 28}
	for i := range 3000 {
		switch i {
		case 200:
			c.Mixture, c.Primer = 1, 1
		case 450:
			c.Mixture, c.Primer, c.ThrottleMM = 0, 0, 9
		case 800:
			c.Starter = true
		case 960:
			c.Mixture = 1
		case 1000:
			c.Starter, c.Alternator = false, true
		}
		p.SetControls(c)
		p.Advance(10 * time.Millisecond)
		r, in := p.Readings(), p.Inside()
		for _, v := range []float64{r.BusVolts, r.Amperes, r.FuelFlowGPS, r.RPM, r.OilPressureKPa, r.CylinderHeadC, in.NowFraction, in.WetG, in.WindingC} {
			fmt.Fprintf(h, "%x,", math.Float64bits(v))
		}
		fmt.Fprint(h, d.Observe(p.Elapsed(), p))
	}
	return fmt.Sprintf("%016x", h.Sum64())
}

// The same seed gives the same bits, alone or among others, on any number of
// processors.
func TestSameSeedSameBits(t *testing.T) {
	want := digest(t, injected180(), 7)
	for _, procs := range []int{1, 4} {
		old := runtime.GOMAXPROCS(procs)
		var wg sync.WaitGroup
		for range 4 {
			wg.Go(func() {
				if got := digest(t, injected180(), 7); got != want {
					t.Errorf("GOMAXPROCS %d: %s, want %s", procs, got, want)
				}
			})
		}
		wg.Wait()
		runtime.GOMAXPROCS(old)
	}
	if digest(t, injected180(), 8) == want {
		t.Error("another seed gave the same start")
	}
}

// A start is the same on any machine. The fingerprints were taken on amd64;
// whoever changes the model changes them.
func TestSameBitsOnAnyMachine(t *testing.T) {
	for name, want := range map[string]string{
		"injected-180":    "3b5e59080cfa204a",
		"carburetted-100": "679199fbdb6e082a",
	} {
		spec, err := ByName(name)
		if err != nil {
			t.Fatal(err)
		}
		if got := digest(t, spec, 7); got != want {
			t.Errorf("%s: fingerprint %s, want %s", name, got, want)
		}
	}
}

// Processors that can fuse a product into a sum round once instead of twice. The
// compiler must find no place here where it may: each would make a start differ
// from machine to machine.
func TestNoSumIsFused(t *testing.T) {
	fused := regexp.MustCompile(`\(([^)]*\.go:\d+)\)\tV?(FN?M(?:ADD|SUB)\w*)\t`)
	for _, env := range []string{"GOARCH=arm64", "GOAMD64=v3"} {
		cmd := exec.Command("go", "build", "-gcflags=-S", ".")
		cmd.Env = append(cmd.Environ(), "CGO_ENABLED=0", env)
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v\n%.2000s", env, err, out)
		}
		if len(out) < 1000 {
			t.Fatalf("%s: the compiler printed no code", env)
		}
		for _, m := range fused.FindAllSubmatch(out, -1) {
			t.Errorf("%s: %s at %s", env, m[2], m[1])
		}
	}
}

// What a user sees does not depend on the step: how often a prime starts it,
// when the flow levels off, how fast it cranks and idles.
func TestStepSizeChangesNothingSeen(t *testing.T) {
	type seen struct{ started, cranking, idle, flow, winding, oil float64 }
	build := func(dt float64, seed uint64) *Plant {
		p, err := newPlant(injected180(), Conditions{OATCelsius: 10}, seed, dt, nil)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	fly := func(dt, prime float64) seen {
		var s seen
		const n = 40
		for seed := range uint64(n) {
			if o := Fly(build(dt, seed), Technique{Prime: seconds(prime)}); o.Started {
				s.started += 1.0 / n
			}
		}
		p := build(dt, 4)
		p.SetControls(Controls{Battery: true, Starter: true, ThrottleMM: 9})
		p.Advance(5 * time.Second)
		s.cranking, s.winding = float64(p.halfTurns)/2/5*60, p.winding
		p = build(dt, 4)
		p.SetControls(Controls{Battery: true, BoostPump: true, ThrottleMM: 28})
		p.Advance(2 * time.Second)
		p.SetControls(Controls{Battery: true, BoostPump: true, ThrottleMM: 28, Mixture: 1})
		p.Advance(2 * time.Second)
		s.flow = p.Readings().FuelFlowGPS
		if o := Fly(p, Technique{Prime: seconds(2)}); o.Started {
			p.Advance(5 * time.Second)
			turns := p.halfTurns
			p.Advance(10 * time.Second)
			s.idle, s.oil = float64(p.halfTurns-turns)/2/10*60, p.Readings().OilPressureKPa
		}
		return s
	}
	for _, prime := range []float64{1, 4.2, 7} {
		want := fly(0.002, prime)
		for _, dt := range []float64{0.001, 0.003, 0.004, 0.005} {
			got := fly(dt, prime)
			for _, c := range []struct {
				what              string
				got, want, within float64
			}{
				{"part started", got.started, want.started, 0.15}, // 40 seeds: two sigma
				{"cranking rpm", got.cranking, want.cranking, 0.03 * want.cranking},
				{"idle rpm", got.idle, want.idle, 0.03 * want.idle},
				{"indicated flow", got.flow, want.flow, 0.03 * want.flow},
				{"winding", got.winding, want.winding, 3},
				{"oil pressure", got.oil, want.oil, 10},
			} {
				if math.Abs(c.got-c.want) > c.within {
					t.Errorf("step %g s, prime %g s: %s %.4g, at 2 ms %.4g", dt, prime, c.what, c.got, c.want)
				}
			}
		}
	}
}

// Coefficients are worked out anew only when a temperature has moved. Worked out
// in every step they give the same plant, to a hundredth at every moment of a prime
// and of a crank without spark, where no chance can part the two but one may be a
// step ahead of the other.
func TestCoefficientsAreFreshEnough(t *testing.T) {
	for _, spec := range Specs() {
		for _, since := range []time.Duration{10 * time.Minute, 45 * time.Minute, Overnight} {
			cond := Conditions{OATCelsius: 25, SinceShutdown: since}
			lazy, fresh := mustNew(t, spec, cond), mustNew(t, spec, cond)
			fresh.stale, fresh.staleCharge = 0, 0
			c := Controls{Battery: true, BoostPump: true, ThrottleMM: 28}
			apart := 0
			for i := range 1500 { // 15 s
				switch i {
				case 200:
					c.Mixture, c.Primer = 1, 1
				case 400:
					c.Mixture, c.Primer, c.ThrottleMM = 0, 0, 9
				case 700:
					c.Starter = true
				}
				for _, p := range []*Plant{lazy, fresh} {
					p.SetControls(c)
					p.Advance(10 * time.Millisecond)
				}
				a, b := lazy.Inside(), fresh.Inside()
				if a.HalfTurns != b.HalfTurns {
					apart++ // one is a step ahead, and has just drawn in
					continue
				}
				for what, v := range map[string][2]float64{
					"film": {a.FilmLightG + a.FilmHeavyG, b.FilmLightG + b.FilmHeavyG}, "vapour": {a.VapourG, b.VapourG}, "wet": {a.WetG, b.WetG},
					"line": {a.LineFill, b.LineFill}, "charge": {a.NowFraction, b.NowFraction}, "winding": {a.WindingC, b.WindingC},
					"line temperature": {a.LineC, b.LineC}, "battery": {a.BatteryCharge, b.BatteryCharge},
				} {
					if math.Abs(v[0]-v[1]) > 0.01*max(0.05, math.Abs(v[1])) {
						t.Fatalf("%s, %v after shutdown, after %v: %s %.6g, worked out anew in every step %.6g", spec.Name, since, lazy.Elapsed(), what, v[0], v[1])
					}
				}
			}
			if lazy.halfTurns < 20 || apart > 30 || fresh.slow.oilAt != fresh.oil {
				t.Fatalf("%d half turns, apart in %d of 1500 looks", lazy.halfTurns, apart)
			}
		}
	}
}

func TestStepAllocatesNothing(t *testing.T) {
	for _, spec := range Specs() {
		p := mustNew(t, spec, Conditions{OATCelsius: 10})
		var d Detector
		c := Controls{Battery: true, BoostPump: true, Magnetos: MagnetosBoth, ThrottleMM: 28, Mixture: 1}
		i := 0
		if n := testing.AllocsPerRun(20000, func() {
			if i++; i == 2000 {
				c.Starter, c.ThrottleMM = true, 9
			}
			p.SetControls(c)
			p.Step()
			d.Observe(p.Elapsed(), p)
			_, _ = p.Readings(), p.Inside()
		}); n != 0 {
			t.Errorf("%s: %g allocations a step", spec.Name, n)
		}
		if p.halfTurns == 0 {
			t.Errorf("%s never turned", spec.Name)
		}
	}
}
