package proficiency

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/stat"
)

// Constants of Shewhart's chart for individual values with moving ranges of two
// (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2).
const (
	d2 = 1.128
	// upperRange, D4, is the upper limit of a moving range over its mean; the lower
	// limit is zero.
	upperRange = 3.267
	// FewestForLimits is how many runs limits need: from ten, a chart of a steady
	// hand cries wolf in 23 % of the next twenty runs.
	FewestForLimits = 20
	// onOneSide is how many points in a row on one side of the centre line mark a
	// change. With the three-sigma limits a steady process gives a false alarm
	// every 152.73 points (Champ & Woodall 1987, Technometrics 29:393–399).
	onOneSide = 8
)

// Limits are an individuals and moving-range chart's.
type Limits struct {
	Centre, Lower, Upper float64
	MovingRange          float64 // mean of the absolute differences of neighbours
}

// UpperRange is the limit of a moving range.
func (l Limits) UpperRange() float64 { return upperRange * l.MovingRange }

// Sigma is the chart's estimate of the standard deviation.
func (l Limits) Sigma() float64 { return l.MovingRange / d2 }

// LimitsOf are the limits that values give. It needs two values.
func LimitsOf(values []float64) Limits {
	l := Limits{Centre: stat.Mean(values, nil), MovingRange: stat.Mean(movingRanges(values), nil)}
	l.Lower, l.Upper = l.Centre-3*l.Sigma(), l.Centre+3*l.Sigma()
	return l
}

// movingRanges are the absolute differences of neighbours.
func movingRanges(values []float64) []float64 {
	ranges := make([]float64, len(values)-1)
	for i := range ranges {
		ranges[i] = math.Abs(values[i+1] - values[i])
	}
	return ranges
}

// Rule says what marks a point as a change.
type Rule string

// The two rules. More would cry wolf too often.
const (
	BeyondLimits Rule = "beyond the limits"
	OnOneSide    Rule = "eight in a row on one side"
)

// Signal is a point at which a chart marks a change.
type Signal struct {
	Index int // of the value
	Rule  Rule
	Above bool // slower than the chart expects
}

// Signals applies the rules to values against limits.
func Signals(values []float64, l Limits) []Signal {
	var out []Signal
	run, above := 0, false
	for i, v := range values {
		if v > l.Upper || v < l.Lower {
			out = append(out, Signal{i, BeyondLimits, v > l.Upper})
		}
		switch side := v > l.Centre; {
		case v == l.Centre:
			run = 0
		case side == above:
			run++
		default:
			run, above = 1, side
		}
		if run == onOneSide {
			out = append(out, Signal{i, OnOneSide, above})
		}
	}
	return out
}

// Individuals is the chart of one step's times: the logarithm of each time, for
// times are skewed, with the trend of practice taken out first, for a chart
// expects a steady process.
type Individuals struct {
	Seconds []float64
	Runs    []int     // the number of each one's run
	Trend   Slope     // of ln(seconds) by run, used where there is no learning curve
	Limits  Limits    // of ln(seconds) less the trend
	Ranges  []float64 // the moving ranges of the same, one fewer than Seconds
	Signals []Signal
	// Lag1 is the autocorrelation of neighbours with the trend and the runs beyond
	// the limits taken out. Beyond about two over the root of their number the runs
	// are not independent, and limits from neighbours' differences are wrong.
	Lag1 float64

	learning *Learning
}

// ChartOf makes a chart of positive times in the order of their runs. The trend
// is the learning curve where one shows, else a line; learning may be nil.
func ChartOf(seconds []float64, runs []int, learning *Learning) (*Individuals, error) {
	if len(seconds) < FewestForLimits {
		return nil, fmt.Errorf("%w: %d of the %d that a chart's limits need", ErrNotEnough, len(seconds), FewestForLimits)
	}
	x, y := make([]float64, len(runs)), make([]float64, len(seconds))
	for i := range runs {
		x[i], y[i] = float64(runs[i]), math.Log(seconds[i])
	}
	c := &Individuals{Seconds: seconds, Runs: runs, Trend: TheilSen(x, y), learning: learning}
	rest := make([]float64, len(y))
	for i := range y {
		rest[i] = y[i] - c.trendAt(runs[i])
	}
	c.Limits, c.Ranges = LimitsOf(rest), movingRanges(rest)
	c.Signals = Signals(rest, c.Limits)
	c.Lag1 = autocorrelation(within(rest, c.Limits))
	return c, nil
}

// within leaves out what is beyond the limits.
func within(values []float64, l Limits) []float64 {
	var out []float64
	for _, v := range values {
		if v >= l.Lower && v <= l.Upper {
			out = append(out, v)
		}
	}
	return out
}

func (c *Individuals) trendAt(run int) float64 {
	if c.learning != nil && c.learning.Gain {
		return curveAt(c.learning.fit.params, float64(run), make([]float64, 3))
	}
	return c.Trend.At(float64(run))
}

// Dependent reports whether neighbours are so alike that the limits mislead.
func (c *Individuals) Dependent() bool {
	return math.Abs(c.Lag1) > normal95/math.Sqrt(float64(len(c.Seconds)))
}

// At gives the chart's centre and limits at a run, in seconds.
func (c *Individuals) At(run int) (lower, centre, upper float64) {
	t := c.trendAt(run)
	return math.Exp(t + c.Limits.Lower), math.Exp(t + c.Limits.Centre), math.Exp(t + c.Limits.Upper)
}

// autocorrelation is that of neighbours, as NIST's StRD defines it.
func autocorrelation(values []float64) float64 {
	mean := stat.Mean(values, nil)
	var num, den float64
	for i, v := range values {
		den += (v - mean) * (v - mean)
		if i > 0 {
			num += (v - mean) * (values[i-1] - mean)
		}
	}
	if den == 0 {
		return 0 // all alike, or none
	}
	return num / den
}

// Slope is a line through points by Theil and Sen: the median of the slopes of
// all pairs, which a few wild runs do not move, with its 95 % interval.
type Slope struct {
	Slope, Intercept float64
	Low, High        float64
}

// At is the line's height.
func (s Slope) At(x float64) float64 { return s.Intercept + s.Slope*x }

// TheilSen fits a line. Points that share an x give no slope; with fewer than two
// others the line is flat and its interval open.
func TheilSen(x, y []float64) Slope {
	var slopes []float64
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	sort.Float64s(slopes)
	s := Slope{Low: math.Inf(-1), High: math.Inf(1)}
	if len(slopes) > 0 {
		s.Slope = quantile(slopes, 0.5)
		// Sen 1968, Journal of the American Statistical Association 63:1379–1389.
		n := float64(len(x))
		c := normal95 * math.Sqrt(n*(n-1)*(2*n+5)/18)
		if low := int(math.Round((float64(len(slopes)) - c) / 2)); low >= 1 {
			s.Low, s.High = slopes[low-1], slopes[len(slopes)-low]
		}
	}
	rest := make([]float64, len(x))
	for i := range x {
		rest[i] = y[i] - s.Slope*x[i]
	}
	sort.Float64s(rest)
	s.Intercept = quantile(rest, 0.5)
	return s
}
