package classroom

import (
	"cmp"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"kickover/procedure"
	"kickover/procedure/debrief"
)

// Flown is one run of a drill, looked at.
type Flown struct {
	Station StationID
	Run     RunID
	Report  *debrief.Report
	// Late is how long after everybody's "go" it began, zero when with the others.
	// It had other things happen at other moments: its times are not compared.
	Late time.Duration
}

// ClassReport is what a class made of a drill. It names nobody.
type ClassReport struct {
	Runs      int
	Started   int
	Unsafe    int // runs with a breach
	Late      int // that began after everybody's "go": they are in no time, and are no example
	Steps     []StepSpread
	DrillNext []StepSpread // at most three, the most telling first
	Best      RunID        // to be replayed; empty without runs
	Worst     RunID        // empty when there is only one run
}

// StepSpread is how a step went across the class.
type StepSpread struct {
	Key      string
	Title    string
	Critical int // 1 to 3
	Reached  int // runs that came to it
	Verdicts map[procedure.Verdict]int
	// Of those who did it, in the time that its window judges. All are times
	// that somebody flew: quantiles of the empirical distribution.
	Least, Lower, Median, Upper, Most time.Duration
	Window                            procedure.Window
}

// Trouble is the share of runs, 0 to 1, in which the step did not go as it
// should.
func (s StepSpread) Trouble() float64 {
	if s.Reached == 0 {
		return 0
	}
	return float64(s.Reached-s.Verdicts[procedure.OnTime]-s.Verdicts[procedure.Pending]) / float64(s.Reached)
}

// Spread looks at all runs of one drill together. Steps come in the order of
// the flow; one that only some runs reached, by a branch, comes after them.
func Spread(runs []Flown) ClassReport {
	r := ClassReport{Runs: len(runs)}
	index := map[string]int{}
	times := map[string][]float64{}
	for _, f := range runs {
		if f.Report.Started {
			r.Started++
		}
		if f.Report.Unsafe {
			r.Unsafe++
		}
		if f.Late > 0 {
			r.Late++
		}
		for _, s := range f.Report.Steps {
			i, ok := index[s.Key]
			if !ok {
				i = len(r.Steps)
				index[s.Key] = i
				r.Steps = append(r.Steps, StepSpread{Key: s.Key, Title: s.Step.Title, Critical: max(1, s.Step.Criticality), Window: s.Window, Verdicts: map[procedure.Verdict]int{}})
			}
			if !s.Reached {
				continue
			}
			r.Steps[i].Reached++
			r.Steps[i].Verdicts[s.Verdict]++
			if s.Verdict != procedure.Missed && f.Late == 0 {
				times[s.Key] = append(times[s.Key], s.Elapsed.Seconds())
			}
		}
	}
	for i := range r.Steps {
		r.Steps[i].measure(times[r.Steps[i].Key])
	}
	r.DrillNext = drillNext(r.Steps)
	r.Best, r.Worst = extremes(runs)
	return r
}

func (s *StepSpread) measure(seconds []float64) {
	if len(seconds) == 0 {
		return
	}
	slices.Sort(seconds)
	q := func(p float64) time.Duration {
		return time.Duration(stat.Quantile(p, stat.Empirical, seconds, nil) * float64(time.Second)).Round(time.Millisecond)
	}
	s.Least, s.Lower, s.Median, s.Upper, s.Most = q(0), q(0.25), q(0.5), q(0.75), q(1)
}

// drillNext chooses what a class should practise: first what could hurt somebody,
// then where most had trouble, weighed by what the step's omission costs. How many
// counts and not which share: few come to a step on a branch.
func drillNext(steps []StepSpread) []StepSpread {
	var out []StepSpread
	for _, s := range steps {
		if s.Trouble() > 0 {
			out = append(out, s)
		}
	}
	weight := func(s StepSpread) float64 { return s.Trouble() * float64(s.Reached) * float64(s.Critical) }
	slices.SortStableFunc(out, func(a, b StepSpread) int {
		return cmp.Or(cmp.Compare(b.Verdicts[procedure.Unsafe], a.Verdicts[procedure.Unsafe]), cmp.Compare(weight(b), weight(a)))
	})
	return out[:min(3, len(out))]
}

// extremes finds the runs worth replaying: the one with the least against it
// and the one with the most; between equals the shorter is better.
func extremes(runs []Flown) (best, worst RunID) {
	sorted := slices.DeleteFunc(slices.Clone(runs), func(f Flown) bool { return f.Late > 0 })
	if len(sorted) == 0 {
		return "", ""
	}
	slices.SortStableFunc(sorted, func(a, b Flown) int {
		return cmp.Or(cmp.Compare(against(a.Report), against(b.Report)), cmp.Compare(a.Report.Length, b.Report.Length))
	})
	best = sorted[0].Run
	if len(sorted) > 1 {
		worst = sorted[len(sorted)-1].Run
	}
	return best, worst
}

// against adds up what went wrong in a run. The weights only order runs: danger
// before an engine that did not start before omissions before lateness.
func against(r *debrief.Report) int {
	n := 1000 * len(r.Breaches)
	if !r.Started {
		n += 300
	}
	for _, s := range r.Steps {
		if !s.Reached {
			continue
		}
		c := max(1, s.Step.Criticality)
		switch s.Verdict {
		case procedure.Missed:
			n += 20 * c
		case procedure.OutOfOrder:
			n += 10 * c
		case procedure.Early, procedure.Late:
			n += 3 * c
		}
	}
	return n
}
