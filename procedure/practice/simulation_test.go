package practice_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"kickover/procedure"
	"kickover/procedure/practice"
	"kickover/procedure/proficiency"
)

// The simulation asks whether following the suggestions is worth it. Its students
// are invented, and what they keep follows another model than the one behind the
// suggestions, so that the suggestions are not tested on their own assumptions.
// Each student gets the same minutes by each way of practising.

// scaledDay is a day outside practice in the model's seconds: forgetting is
// slower there, by .025 (Pavlik & Anderson 2005; from memory).
const scaledDay = 86400 * .025

const (
	simulatedFlows = 4
	stepsPerFlow   = 15
	minutesPerRun  = 1.5
)

// pupil is one invented student. Steps and people differ (assumption): decays by
// .03, thresholds by .3 between flows, .25 between steps and .15 between people.
type pupil struct {
	rng        *rand.Rand
	model      [simulatedFlows][stepsPerFlow]practice.Activation
	memory     [simulatedFlows][stepsPerFlow]practice.Memory
	importance [simulatedFlows][stepsPerFlow]int
	history    []proficiency.Run
	clock      float64 // scaled seconds
}

func newPupil(seed uint64) *pupil {
	p := &pupil{rng: rand.New(rand.NewPCG(seed, 11))}
	person := .15 * p.rng.NormFloat64()
	for f := range simulatedFlows {
		flow := .3 * p.rng.NormFloat64()
		for s := range stepsPerFlow {
			m := practice.Published
			m.A = max(.08, m.A+.03*p.rng.NormFloat64())
			m.Tau += person + flow + .25*p.rng.NormFloat64()
			p.model[f][s] = m
			p.importance[f][s] = 1 + p.rng.IntN(3)
		}
	}
	return p
}

// fly flies a flow: each step is recalled or not, and then seen.
func (p *pupil) fly(flow int, when time.Time) {
	now := float64(when.Sub(monday)) / float64(24*time.Hour) * scaledDay
	p.clock = max(p.clock+60*minutesPerRun, now)
	r := proficiency.Run{
		At: when, Aircraft: "brindle-180", Flow: procedure.FlowID(fmt.Sprint(flow)), Phase: procedure.Evaluate,
	}
	for s := range stepsPerFlow {
		verdict := procedure.Missed
		if p.rng.Float64() < p.chance(flow, s, p.clock) {
			verdict = procedure.OnTime
		}
		p.model[flow][s].Present(&p.memory[flow][s], p.clock)
		r.Steps = append(r.Steps, proficiency.Step{
			ID: procedure.StepID(fmt.Sprint(s)), Criticality: p.importance[flow][s], Verdict: verdict,
		})
	}
	p.history = append(p.history, r)
}

func (p *pupil) chance(flow, s int, at float64) float64 {
	return p.model[flow][s].Chance(p.model[flow][s].Strength(&p.memory[flow][s], at))
}

// ready is how much of the four flows the student would do right on a day,
// weighed by criticality.
func (p *pupil) ready(day float64) float64 {
	var sum, weight float64
	for f := range simulatedFlows {
		for s := range stepsPerFlow {
			w := float64(p.importance[f][s])
			sum += w * p.chance(f, s, day*scaledDay+p.clock-math.Floor(p.clock/scaledDay)*scaledDay)
			weight += w
		}
	}
	return sum / weight
}

// way is a way of practising: which flows to fly on a day with the runs that are
// left.
type way func(p *pupil, day, left int) []int

// everythingEveryDay flies all flows each day until the minutes are gone.
func everythingEveryDay(_ *pupil, _, left int) []int {
	var out []int
	for f := range min(simulatedFlows, left) {
		out = append(out, f)
	}
	return out
}

// everythingAtIntervals flies all flows on days that are spread evenly over the
// period: what somebody who knows of spacing would do without any help.
func everythingAtIntervals(period, runs int) way {
	rounds := runs / simulatedFlows
	return func(_ *pupil, day, left int) []int {
		if day*rounds/period == (day-1)*rounds/period && day > 0 || left < simulatedFlows {
			return nil
		}
		return everythingEveryDay(nil, day, left)
	}
}

