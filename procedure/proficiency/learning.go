package proficiency

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// FewestForCurve is how many runs a learning curve is fitted to at least.
const FewestForCurve = 10

// Learning is how one person's time for a step falls with practice:
// A + B·e^(−αN) at run N, with a spread that goes with the time. One person's
// curve is exponential; the power law is that of an average of many (Heathcote,
// Brown & Mewhort 2000, Psychonomic Bulletin & Review 7:185–207).
type Learning struct {
	A, B, Alpha float64 // s, s, per run; B is 0 where no gain shows
	Gain        bool    // the curve explains more than its two parameters cost
	Spread      float64 // standard deviation of ln(time) around the curve
	Runs        int     // the last run it was fitted to

	fit fitted
}

// LearningOf fits a curve to positive times at their run numbers. Where a curve
// does not pay for its parameters (by Akaike's criterion with its correction for
// few points) the level is the answer.
func LearningOf(seconds []float64, runs []int) (*Learning, error) {
	if len(seconds) < FewestForCurve {
		return nil, fmt.Errorf("%w: %d of the %d that a learning curve needs", ErrNotEnough, len(seconds), FewestForCurve)
	}
	x, y := make([]float64, len(runs)), make([]float64, len(seconds))
	for i := range runs {
		x[i], y[i] = float64(runs[i]), math.Log(seconds[i])
	}
	level, err := leastSquares(levelAt, x, y, []float64{y[0]})
	if err != nil {
		return nil, fmt.Errorf("fit a level to %d runs: %w", len(x), err)
	}
	l := &Learning{A: math.Exp(level.params[0]), Spread: level.sd, fit: level, Runs: runs[len(runs)-1]}
	if curve, ok := bestCurve(x, y); ok && akaike(curve, len(x)) < akaike(level, len(x)) {
		l.A, l.B, l.Alpha = math.Exp(curve.params[0]), math.Exp(curve.params[1]), math.Exp(curve.params[2])
		l.Gain, l.Spread, l.fit = true, curve.sd, curve
	}
	return l, nil
}

// levelAt is a step whose time does not change.
func levelAt(p []float64, _ float64, slope []float64) float64 {
	slope[0] = 1
	return p[0]
}

// curveAt is the logarithm of the curve; its parameters are logarithms too, so
// that a time can never be negative.
func curveAt(p []float64, x float64, slope []float64) float64 {
	level, gain, rate := math.Exp(p[0]), math.Exp(p[1]-math.Exp(p[2])*x), math.Exp(p[2])
	sum := level + gain
	slope[0], slope[1], slope[2] = level/sum, gain/sum, -gain/sum*rate*x
	return math.Log(sum)
}

// bestCurve fits from several rates and keeps the closest fit: the sum of squares
// has more than one valley.
func bestCurve(x, y []float64) (fitted, bool) {
	low, high := floats.Min(y), floats.Max(y)
	if high-low < 1e-9 {
		return fitted{}, false
	}
	var best fitted
	found := false
	for _, alpha := range []float64{0.03, 0.1, 0.4} {
		start := []float64{low, math.Log(math.Exp(high) - math.Exp(low)), math.Log(alpha)}
		fit, err := leastSquares(curveAt, x, y, start)
		// Outside these rates the curve is a step or a straight line, and its
		// parameters mean nothing.
		if err != nil || fit.params[2] < math.Log(0.002) || fit.params[2] > math.Log(3) {
			continue
		}
		if !found || fit.sd < best.sd {
			best, found = fit, true
		}
	}
	return best, found
}

// akaike is the information criterion AICc (Hurvich & Tsai 1989, Biometrika
// 76:297–307), up to a constant.
func akaike(f fitted, n int) float64 {
	k := float64(len(f.params) + 1)
	sum := f.sd * f.sd * float64(f.freedom)
	return float64(n)*math.Log(max(sum, 1e-12)/float64(n)) + 2*k + 2*k*(k+1)/(float64(n)-k-1)
}

// At is the curve at a run: its value with a 95 % interval, in seconds.
func (l *Learning) At(run int) (low, middle, high float64) {
	return l.interval(run, 0, 0.95)
}

// Next is where a share of the runs at that number should fall, in seconds: the
// curve's uncertainty and the spread of single runs together.
func (l *Learning) Next(run int, share float64) (low, middle, high float64) {
	return l.interval(run, l.Spread*l.Spread, share)
}

func (l *Learning) interval(run int, single, share float64) (low, middle, high float64) {
	f := levelAt
	if l.Gain {
		f = curveAt
	}
	derivatives := make([]float64, len(l.fit.params))
	at := f(l.fit.params, float64(run), derivatives)
	slope := mat.NewVecDense(len(derivatives), derivatives)
	variance := max(0, mat.Inner(slope, l.fit.covariance, slope)) + single
	t := distuv.StudentsT{Nu: float64(l.fit.freedom), Sigma: 1}.Quantile((1 + share) / 2)
	half := t * math.Sqrt(variance)
	return math.Exp(at - half), math.Exp(at), math.Exp(at + half)
}
