package powerplant

import (
	"testing"
	"time"
)

const trials = 400 // a cell

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// chance is the part of seeded trials that start.
func chance(t *testing.T, spec Spec, cond Conditions, technique Technique, n int) (started float64, outcomes []Outcome) {
	t.Helper()
	outcomes = make([]Outcome, n)
	count := 0
	for seed := range n {
		o, err := Trial(spec, cond, technique, UsualScatter(), uint64(seed))
		if err != nil {
			t.Fatal(err)
		}
		if o.Started {
			count++
		}
		outcomes[seed] = o
	}
	return float64(count) / float64(n), outcomes
}

type target struct {
	cond        Conditions
	primes      []float64 // s
	least, most float64
	why         string
}

func cold(oat float64) Conditions { return Conditions{OATCelsius: oat} }

func after(minutes float64) Conditions {
	return Conditions{OATCelsius: 15, SinceShutdown: seconds(60 * minutes)}
}

// How often a prime starts the injected engine, with one set of parameters and
// ordinary pilots. The bounds are the product's own requirement.
func TestPrimeTable(t *testing.T) {
	t.Parallel()
	spec := injected180()
	var targets []target
	for _, oat := range []float64{0, 10, 20, 30} {
		targets = append(targets,
			target{cold(oat), []float64{3.5, 4.2, 5}, 0.9, 1, "the cold window"},
			target{cold(oat), []float64{1}, 0, 0.3, "far too little"},
			target{cold(oat), []float64{10}, 0, 0.3, "flooded"},
		)
	}
	targets = append(targets,
		target{after(45), []float64{1, 1.5, 2}, 0.9, 1, "the warm window"},
		target{after(45), []float64{6}, 0, 0.5, "a warm engine primed far too long"},
	)
	for _, minutes := range []float64{15, 20, 25} {
		targets = append(targets,
			target{after(minutes), []float64{1, 1.4, 1.8}, 0.85, 1, "the hot window"},
			target{after(minutes), []float64{3.5, 4.2, 5}, 0, 0.5, "a hot engine primed like a cold one"},
		)
	}
	for _, target := range targets {
		for _, s := range target.primes {
			p, _ := chance(t, spec, target.cond, Technique{Prime: seconds(s)}, trials)
			t.Logf("%3.0f degC, %8v after shutdown, prime %4.1f s: P(start) %.3f (%s)", target.cond.OATCelsius, target.cond.SinceShutdown, s, p, target.why)
			if p < target.least || p > target.most {
				t.Errorf("%+v, prime %g s: P(start) %.3f, want %.2f to %.2f: %s", target.cond, s, p, target.least, target.most, target.why)
			}
		}
	}
}

// A flooded engine clears by patience or by an open throttle, the throttle
// sooner; more prime does not clear it.
func TestFloodedTable(t *testing.T) {
	t.Parallel()
	spec := injected180()
	for _, cond := range []Conditions{cold(0), cold(15), cold(30), after(45), after(20)} {
		patience, waited := chance(t, spec, cond, Technique{Method: Patience, Overprime: seconds(10), Rest: time.Minute, Attempts: 3}, trials)
		air, opened := chance(t, spec, cond, Technique{Method: OpenThrottle, Overprime: seconds(10), Rest: 45 * time.Second, Attempts: 3}, trials)
		// The same rest, so that the throttle alone makes the difference.
		_, alike := chance(t, spec, cond, Technique{Method: OpenThrottle, Overprime: seconds(10), Rest: time.Minute, Attempts: 3}, trials)
		again, _ := chance(t, spec, cond, Technique{Prime: seconds(4), Overprime: seconds(10)}, trials)
		t.Logf("%3.0f degC, %8v after shutdown: patience %.3f in %.1f s (%.2f s of cranking), open throttle %.3f in %.1f s (%.2f s; %.2f s after the same rest), primed again %.3f",
			cond.OATCelsius, cond.SinceShutdown, patience, meanTook(waited), meanCrank(waited), air, meanTook(opened), meanCrank(opened), meanCrank(alike), again)
		if patience < 0.9 || air < 0.9 {
			t.Errorf("%+v: cleared by patience in %.3f, by air in %.3f, want 0.9", cond, patience, air)
		}
		if again > 0.1 {
			t.Errorf("%+v: priming a flooded engine again started it in %.3f, want at most 0.1", cond, again)
		}
		if meanTook(opened) >= meanTook(waited) || meanCrank(alike) >= meanCrank(waited) {
			t.Errorf("%+v: the open throttle is no sooner than patience", cond)
		}
	}
}

func meanTook(outcomes []Outcome) float64 {
	sum := 0.0
	for _, o := range outcomes {
		sum += o.Took.Seconds()
	}
	return sum / float64(len(outcomes))
}

func meanCrank(outcomes []Outcome) float64 {
	sum := 0.0
	for _, o := range outcomes {
		sum += o.Cranked.Seconds()
	}
	return sum / float64(len(outcomes))
}

// The prime that suits, the middle of those that start nine times in ten, falls
// smoothly as the engine gets warmer.
func TestBestPrimeHasNoCliff(t *testing.T) {
	t.Parallel()
	spec := injected180()
	last := 0.0
	for _, minutes := range []float64{8, 15, 30, 45, 60, 90, 120, 180, 300, 720} {
		best := bestPrime(t, spec, after(minutes))
		t.Logf("%4.0f min after shutdown: %.2f s", minutes, best)
		if best < last-0.2 {
			t.Errorf("best prime falls from %.2f to %.2f s at %g min after shutdown, want it to rise", last, best, minutes)
		}
		if last > 0 && best > last+1.2 {
			t.Errorf("best prime leaps from %.2f to %.2f s at %g min after shutdown", last, best, minutes)
		}
		last = best
	}
	if cold := bestPrime(t, spec, after(720)); cold < 3.5 || cold > 5 {
		t.Errorf("overnight the best prime is %.2f s, want it inside 3.5 to 5 s", cold)
	}
}

// bestPrime is the mean of the primes tried, weighted by how often they start
// beyond nine times in ten.
func bestPrime(t *testing.T, spec Spec, cond Conditions) float64 {
	var sum, weight float64
	for s := 0.25; s <= 7; s += 0.375 {
		p, _ := chance(t, spec, cond, Technique{Prime: seconds(s)}, 40)
		if p > 0.9 {
			sum += s * (p - 0.9)
			weight += p - 0.9
		}
	}
	if weight == 0 {
		t.Fatalf("%+v: no prime starts it nine times in ten", cond)
	}
	return sum / weight
}
