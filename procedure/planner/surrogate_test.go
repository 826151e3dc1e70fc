package planner

import (
	"math"
	"testing"
)

// The surrogate against trials it was not fitted to: any day, prime and traits.
// Of those it gives a chance, about as many start, flood or have too little.
func TestSurrogateAgainstFreshTrials(t *testing.T) {
	t.Parallel()
	a := brindle180(t)
	s := surrogate(t, a)
	const trials = 8000
	names := [3]string{"starts", "floods", "has too little"}
	var n, came [3][10]int
	var said [3][10]float64
	score, bare := 0.0, 0.0 // logarithmic scores: the surrogate's, and of saying the mean
	started := 0
	for i := range trials {
		d, err := a.Draw(4711, i)
		if err != nil {
			t.Fatal(err)
		}
		st, err := standingOf(a.Spec, d.Conditions)
		if err != nil {
			t.Fatal(err)
		}
		odds := s.at(st, d.Prime)
		c := odds.chances(termsOf(d.Z))
		if sum := c.Start + c.Flood + c.Little; math.Abs(sum-1) > 1e-12 || c.Start < -1e-12 {
			t.Fatalf("chances %+v", c)
		}
		happened := [3]bool{d.Outcome.Started, d.Outcome.Flooded, !d.Outcome.Started && !d.Outcome.Flooded}
		for k, p := range [3]float64{c.Start, c.Flood, c.Little} {
			bin := max(0, min(9, int(p*10)))
			n[k][bin]++
			said[k][bin] += p
			if happened[k] {
				came[k][bin]++
			}
		}
		p := c.of(SawStart)
		if d.Outcome.Started {
			started++
			score -= math.Log(p)
		} else {
			score -= math.Log(1 - p)
		}
	}
	mean := float64(started) / trials
	bare = -mean*math.Log(mean) - (1-mean)*math.Log(1-mean)
	t.Logf("logarithmic score %.3f, of the bare mean %.3f", score/trials, bare)
	if score/trials > 0.3*bare {
		t.Errorf("the surrogate knows little: score %.3f of %.3f", score/trials, bare)
	}
	for k, name := range names {
		for bin, count := range n[k] {
			if count < 20 {
				continue
			}
			p, got := said[k][bin]/float64(count), float64(came[k][bin])/float64(count)
			t.Logf("%s: said %.3f, came %.3f of %d", name, p, got, count)
			if math.Abs(got-p) > 0.04+3*math.Sqrt(p*(1-p)/float64(count)) {
				t.Errorf("%s: said %.3f, came %.3f of %d", name, p, got, count)
			}
		}
	}
}

// A surrogate belongs to the parameters it was fitted to.
func TestSurrogateKnowsItsEngine(t *testing.T) {
	spec := brindle180(t).Spec
	if _, err := SurrogateFor(spec); err != nil {
		t.Fatal(err)
	}
	spec.Fuel.ReidKPa++
	if _, err := SurrogateFor(spec); err == nil {
		t.Error("a surrogate was found for an engine that has changed")
	}
}
