package planner

import (
	"math/rand/v2"

	"kickover/procedure/powerplant"
	"kickover/procedure/proficiency"
)

// Share is a proportion of trials with its 95 % interval.
type Share = proficiency.Share

// Precision says when a cell has been flown often enough. The zero value is
// [UsualPrecision].
type Precision struct {
	HalfWidth   float64 // of both intervals, at most; flying ends once it is met
	Least, Most int     // trials
	Batch       int     // trials between two looks at the intervals
}

// UsualPrecision flies 36 trials where the outcome is plain, with which none gives
// a half-width of 0.048, and up to 384 where it is open, with which even odds give
// one of 0.05.
func UsualPrecision() Precision {
	return Precision{HalfWidth: 0.05, Least: 36, Most: 384, Batch: 12}
}

func (p Precision) withDefaults() Precision {
	if p.HalfWidth <= 0 {
		p.HalfWidth = UsualPrecision().HalfWidth
	}
	if p.Most <= 0 {
		p.Most = UsualPrecision().Most
	}
	if p.Batch <= 0 {
		p.Batch = UsualPrecision().Batch
	}
	if p.Least <= 0 {
		p.Least = min(UsualPrecision().Least, p.Most)
	}
	return p
}

// Enough reports whether so many of so many trials settle the matter.
func (p Precision) Enough(started, flooded, trials int) bool {
	if trials >= p.Most {
		return true
	}
	return trials >= p.Least && p.narrow(started, trials) && p.narrow(flooded, trials)
}

func (p Precision) narrow(k, n int) bool {
	s := proficiency.ShareOf(k, n)
	return (s.High-s.Low)/2 <= p.HalfWidth
}

// Point is what a length of prime came to.
type Point struct {
	Prime  float64 // in the aeroplane's unit
	Start  Share   // started, of all trials
	Flood  Share   // flooded, of all trials; the rest had too little or died
	Trials int     // zero: not flown
}

// Cell is one length of prime in one row of a survey. It belongs to one caller
// at a time.
type Cell struct {
	prime            float64
	trial            func(prime float64, n int) (powerplant.Outcome, error)
	precision        Precision
	started, flooded int
	trials           int
}

// Fly flies the next batch of trials and reports whether the cell is done.
func (c *Cell) Fly() (done bool, err error) {
	if c.Done() {
		return true, nil
	}
	for range min(c.precision.Batch, c.precision.Most-c.trials) {
		o, err := c.trial(c.prime, c.trials)
		if err != nil {
			return false, err
		}
		c.trials++
		if o.Started {
			c.started++
		}
		if o.Flooded {
			c.flooded++
		}
	}
	return c.Done(), nil
}

// Done reports whether the cell has been flown often enough.
func (c *Cell) Done() bool { return c.precision.Enough(c.started, c.flooded, c.trials) }

// Point is what the cell has come to so far.
func (c *Cell) Point() Point {
	return Point{
		Prime: c.prime, Trials: c.trials,
		Start: proficiency.ShareOf(c.started, c.trials), Flood: proficiency.ShareOf(c.flooded, c.trials),
	}
}

// seedOf gives trial n of a survey its seed. It is the same in every cell: the
// same hands, fuel and aeroplane try each prime, so that what differs between
// cells is the prime.
func seedOf(survey uint64, n int) uint64 {
	return rand.NewPCG(survey, uint64(n)).Uint64()
}