// asSuggested spreads the minutes over the days and flies the first suggestions
// of each.
func asSuggested(period int) way {
	return func(p *pupil, day, left int) []int {
		if day == 0 {
			return everythingEveryDay(p, day, left)
		}
		today := int(math.Round(float64(left) / float64(period-day)))
		if today == 0 && (left*day)%period < left {
			today = 1
		}
		var out []int
		for _, s := range practice.Next(p.history, at(float64(day)), practice.Options{Most: min(today, left)}) {
			var f int
			fmt.Sscan(string(s.Flow), &f)
			out = append(out, f)
		}
		return out[:min(today, len(out))]
	}
}

// outcome is how ready a student was: on the average day of the period, and two
// weeks and eight weeks after it.
type outcome struct{ during, after14, after56 float64 }

func simulate(seed uint64, period, runs int, w way) outcome {
	p := newPupil(seed)
	var o outcome
	for day := range period {
		for i, f := range w(p, day, runs) {
			p.fly(f, at(float64(day)).Add(time.Duration(i)*2*time.Minute))
			runs--
		}
		o.during += p.ready(float64(day)+.9) / float64(period)
	}
	o.after14, o.after56 = p.ready(float64(period+14)), p.ready(float64(period+56))
	return o
}

// paired is the mean difference of two ways over the same students, with its 95 %
// interval by Student's t.
type paired struct{ mean, low, high float64 }

func (p paired) String() string {
	return fmt.Sprintf("%+.1f points (%+.1f to %+.1f)", 100*p.mean, 100*p.low, 100*p.high)
}

func pairedDifference(a, b []outcome, measure func(outcome) float64) paired {
	var d []float64
	for i := range a {
		d = append(d, measure(a[i])-measure(b[i]))
	}
	mean, sd := stat.MeanStdDev(d, nil)
	half := distuv.StudentsT{Nu: float64(len(d) - 1), Sigma: 1}.Quantile(.975) * sd / math.Sqrt(float64(len(d)))
	return paired{mean, mean - half, mean + half}
}

// The period of the simulation, and its runs: 72 minutes in six weeks.
const (
	simulatedDays = 42
	simulatedRuns = 48
)

func students(n int, w way) []outcome {
	var out []outcome
	for seed := range uint64(n) {
		out = append(out, simulate(seed, simulatedDays, simulatedRuns, w))
	}
	return out
}

func during(o outcome) float64  { return o.during }
func after14(o outcome) float64 { return o.after14 }
func after56(o outcome) float64 { return o.after56 }

// TestSuggestionsBeatEverythingEveryDay holds the claim, and holds the two things
// that speak against it, so that they are not forgotten: while the period lasts
// the student who crams is ahead, and whoever flies everything at even intervals
// does as well as by the suggestions. It is the spacing that does it.
func TestSuggestionsBeatEverythingEveryDay(t *testing.T) {
	suggested := students(40, asSuggested(simulatedDays))
	daily := students(40, everythingEveryDay)
	even := students(40, everythingAtIntervals(simulatedDays, simulatedRuns))
	for name, of := range map[string]func(outcome) float64{"14": after14, "56": after56} {
		if d := pairedDifference(suggested, daily, of); d.low < .05 {
			t.Errorf("%s days after: %v against everything every day, want at least 5 points", name, d)
		}
	}
	if d := pairedDifference(suggested, daily, during); d.high > 0 {
		t.Errorf("on the average day of the period: %v; the text says that cramming is ahead", d)
	}
	if d := pairedDifference(suggested, even, after14); math.Abs(d.mean) > .03 {
		t.Errorf("against even intervals: %v; the text says that they are about equal", d)
	}
}

// BenchmarkPractice prints, in percentage points of readiness, what following the
// suggestions gains over other ways of spending the same minutes.
func BenchmarkPractice(b *testing.B) {
	for b.Loop() {
		suggested := students(40, asSuggested(simulatedDays))
		for name, w := range map[string]way{
			"daily": everythingEveryDay, "even": everythingAtIntervals(simulatedDays, simulatedRuns),
		} {
			other := students(40, w)
			for measure, of := range map[string]func(outcome) float64{"during": during, "14d": after14, "56d": after56} {
				d := pairedDifference(suggested, other, of)
				b.ReportMetric(100*d.mean, measure+"-vs-"+name+"-points")
				b.ReportMetric(100*(d.high-d.low)/2, measure+"-vs-"+name+"-give-or-take")
			}
		}
	}
}
