package planner

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// Question is what a plan is asked. Aeroplane must be set; the zero value of the
// rest asks about a cold morning at sea level with an aeroplane of which nothing
// is known.
type Question struct {
	Aeroplane  *Aeroplane
	Conditions powerplant.Conditions
	Flow       procedure.FlowID // whose window; empty for the one that the conditions call for
	Belief     *Belief          // what real starts have taught; nil for nothing
	Primes     []float64        // in the aeroplane's unit; nil for a usual range
	// Temperatures are the rows of a map, in degC; nil for -20 to 40 in 21 rows.
	Temperatures []float64
	Precision    Precision
	Seed         uint64
}

// Survey is a question laid out as cells that have yet to be flown.
type Survey struct {
	Aeroplane *Aeroplane
	Primes    []float64
	Rows      []Row
}

// Row is one set of conditions of a survey.
type Row struct {
	Conditions powerplant.Conditions
	Handbook   Handbook
	Cells      []*Cell
	begin      func(n int) (trial, error)
}

// Chart asks about one day: many primes, those of the handbook's window among
// them.
func (q Question) Chart() (*Survey, error) {
	h, err := q.check()
	if err != nil {
		return nil, err
	}
	primes := q.Primes
	if primes == nil {
		primes = chartPrimes(h)
	}
	s := &Survey{Aeroplane: q.Aeroplane, Primes: primes}
	s.Rows = []Row{q.row(q.Conditions, h, primes)}
	return s, nil
}

// Map asks about a range of outside air temperatures: 21 of them by 13 primes,
// unless the question says otherwise. Each row stands beside its own window.
func (q Question) Map() (*Survey, error) {
	h, err := q.check()
	if err != nil {
		return nil, err
	}
	primes := q.Primes
	if primes == nil {
		primes = mapPrimes(h)
	}
	temperatures := q.Temperatures
	if temperatures == nil {
		for i := range 21 {
			temperatures = append(temperatures, float64(-20+3*i))
		}
	}
	s := &Survey{Aeroplane: q.Aeroplane, Primes: primes}
	for _, oat := range temperatures {
		c := q.Conditions
		c.OATCelsius = oat
		if err := c.Validate(); err != nil {
			return nil, err
		}
		h, err := q.Aeroplane.Handbook(q.Flow, c)
		if err != nil {
			return nil, err
		}
		s.Rows = append(s.Rows, q.row(c, h, primes))
	}
	return s, nil
}

// Most that may be asked: longer is no prime, and more cells no question.
const (
	MostPrime  = 60.0 // in the aeroplane's unit
	mostTrials = 1_000_000
)

func (q Question) check() (Handbook, error) {
	if q.Aeroplane == nil {
		return Handbook{}, errors.New("a plan needs an aeroplane")
	}
	if err := q.Conditions.Validate(); err != nil {
		return Handbook{}, err
	}
	for _, p := range q.Primes {
		if !(p >= 0 && p <= MostPrime) {
			return Handbook{}, fmt.Errorf("a prime of %g %s cannot be planned: use 0 to %g", p, q.Aeroplane.Unit, MostPrime)
		}
	}
	if p := q.Precision; p.HalfWidth < 0 || p.HalfWidth > 0.5 || p.Most > mostTrials {
		return Handbook{}, fmt.Errorf("a half-width of %g with at most %d trials cannot be planned: use above 0 to 0.5, and at most %d", p.HalfWidth, p.Most, mostTrials)
	}
	return q.Aeroplane.Handbook(q.Flow, q.Conditions)
}

func (q Question) row(c powerplant.Conditions, h Handbook, primes []float64) Row {
	r := Row{Conditions: c, Handbook: h, begin: q.begin(c)}
	for _, p := range primes {
		r.Cells = append(r.Cells, &Cell{prime: p, precision: q.Precision.withDefaults()})
	}
	return r
}

// begin starts the trials of a day. With no starts to go by each is the model's
// own; else its aeroplane comes from the belief instead of the scatter.
func (q Question) begin(c powerplant.Conditions) func(n int) (trial, error) {
	a, belief, survey := q.Aeroplane, q.Belief, q.Seed
	return func(n int) (trial, error) {
		seed := seedOf(survey, n)
		spec, scatter := a.Spec, powerplant.UsualScatter()
		if belief != nil && belief.Starts > 0 {
			spec, scatter = belief.draw(seed).of(spec), withoutTraits(scatter)
		}
		s, err := powerplant.NewSeries(spec, c, a.Technique(0), scatter, seed)
		if err != nil {
			return nil, err
		}
		return func(prime float64) powerplant.Outcome {
			t := a.Technique(prime)
			return s.Fly(t.Prime, t.Strokes)
		}, nil
	}
}

// Cells are all cells of the survey, row by row.
func (s *Survey) Cells() []*Cell {
	var out []*Cell
	for _, r := range s.Rows {
		out = append(out, r.Cells...)
	}
	return out
}

// A survey is laid out in at least so many strips, when it has the cells for it,
// so that many cores find work; and none is longer than pays.
const (
	leastStrips  = 8
	longestStrip = 7
)

// Strips are the survey's cells as they are flown together.
func (s *Survey) Strips() []*Strip {
	cells := len(s.Rows) * len(s.Primes)
	long := max(1, min(longestStrip, cells/leastStrips))
	var out []*Strip
	for i, r := range s.Rows {
		at := i * len(s.Primes)
		for cells := range slices.Chunk(r.Cells, long) {
			out = append(out, &Strip{cells: cells, first: at, begin: r.begin})
			at += len(cells)
		}
	}
	return out
}

// Fly flies the whole survey, one strip after another.
func (s *Survey) Fly() error {
	for _, strip := range s.Strips() {
		for done := false; !done; {
			var err error
			if _, done, err = strip.Fly(); err != nil {
				return err
			}
		}
	}
	return nil
}

// Points are the row's cells that have been flown.
func (r Row) Points() []Point {
	var out []Point
	for _, c := range r.Cells {
		if c.trials > 0 {
			out = append(out, c.Point())
		}
	}
	return out
}

// chartPrimes are even steps to well past the window, and more of them in it.
func chartPrimes(h Handbook) []float64 {
	if h.Unit == Strokes {
		return steps(0, 8, 1)
	}
	top, step := 10.0, 0.5
	if h.Primes() && h.Max < 3 {
		top, step = 6, 0.25
	}
	var primes []float64
	// Two that lie closer than 0.075 s are one, the first.
	add := func(p float64) {
		if !slices.ContainsFunc(primes, func(q float64) bool { return math.Abs(p-q) < 0.075 }) {
			primes = append(primes, p)
		}
	}
	if h.Primes() {
		add(h.Ideal)
		add(h.Min)
		add(h.Max)
		for i := 1; i < 6; i++ {
			add(round(h.Min + (h.Max-h.Min)*float64(i)/6))
		}
	}
	for _, p := range steps(0, top, step) {
		add(p)
	}
	slices.Sort(primes)
	return primes
}

// mapPrimes are 13 even steps from nothing to well past the window.
func mapPrimes(h Handbook) []float64 {
	switch {
	case h.Unit == Strokes:
		return steps(0, 12, 1)
	case h.Primes() && h.Max < 3:
		return steps(0, 6, 0.5)
	}
	return steps(0, 9, 0.75)
}

func steps(from, to, by float64) []float64 {
	var out []float64
	for i := 0; from+float64(i)*by <= to+by/2; i++ {
		out = append(out, from+float64(i)*by)
	}
	return out
}

// round is to the hundredth of a second: finer is no prime.
func round(s float64) float64 { return math.Round(s*100) / 100 }
