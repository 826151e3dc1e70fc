package planner

import (
	"math/rand/v2"
	"slices"

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

// Cell is one length of prime in one row of a survey, with what it has come to.
// It belongs to one caller at a time: to who flies its [Strip] until it is done.
type Cell struct {
	prime            float64
	precision        Precision
	started, flooded int
	trials           int
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

func (c *Cell) count(o powerplant.Outcome) {
	c.trials++
	if o.Started {
		c.started++
	}
	if o.Flooded {
		c.flooded++
	}
}

// Strip is a few neighbouring cells of a row. They are flown together, because
// what goes before the prime, and the prime of the shortest, is the same for all
// of them and so need be flown only once. Strips know nothing of each other, and
// a cell's counts are what they would be alone.
type Strip struct {
	cells []*Cell
	first int // the first one's place in the survey's cells
	// begin starts trial n, which then flies any prime.
	begin func(n int) (trial, error)
}

type trial func(prime float64) powerplant.Outcome

// Fly flies the next batch of trials of each cell that is not done. It returns
// the places, in the survey's cells, of those that now are, and whether all are.
func (s *Strip) Fly() (landed []int, done bool, err error) {
	open := s.open()
	if len(open) == 0 {
		return nil, true, nil
	}
	rule, flown := open[0].precision, open[0].trials
	for n := flown; n < min(flown+rule.Batch, rule.Most); n++ {
		fly, err := s.begin(n)
		if err != nil {
			return nil, false, err
		}
		for _, c := range open {
			c.count(fly(c.prime))
		}
	}
	for i, c := range s.cells {
		if slices.Contains(open, c) && c.Done() {
			landed = append(landed, s.first+i)
		}
	}
	return landed, len(landed) == len(open), nil
}

// open are the cells that are not done. All have flown as often.
func (s *Strip) open() []*Cell {
	var open []*Cell
	for _, c := range s.cells {
		if !c.Done() {
			open = append(open, c)
		}
	}
	return open
}

// seedOf gives trial n of a survey its seed. It is the same in every cell: the
// same hands, fuel and aeroplane try each prime, so that what differs between
// cells is the prime.
func seedOf(survey uint64, n int) uint64 {
	return rand.NewPCG(survey, uint64(n)).Uint64()
}
