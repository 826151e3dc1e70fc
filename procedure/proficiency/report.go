package proficiency

import (
	"errors"
	"sort"
	"time"

	"kickover/procedure"
)

// Report is how somebody gets on with one flow.
type Report struct {
	Runs       int // that were looked at
	Prompted   int // of them with prompts
	Unsafe     int // of them with a breach
	Started    Share
	From, To   time.Time
	Each       []Flown      // in their order
	Steps      []StepReport // in the order of the flow
	Prime      *PrimeChance // nil when there were too few
	Confusions []Confusion  // the most frequent first
}

// StepReport is how one step goes.
type StepReport struct {
	ID          procedure.StepID
	Title       string
	Kind        procedure.StepKind
	Criticality int
	Window      procedure.Window // of the last run

	Seconds                                 []float64 // of each run in which it was timed
	Runs                                    []int     // the numbers of those runs, from 1
	Time                                    Spread    // of Seconds
	Inside                                  Share     // of all runs that came to it
	Recent                                  Share     // of the last ten of them
	Before                                  Share     // of the ten before those
	Early, Late, Missed, OutOfOrder, Unsafe int

	Hesitation Spread // seconds from when it was due to the first act
	Acting     Spread // seconds from the first act to done

	Chart    *Individuals // nil when there are too few runs
	Learning *Learning    // nil when there are too few runs
}

// Confusion is one step that was done when another was due.
type Confusion struct {
	Due, Done           procedure.StepID
	DueTitle, DoneTitle string
	Times               int
}

const recently = 10 // runs that count as recent

// mostCharted is how many of the latest runs a chart and a curve are made of:
// enough for both, and a bound on the work.
const mostCharted = 100

// Of looks at runs of one flow, oldest first.
func Of(runs []Run) *Report {
	r := &Report{Runs: len(runs)}
	if len(runs) == 0 {
		return r
	}
	r.From, r.To = runs[0].At, runs[len(runs)-1].At
	started := 0
	for _, run := range runs {
		if run.Prompted {
			r.Prompted++
		}
		if run.Breaches > 0 {
			r.Unsafe++
		}
		if run.Started {
			started++
		}
	}
	r.Started = ShareOf(started, len(runs))
	r.Each = flown(runs)
	for _, id := range stepOrder(runs) {
		r.Steps = append(r.Steps, stepReport(id, runs))
	}
	r.Prime = primeChance(r.Steps)
	r.Confusions = confusions(runs)
	return r
}

// stepOrder lists the steps that the runs came to, in the order of the latest
// run that came furthest.
func stepOrder(runs []Run) []procedure.StepID {
	var longest []Step
	for _, run := range runs {
		if len(run.Steps) >= len(longest) {
			longest = run.Steps
		}
	}
	var out []procedure.StepID
	for _, s := range longest {
		out = append(out, s.ID)
	}
	return out
}

func stepReport(id procedure.StepID, runs []Run) StepReport {
	r := StepReport{ID: id}
	var inside []bool
	var hesitation, acting []float64
	for n, run := range runs {
		s, found := run.step(id)
		if !found || s.Verdict == procedure.Pending {
			continue
		}
		r.Title, r.Kind, r.Criticality, r.Window = s.Title, s.Kind, s.Criticality, s.Window
		inside = append(inside, s.Inside())
		r.count(s.Verdict)
		// A step that was so already took no time, and one that was done out of
		// order was not timed from when it was due.
		if s.Done() && s.Elapsed > 0 && s.Verdict != procedure.OutOfOrder {
			r.Seconds = append(r.Seconds, s.Elapsed.Seconds())
			r.Runs = append(r.Runs, n+1)
		}
		if s.Done() && s.Verdict != procedure.OutOfOrder && s.Hesitation >= 0 && s.Hesitation <= s.Elapsed {
			hesitation = append(hesitation, s.Hesitation.Seconds())
			acting = append(acting, (s.Elapsed - s.Hesitation).Seconds())
		}
	}
	r.Time, r.Hesitation, r.Acting = SpreadOf(r.Seconds), SpreadOf(hesitation), SpreadOf(acting)
	r.Inside = shareOfLast(inside, 0, len(inside))
	r.Recent = shareOfLast(inside, 0, recently)
	r.Before = shareOfLast(inside, recently, recently)
	if r.Kind == procedure.StepCrank || r.Kind == procedure.StepRest {
		return r // the engine's time and the starter's, not the person's
	}
	seconds, at := last(r.Seconds, mostCharted), last(r.Runs, mostCharted)
	if l, err := LearningOf(seconds, at); err == nil {
		r.Learning = l
	}
	if c, err := ChartOf(seconds, at, r.Learning); err == nil {
		r.Chart = c
	}
	return r
}

func (r *StepReport) count(v procedure.Verdict) {
	switch v {
	case procedure.Early:
		r.Early++
	case procedure.Late:
		r.Late++
	case procedure.Missed:
		r.Missed++
	case procedure.OutOfOrder:
		r.OutOfOrder++
	case procedure.Unsafe:
		r.Unsafe++
	}
}

func (run Run) step(id procedure.StepID) (Step, bool) {
	for _, s := range run.Steps {
		if s.ID == id {
			return s, true
		}
	}
	return Step{}, false
}

func last[T any](values []T, n int) []T { return values[max(0, len(values)-n):] }

// shareOfLast counts n outcomes that end before the last skip of them.
func shareOfLast(inside []bool, skip, n int) Share {
	end := max(0, len(inside)-skip)
	of := 0
	part := inside[max(0, end-n):end]
	for _, in := range part {
		if in {
			of++
		}
	}
	return ShareOf(of, len(part))
}

// primeChance is that of the flow's hold, from the runs whose window was the last
// one's, of which it takes the latest twenty: older ones tell of another hand.
func primeChance(steps []StepReport) *PrimeChance {
	const latest = 20
	for _, s := range steps {
		if s.Kind != procedure.StepHold || s.Window.Zero() {
			continue
		}
		c, err := ChanceOf(last(s.Seconds, latest), s.Window)
		if errors.Is(err, ErrNotEnough) {
			return nil
		}
		return c
	}
	return nil
}

// confusions counts which step was done when which was due.
func confusions(runs []Run) []Confusion {
	type pair struct{ due, done procedure.StepID }
	times := map[pair]int{}
	titles := map[procedure.StepID]string{}
	for _, run := range runs {
		for _, s := range run.Steps {
			titles[s.ID] = s.Title
			if s.TakenFor != "" {
				times[pair{s.ID, s.TakenFor}]++
			}
		}
	}
	var out []Confusion
	for p, n := range times {
		out = append(out, Confusion{p.due, p.done, titles[p.due], titles[p.done], n})
	}
	sort.Slice(out, func(i, j int) bool {
		a, b := out[i], out[j]
		if a.Times != b.Times {
			return a.Times > b.Times
		}
		return a.Due+"/"+a.Done < b.Due+"/"+b.Done
	})
	return out
}
