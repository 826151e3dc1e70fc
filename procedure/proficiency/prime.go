package proficiency

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"kickover/procedure"
)

// FewestForChance is how many holds a chance is estimated from at least.
const FewestForChance = 5

// reactionSpread is the spread, in seconds, of starting and stopping a timed
// hold by hand (American Journal of Physics 87:110, 2019: 4,304 times). It does
// not grow with the hold.
const reactionSpread = 0.10

// PrimeChance is the chance that a prime falls inside its window.
type PrimeChance struct {
	Window   procedure.Window
	N        int
	Mean, SD float64 // of the holds, in seconds
	Inside   Share   // counted, with its Wilson interval: what can be claimed
	Expected float64 // from the mean and the spread: what to expect
	// Aim is the hold to aim for with this hand, in seconds: a little below the
	// middle of the window, because a hand's spread grows with the hold.
	Aim float64
}

// ChanceOf estimates the chance from holds in seconds. Feedback moves a hand's
// mean and hardly its spread (Ryan & Robey 2002), so both are given.
func ChanceOf(holds []float64, w procedure.Window) (*PrimeChance, error) {
	if len(holds) < FewestForChance {
		return nil, fmt.Errorf("%w: %d of the %d primes that a chance needs", ErrNotEnough, len(holds), FewestForChance)
	}
	c := &PrimeChance{Window: w, N: len(holds)}
	c.Mean, c.SD = stat.MeanStdDev(holds, nil)
	inside := 0
	for _, h := range holds {
		if h >= w.Min.Seconds() && h <= w.Max.Seconds() {
			inside++
		}
	}
	c.Inside = ShareOf(inside, len(holds))
	c.Expected = chanceInside(c.Mean, c.SD, w)
	c.Aim = bestAim(math.Sqrt(max(0, c.SD*c.SD-reactionSpread*reactionSpread))/c.Mean, w)
	return c, nil
}

// chanceInside is that of a normal hold.
func chanceInside(mean, sd float64, w procedure.Window) float64 {
	if sd == 0 {
		if mean >= w.Min.Seconds() && mean <= w.Max.Seconds() {
			return 1
		}
		return 0
	}
	n := distuv.Normal{Mu: mean, Sigma: sd}
	return n.CDF(w.Max.Seconds()) - n.CDF(w.Min.Seconds())
}

// handSpread is the spread of a hold of that length by a hand whose sense of time
// has a Weber fraction.
func handSpread(hold, weber float64) float64 { return math.Hypot(weber*hold, reactionSpread) }

func bestAim(weber float64, w procedure.Window) float64 {
	best, at := -1.0, w.Ideal.Seconds()
	for aim := w.Min.Seconds(); aim <= w.Max.Seconds(); aim += 0.01 {
		if p := chanceInside(aim, handSpread(aim, weber), w); p > best+1e-12 {
			best, at = p, aim
		}
	}
	return math.Round(at*100) / 100
}
