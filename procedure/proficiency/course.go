package proficiency

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Flown is how one run went as a whole.
type Flown struct {
	Number   int // from 1
	At       time.Time
	Steps    Share // of the steps it came to, those as they should be
	Started  bool
	Unsafe   bool
	Prompted bool
}

func flown(runs []Run) []Flown {
	out := make([]Flown, len(runs))
	for i, run := range runs {
		inside, of := 0, 0
		for _, s := range run.Steps {
			of++
			if s.Inside() {
				inside++
			}
		}
		out[i] = Flown{
			Number: i + 1, At: run.At, Steps: ShareOf(inside, of),
			Started: run.Started, Unsafe: run.Breaches > 0, Prompted: run.Prompted,
		}
	}
	return out
}

// fewestToCompare is how many runs each side of a comparison has at least.
const fewestToCompare = 4

// Comparison sets some runs against earlier ones by the share of their steps that
// were as they should be. A run counts as one, since its steps stand or fall
// together.
type Comparison struct {
	Runs           int     // on each side
	Earlier, Later float64 // mean shares
	Low, High      float64 // of the difference, 95 %, by Welch's t
}

// Better and Worse report that the difference is more than chance explains.
func (c Comparison) Better() bool { return c.Low > 0 }

// Worse is the other way.
func (c Comparison) Worse() bool { return c.High < 0 }

// compare is false where either side has too few runs.
func compare(earlier, later []Flown) (Comparison, bool) {
	a, b := shares(earlier), shares(later)
	if len(a) < fewestToCompare || len(b) < fewestToCompare {
		return Comparison{}, false
	}
	c := Comparison{Runs: len(b), Earlier: stat.Mean(a, nil), Later: stat.Mean(b, nil)}
	c.Low, c.High = welch(a, b)
	return c, true
}

// welch is the 95 % interval of the mean of b less that of a, where their spreads
// may differ (Welch 1947, Biometrika 34:28–35).
func welch(a, b []float64) (low, high float64) {
	ma, va := stat.MeanVariance(a, nil)
	mb, vb := stat.MeanVariance(b, nil)
	na, nb := float64(len(a)), float64(len(b))
	sa, sb := va/na, vb/nb
	if sa+sb == 0 {
		return mb - ma, mb - ma
	}
	freedom := (sa + sb) * (sa + sb) / (sa*sa/(na-1) + sb*sb/(nb-1))
	half := distuv.StudentsT{Nu: freedom, Sigma: 1}.Quantile(.975) * math.Sqrt(sa+sb)
	return mb - ma - half, mb - ma + half
}

func shares(runs []Flown) []float64 {
	var out []float64
	for _, f := range runs {
		if f.Steps.N > 0 {
			out = append(out, f.Steps.Value())
		}
	}
	return out
}

// SinceTheBeginning sets the last ten runs against the first ten, or the later
// half against the earlier one where there are fewer than twenty.
func (r *Report) SinceTheBeginning() (Comparison, bool) {
	n := min(recently, len(r.Each)/2)
	return compare(r.Each[:n], last(r.Each, n))
}

// Lately sets the last ten runs against the ten before.
func (r *Report) Lately() (Comparison, bool) {
	if len(r.Each) < 2*recently {
		return Comparison{}, false
	}
	return compare(r.Each[len(r.Each)-2*recently:len(r.Each)-recently], last(r.Each, recently))
}

// Working says whether practice shows: a word, and what it rests on.
func (r *Report) Working() (word, because string) {
	c, ok := r.SinceTheBeginning()
	if !ok {
		return "Too early to say", fmt.Sprintf("A comparison needs %d runs; there are %d.", 2*fewestToCompare, len(r.Each))
	}
	sides := fmt.Sprintf("%s of the steps were as they should be in the last %d runs, %s in the first %d",
		percent(c.Later), c.Runs, percent(c.Earlier), c.Runs)
	interval := fmt.Sprintf(" (difference %s, 95 %% interval %s to %s).", points(c.Later-c.Earlier), points(c.Low), points(c.High))
	switch lately, ok := r.Lately(); {
	case ok && lately.Worse():
		word = "Not of late"
		because = fmt.Sprintf("%s of the steps were as they should be in the last %d runs, %s in the %d before",
			percent(lately.Later), lately.Runs, percent(lately.Earlier), lately.Runs)
		interval = fmt.Sprintf(" (difference %s, 95 %% interval %s to %s).", points(lately.Later-lately.Earlier), points(lately.Low), points(lately.High))
		return word, because + interval
	case c.Better():
		word = "Yes"
	case c.Worse():
		word = "No: it gets worse"
	case c.Later >= .95:
		word = "It holds"
	default:
		word = "No change that chance does not explain"
	}
	return word, sides + interval
}

// points writes a difference of shares in percentage points, with its sign.
func points(v float64) string {
	switch n := math.Round(100 * v); {
	case n > 0:
		return fmt.Sprintf("+%.0f points", n)
	case n < 0:
		return fmt.Sprintf("−%.0f points", -n)
	}
	return "0 points"
}
