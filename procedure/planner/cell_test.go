package planner

import (
	"slices"
	"testing"

	"kickover/procedure/powerplant"
	"kickover/procedure/proficiency"
)

// Looking at an interval again and again and stopping when it is narrow could
// spoil it. The rule is simple enough to work its coverage out exactly: the
// chance of each count at each look, by the binomial distribution.
func TestStoppingKeepsTheIntervalHonest(t *testing.T) {
	rule := UsualPrecision()
	for _, p := range []float64{0.01, 0.03, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.97, 0.99} {
		covered, trials, widest := exactly(rule, p)
		t.Logf("P %.2f: the interval holds it in %.4f, after %.0f trials on average, half-width at most %.4f", p, covered, trials, widest)
		// A Wilson interval's own coverage swings between about 0.92 and 0.98
		// (Brown, Cai & DasGupta 2001, Statistical Science 16:101-133).
		if covered < 0.92 {
			t.Errorf("P %.2f: the interval holds it in %.4f, want 0.92", p, covered)
		}
		if widest > rule.HalfWidth+1e-9 {
			t.Errorf("P %.2f: half-width %.4f at the end, want at most %.2f", p, widest, rule.HalfWidth)
		}
	}
}

// exactly follows every count that trials with a probability can come to.
func exactly(rule Precision, p float64) (covered, meanTrials, widest float64) {
	alive := []float64{1} // by count of successes
	for n := 0; ; {
		for range rule.Batch {
			next := make([]float64, len(alive)+1)
			for k, w := range alive {
				next[k] += w * (1 - p)
				next[k+1] += w * p
			}
			alive, n = next, n+1
		}
		left := 0.0
		for k, w := range alive {
			if !rule.Enough(k, 0, n) {
				left += w
				continue
			}
			s := proficiency.ShareOf(k, n)
			if s.Low <= p && p <= s.High {
				covered += w
			}
			meanTrials += w * float64(n)
			widest = max(widest, (s.High-s.Low)/2)
			alive[k] = 0
		}
		if left == 0 {
			return covered, meanTrials, widest
		}
	}
}

// At even odds Wilson's half-width is z/2/√(n+z²): 0.05 from 381 trials on. At
// none of 36 the interval ends at z²/(n+z²) = 0.0964.
func TestTrialsGoWhereTheyAreNeeded(t *testing.T) {
	rule := UsualPrecision()
	for _, c := range []struct {
		started, flooded, trials int
		want                     bool
	}{
		{0, 0, 24, false}, {0, 0, 36, true}, {36, 0, 36, true}, {18, 18, 36, false},
		{190, 0, 380, false}, {191, 0, 382, true}, {170, 0, 340, false}, {340, 170, 340, false}, {192, 0, 384, true},
	} {
		if got := rule.Enough(c.started, c.flooded, c.trials); got != c.want {
			t.Errorf("%d started and %d flooded of %d: enough is %v, want %v", c.started, c.flooded, c.trials, got, c.want)
		}
	}
}

// A cell never flies more than the most, whatever the batch; one that is done
// lets the others of its strip go on without it.
func TestCellEnds(t *testing.T) {
	rule := Precision{HalfWidth: 0.1, Least: 20, Most: 33, Batch: 20}
	plain, open := &Cell{prime: 1, precision: rule}, &Cell{prime: 2, precision: rule}
	n := 0
	strip := &Strip{cells: []*Cell{plain, open}, first: 7, begin: func(n int) (trial, error) {
		return func(prime float64) powerplant.Outcome {
			return powerplant.Outcome{Started: prime == 1 || n%2 == 1, Flooded: prime == 2 && n%2 == 0}
		}, nil
	}}
	var landed []int
	for done := false; !done; n++ {
		var now []int
		var err error
		if now, done, err = strip.Fly(); err != nil || n > 5 {
			t.Fatalf("after %d batches: %v", n, err)
		}
		landed = append(landed, now...)
	}
	if p := open.Point(); p.Trials != 33 || p.Start.Of != 16 || p.Flood.Of != 17 {
		t.Errorf("the open cell: %+v", p)
	}
	if p := plain.Point(); p.Trials >= 33 || p.Start.Of != p.Trials {
		t.Errorf("the plain cell: %+v", p)
	}
	if !slices.Equal(landed, []int{7, 8}) {
		t.Errorf("landed %v", landed)
	}
}

// What a cell comes to does not depend on the company it is flown in.
func TestCompanyChangesNothing(t *testing.T) {
	t.Parallel()
	q := Question{Aeroplane: brindle180(t), Primes: []float64{0, 1.5, 2.25, 3, 4.5, 8}, Precision: Precision{Most: 60}, Seed: 3}
	ask := func(primes []float64) []Point {
		q.Primes = primes
		s, err := q.Chart()
		return fly(t, s, err).Rows[0].Points()
	}
	together := ask(q.Primes)
	for i, p := range []float64{0, 1.5, 2.25, 3, 4.5, 8} {
		if alone := ask([]float64{p}); alone[0] != together[i] {
			t.Errorf("prime %g s: %+v alone, %+v in company", p, alone[0], together[i])
		}
	}
}
