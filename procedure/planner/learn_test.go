package planner

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
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
	return flownStart{seen: Seen{Conditions: c, Prime: prime, Saw: p.judge(o)}, started: o.Started}
}

// judge is what the pilot notes: of three failures two get a reason, and it is the
// right one.
func (p pilot) judge(o powerplant.Outcome) Saw {
	switch {
	case o.Started:
		return SawStart
	case p.r.IntN(3) == 0:
		return SawFailed
	case o.Flooded:
		return SawWet
	}
	return SawLittle
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

// season is what many aeroplanes taught: how far the belief was out after so many
// starts, and what it said of each start before it was flown.
type season struct {
	plan, flow map[int]float64 // mean errors after so many starts
	within     int             // aeroplanes whose flow lay in the 90 % interval at the end
	said       calibration
}

// fly starts so many aeroplanes, drawn from the model's spread, fifty times each.
func flySeason(t *testing.T, a *Aeroplane, aeroplanes int, wander float64, looks []int) season {
	t.Helper()
	const starts = 50
	s := surrogate(t, a)
	out := season{plan: map[int]float64{}, flow: map[int]float64{}}
	for k := range aeroplanes {
		r := rand.New(rand.NewPCG(20, uint64(k)))
		z := [traitCount]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		p := pilot{aeroplane: a, traits: traitsAt(z), wander: wander, r: r}
		b := Prior()
		for n := range starts + 1 {
			if slices.Contains(looks, n) {
				out.plan[n] += planError(t, s, a, b, z) / float64(aeroplanes)
				out.flow[n] += math.Abs(b.Traits()[0].Mean-p.traits.Flow) / float64(aeroplanes)
			}
			if n == starts {
				break
			}
			f := p.start(t)
			c, err := b.Chances(s, a, f.seen.Conditions, f.seen.Prime)
			if err != nil {
				t.Fatal(err)
			}
			out.said.add(c.Start, f.started)
			if b, err = b.After(s, a, f.seen); err != nil {
				t.Fatal(err)
			}
		}
		if f := b.Traits()[0]; math.Abs(f.Mean-p.traits.Flow) < 1.645*f.SD {
			out.within++
		}
	}
	return out
}

// Aeroplanes whose traits the planner does not know are started and started, by
// pilots who prime all over the place. The error shrinks with the starts, and
// what it says of the next start comes true as often as it says.
func TestLearningFindsTheAeroplane(t *testing.T) {
	t.Parallel()
	const aeroplanes = 120
	looks := []int{0, 3, 10, 25, 50}
	got := flySeason(t, brindle180(t), aeroplanes, 0.5, looks)
	for i, n := range looks {
		t.Logf("after %2d starts: P(start) out by %.3f (root mean square over the edges), prime flow by %.1f %%", n, got.plan[n], 100*got.flow[n])
		if i > 0 && (got.plan[n] >= got.plan[looks[i-1]] || got.flow[n] >= got.flow[looks[i-1]]) {
			t.Errorf("after %d starts it knows no better than after %d", n, looks[i-1])
		}
	}
	if got.plan[3] < 0.85*got.plan[0] {
		t.Errorf("three starts moved the plan's error from %.3f to %.3f: that is much for so few", got.plan[0], got.plan[3])
	}
	if got.plan[50] > 0.6*got.plan[0] {
		t.Errorf("fifty starts left an error of %.3f of %.3f", got.plan[50], got.plan[0])
	}
	// Of 120 intervals that hold the truth in 0.9, 99 to 115 do so in 0.99 of
	// such seasons (binomial).
	t.Logf("90 %% interval of the flow held the truth in %d of %d", got.within, aeroplanes)
	if got.within < 99 {
		t.Errorf("the 90 %% interval of the flow held the truth in %d of %d aeroplanes", got.within, aeroplanes)
	}
	got.said.check(t)
}

// Inside the handbook's window nearly every start succeeds and says little: the
// package does not pretend to have learnt from it, and stays right about itself.
func TestStartsInsideTheWindowTeachLittle(t *testing.T) {
	t.Parallel()
	got := flySeason(t, brindle180(t), 20, 0.08, []int{0, 50})
	t.Logf("P(start) out by %.3f at first, %.3f after fifty starts inside the window", got.plan[0], got.plan[50])
	if got.plan[50] > 1.05*got.plan[0] {
		t.Errorf("fifty good starts made the plan worse: out by %.3f, %.3f at first", got.plan[50], got.plan[0])
	}
	got.said.check(t)
}

// One aeroplane well off the model, its pump weak and its ports holding little:
// fifty starts bring the plan, flown and not read from the surrogate, to the
// aeroplane as it flies itself.
func TestPlanOfALearntAeroplane(t *testing.T) {
	t.Parallel()
	a := brindle180(t)
	z := [traitCount]float64{-2, 0.5, -1}
	p := pilot{aeroplane: a, traits: traitsAt(z), wander: 0.5, r: rand.New(rand.NewPCG(21, 0))}
	var seen []Seen
	for range 50 {
		seen = append(seen, p.start(t).seen)
	}
	belief, err := Learn(a, seen)
	if err != nil {
		t.Fatal(err)
	}
	for _, trait := range belief.Traits() {
		t.Logf("%s %.3f ± %.3f (model 1)", trait.Name, trait.Mean, trait.SD)
	}
	t.Logf("truth %+v", p.traits)
	primes := []float64{2, 2.5, 3, 3.5, 4.2, 5, 7, 8}
	fly := func(a *Aeroplane, b *Belief) []Point {
		s, err := Question{Aeroplane: a, Conditions: powerplant.Conditions{OATCelsius: 10}, Primes: primes, Belief: b}.Chart()
		return fly(t, s, err).Rows[0].Points()
	}
	// The aeroplane itself: its own traits, and what is left to chance.
	itself := make([]float64, len(primes))
	const n = 200
	for i, prime := range primes {
		for k := range n {
			scatter := withoutTraits(powerplant.UsualScatter())
			o, err := powerplant.Trial(p.traits.of(a.Spec), powerplant.Conditions{OATCelsius: 10}, a.Technique(prime), scatter, uint64(k))
			if err != nil {
				t.Fatal(err)
			}
			if o.Started {
				itself[i] += 1.0 / n
			}
		}
	}
	model, learnt := fly(a, nil), fly(a, belief)
	var before, after float64
	for i := range primes {
		t.Logf("prime %.1f s: model %.3f, learnt %.3f, itself %.3f", primes[i], model[i].Start.Value(), learnt[i].Start.Value(), itself[i])
		before += math.Pow(model[i].Start.Value()-itself[i], 2)
		after += math.Pow(learnt[i].Start.Value()-itself[i], 2)
	}
	if math.Sqrt(after) > 0.5*math.Sqrt(before) {
		t.Errorf("fifty starts left %.3f of an error of %.3f", math.Sqrt(after), math.Sqrt(before))
	}
}

// With no starts the plan is the model's, to the last count; and the traits that
// the belief then draws from are the model's own spread.
func TestNoStartsIsTheModel(t *testing.T) {
	t.Parallel()
	a := brindle180(t)
	chart := func(b *Belief) []Point {
		s, err := Question{Aeroplane: a, Conditions: powerplant.Conditions{OATCelsius: 5}, Primes: []float64{2, 3, 6, 8}, Belief: b}.Chart()
		return fly(t, s, err).Rows[0].Points()
	}
	model := chart(nil)
	if got := chart(Prior()); !reflect.DeepEqual(got, model) {
		t.Errorf("nothing learnt: %+v, the model %+v", got, model)
	}
	drawn := Prior()
	drawn.Starts = 1 // makes the plan draw from the belief, which is still the prior
	for i, p := range chart(drawn) {
		// The 95 % intervals of two equal odds miss each other in less than one of
		// a hundred.
		if m := model[i]; p.Start.Low > m.Start.High || p.Start.High < m.Start.Low {
			t.Errorf("prime %g s: drawn from the prior %.3f, the model %.3f", p.Prime, p.Start.Value(), m.Start.Value())
		}
	}
	for i, trait := range Prior().Traits() {
		if math.Abs(trait.Mean-1) > 1e-9 || math.Abs(trait.SD-spread()[i]) > 0.02*spread()[i] {
			t.Errorf("%s: %.4f ± %.4f before any start, want 1 ± %.3f", trait.Name, trait.Mean, trait.SD, spread()[i])
		}
	}
}

// A few starts move it little, an odd one too.
func TestAFewMoveItLittle(t *testing.T) {
	t.Parallel()
	a := brindle180(t)
	s := surrogate(t, a)
	cold := powerplant.Conditions{OATCelsius: 10}
	for name, seen := range map[string][]Seen{
		"three good starts":   {{cold, 4.2, SawStart}, {cold, 4, SawStart}, {cold, 4.5, SawStart}},
		"one that flooded":    {{cold, 4.2, SawWet}},
		"one that would not":  {{cold, 4.2, SawFailed}},
		"one with too little": {{cold, 4.2, SawLittle}},
	} {
		b, err := Learn(a, seen)
		if err != nil {
			t.Fatal(err)
		}
		for _, prime := range []float64{2, 3.5, 4.2, 5, 7} {
			before, err := Prior().Chances(s, a, cold, prime)
			if err != nil {
				t.Fatal(err)
			}
			after, err := b.Chances(s, a, cold, prime)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(after.Start-before.Start) > 0.1 {
				t.Errorf("%s: P(start) at %g s went from %.3f to %.3f", name, prime, before.Start, after.Start)
			}
		}
	}
}

func TestLearningFromNonsense(t *testing.T) {
	if _, err := Learn(brindle180(t), []Seen{{Prime: -1, Saw: SawStart}}); err == nil {
		t.Error("learnt from a negative prime")
	}
	if _, err := Learn(brindle180(t), []Seen{{Conditions: powerplant.Conditions{OATCelsius: 99}, Saw: SawStart}}); err == nil {
		t.Error("learnt from 99 degC")
	}
	if _, err := Learn(aeroplane(t, "brindle-100"), nil); err == nil {
		t.Error("learnt about an engine that has no surrogate")
	}
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

// check asks that of the starts called p about p started: within three standard
// deviations of chance and 0.05 that the surrogate may be out.
func (c *calibration) check(t *testing.T) {
	t.Helper()
	for i, n := range c.n {
		if n == 0 {
			continue
		}
		said, came := c.sum[i]/float64(n), float64(c.of[i])/float64(n)
		t.Logf("said %.2f: %4d starts, %.3f started", said, n, came)
		if math.Abs(came-said) > 0.05+3*math.Sqrt(said*(1-said)/float64(n)) {
			t.Errorf("of %d starts it called %.2f, %.3f started", n, said, came)
		}
	}
}
