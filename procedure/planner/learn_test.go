package planner

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"kickover/procedure/powerplant"
)

// A start as somebody made it: where, how long a prime by the stopwatch, and what
// came of it.
type flownStart struct {
	seen    Seen
	started bool
}

// pilot makes up the starts of one aeroplane. Its hands are all over the place,
// as a syllabus would not have them and as a season of many pilots may: the prime
// is the handbook's ideal times a lognormal factor. wander is its sigma.
type pilot struct {
	aeroplane *Aeroplane
	traits    Traits
	wander    float64
	r         *rand.Rand
}

func (p pilot) start(t testing.TB) flownStart {
	t.Helper()
	c := powerplant.Conditions{OATCelsius: max(-15, min(35, 12+8*p.r.NormFloat64())), PressureAltitudeM: 800 * p.r.Float64()}
	switch p.r.IntN(10) {
	case 0, 1, 2, 3, 4:
		c.SinceShutdown = powerplant.Overnight
	case 5, 6, 7:
		c.SinceShutdown = time.Duration(30+90*p.r.Float64()) * time.Minute
	default:
		c.SinceShutdown = time.Duration(10+20*p.r.Float64()) * time.Minute
	}
	h, err := p.aeroplane.Handbook("", c)
	if err != nil {
		t.Fatal(err)
	}
	prime := min(12, h.Ideal*math.Exp(p.wander*p.r.NormFloat64()))
	o, err := p.aeroplane.FlyTimed(c, prime, p.traits, p.r.Uint64())
	if err != nil {
		t.Fatal(err)
	}
	f := flownStart{seen: Seen{Conditions: c, Prime: prime, Saw: SawFailed}, started: o.Started}
	if o.Started {
		f.seen.Saw = SawStart
	}
	return f
}

// edges are starts whose outcome hangs on the aeroplane: what a plan should get
// right.
func edges() []Seen {
	var out []Seen
	for _, c := range []powerplant.Conditions{{OATCelsius: -5}, {OATCelsius: 15}} {
		for _, p := range []float64{1.5, 2, 2.5, 3, 6, 7, 8} {
			out = append(out, Seen{Conditions: c, Prime: p})
		}
	}
	for _, p := range []float64{0.5, 3, 4, 5} {
		out = append(out, Seen{Conditions: powerplant.Conditions{OATCelsius: 15, SinceShutdown: 45 * time.Minute}, Prime: p})
	}
	return out
}

func surrogate(t testing.TB, a *Aeroplane) *Surrogate {
	t.Helper()
	s, err := SurrogateFor(a.Spec)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// planError is the root mean square error of P(start) over the edges: what the
// belief says, against the aeroplane itself.
func planError(t testing.TB, s *Surrogate, a *Aeroplane, b *Belief, z [traitCount]float64) float64 {
	t.Helper()
	sum, n := 0.0, 0
	for _, e := range edges() {
		st, err := standingOf(a.Spec, e.Conditions)
		if err != nil {
			t.Fatal(err)
		}
		o := s.at(st, e.Prime)
		said, err := b.Chances(s, a, e.Conditions, e.Prime)
		if err != nil {
			t.Fatal(err)
		}
		d := said.Start - o.chances(termsOf(z)).Start
		sum += d * d
		n++
	}
	return math.Sqrt(sum / float64(n))
}

// Aeroplanes whose traits the planner does not know are started and started; what
// it says of the next start is compared with what that start does.
func TestLearningFindsTheAeroplane(t *testing.T) {
	t.Parallel()
	a := brindle180(t)
	s := surrogate(t, a)
	const aeroplanes, starts = 60, 50
	looks := []int{0, 3, 10, 25, 50}
	errors := map[int]float64{}
	flow := map[int]float64{}
	within := 0
	var said calibration
	for k := range aeroplanes {
		r := rand.New(rand.NewPCG(20, uint64(k)))
		z := [traitCount]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		p := pilot{aeroplane: a, traits: traitsAt(z), wander: 0.5, r: r}
		b := Prior()
		for n := 0; ; n++ {
			for _, look := range looks {
				if n == look {
					errors[n] += planError(t, s, a, b, z) / aeroplanes
					flow[n] += math.Abs(b.Traits()[0].Mean-p.traits.Flow) / aeroplanes
				}
			}
			if n == starts {
				break
			}
			f := p.start(t)
			c, err := b.Chances(s, a, f.seen.Conditions, f.seen.Prime)
			if err != nil {
				t.Fatal(err)
			}
			said.add(c.Start, f.started)
			if b, err = b.After(s, a, f.seen); err != nil {
				t.Fatal(err)
			}
		}
		if f := b.Traits()[0]; math.Abs(f.Mean-p.traits.Flow) < 1.645*f.SD {
			within++
		}
	}
	for _, n := range looks {
		t.Logf("after %2d starts: P(start) out by %.3f (root mean square over the edges), prime flow by %.1f %%", n, errors[n], 100*flow[n])
	}
	t.Logf("90 %% interval of the flow held the truth in %d of %d", within, aeroplanes)
	said.log(t)
}

// calibration gathers what was said beforehand and what came of it.
type calibration struct {
	n, of [10]int
	sum   [10]float64
}

func (c *calibration) add(p float64, started bool) {
	i := min(9, int(p*10))
	c.n[i]++
	c.sum[i] += p
	if started {
		c.of[i]++
	}
}

func (c *calibration) log(t testing.TB) {
	for i, n := range c.n {
		if n > 0 {
			t.Logf("said %.2f: %4d starts, %.3f started", c.sum[i]/float64(n), n, float64(c.of[i])/float64(n))
		}
	}
}
