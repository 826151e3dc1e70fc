package proficiency

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// Share is a proportion with its 95 % interval by Wilson's score, which stays
// between 0 and 1 and does not collapse when all or none succeed.
type Share struct {
	Of, N     int
	Low, High float64
}

// Value is the proportion, not a number when there is nothing to share.
func (s Share) Value() float64 {
	if s.N == 0 {
		return math.NaN()
	}
	return float64(s.Of) / float64(s.N)
}

// normal95 bounds 95 % of a normal distribution.
var normal95 = distuv.UnitNormal.Quantile(0.975)

// ShareOf is the share of successes among n trials.
func ShareOf(successes, n int) Share {
	if n == 0 {
		return Share{High: 1}
	}
	z2 := normal95 * normal95
	nf, p := float64(n), float64(successes)/float64(n)
	middle := (p + z2/(2*nf)) / (1 + z2/nf)
	half := normal95 / (1 + z2/nf) * math.Sqrt(p*(1-p)/nf+z2/(4*nf*nf))
	s := Share{Of: successes, N: n, Low: middle - half, High: middle + half}
	// None and all are exact; the sums above miss them by a rounding.
	if successes == 0 {
		s.Low = 0
	}
	if successes == n {
		s.High = 1
	}
	return s
}

// Difference is one share less another with its 95 % interval: Newcombe's
// method 10, made of the two Wilson intervals.
func Difference(a, b Share) (d, low, high float64) {
	pa, pb := a.Value(), b.Value()
	d = pa - pb
	low = d - math.Hypot(pa-a.Low, b.High-pb)
	high = d + math.Hypot(a.High-pa, pb-b.Low)
	return d, low, high
}

// Spread describes times in seconds: the median, and the quartiles around the
// middle half.
type Spread struct {
	N                 int
	Median, Low, High float64
	Shortest, Longest float64
}

// SpreadOf describes values; its fields are not numbers when there are none.
func SpreadOf(values []float64) Spread {
	sorted := append([]float64(nil), values...)
	sort.Float64s(sorted)
	return Spread{
		N: len(sorted), Median: quantile(sorted, 0.5), Low: quantile(sorted, 0.25), High: quantile(sorted, 0.75),
		Shortest: quantile(sorted, 0), Longest: quantile(sorted, 1),
	}
}

// quantile interpolates between order statistics (Hyndman & Fan 1996, American
// Statistician 50:361–365, definition 7). gonum's own interpolation does not give
// the middle of two middle values as their mean.
func quantile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}
