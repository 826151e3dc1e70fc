package practice

import (
	"math"
	"time"

	"kickover/procedure"
	"kickover/procedure/proficiency"
)

// The rule. All are choices of ours, guided by the sources in the package's doc.
const (
	// DueAt is the chance at which a step is asked for again.
	DueAt = .85
	// LongestGap is how many days pass between practices at most: the models'
	// tails are too flat to be trusted further.
	LongestGap = 60
	// shortestGap is how many days pass at least: what is weak would otherwise be
	// asked for again at once, and practice that is massed does not last.
	shortestGap = 1
	// promptedWeight is what a prompted run counts as practice.
	promptedWeight = .5
	// sessionGap parts two sessions. Only the first run of a session is evidence
	// of what was kept; later ones are helped by it.
	sessionGap = 4 * time.Hour
	// personSpread is how much people differ at one step, as a standard deviation
	// of log odds. Assumption: wide, so that a few failures in a row are believed.
	personSpread = 2.0
)

// Forecast is the chance of one step of one flow.
type Forecast struct {
	Aircraft    procedure.AircraftID
	Flow        procedure.FlowID
	Step        procedure.StepID
	Title       string
	Criticality int
	Chance      float64 // of doing it as it should be
	Low, High   float64 // the middle 80 % of what the evidence allows
	Gain        float64 // criticality × (1 − chance)
	Due         time.Time
	Practised   int // runs it was part of
	Evidence    int // of them those that count as evidence
	Right       int // of those
}

// item is what was done of one step.
type item struct {
	f         Forecast
	practices []Practice
	evidence  []evidence
}

// evidence is one unprompted first run of a session: how far the model expected
// it, and what happened.
type evidence struct {
	logit float64
	right bool
}

// Forecasts gives every step that was practised, at a moment, in the order in
// which the steps were first met.
func Forecasts(history []proficiency.Run, at time.Time) []Forecast {
	var out []Forecast
	for _, it := range gather(history, at) {
		it.forecast(day(at))
		out = append(out, it.f)
	}
	return out
}

func day(t time.Time) float64 { return float64(t.UnixNano()) / float64(24*time.Hour) }

func dayTime(d float64) time.Time {
	return time.Unix(0, int64(d*float64(24*time.Hour))).UTC().Round(time.Second)
}

// gather sorts what was flown before a moment by step.
func gather(history []proficiency.Run, before time.Time) []*item {
	type key struct {
		aircraft procedure.AircraftID
		flow     procedure.FlowID
		step     procedure.StepID
	}
	found := map[key]*item{}
	var items []*item
	last := map[procedure.FlowID]time.Time{}
	for _, run := range history {
		if run.At.After(before) || run.Phase == procedure.Explain || run.Phase == procedure.Demonstrate {
			continue
		}
		first := run.At.Sub(last[run.Flow]) > sessionGap
		last[run.Flow] = run.At
		for _, s := range run.Steps {
			k := key{run.Aircraft, run.Flow, s.ID}
			it := found[k]
			if it == nil {
				it = &item{f: Forecast{Aircraft: run.Aircraft, Flow: run.Flow, Step: s.ID}}
				found[k] = it
				items = append(items, it)
			}
			it.f.Title, it.f.Criticality = s.Title, max(1, s.Criticality)
			it.take(run, s, first)
		}
	}
	return items
}

func (it *item) take(run proficiency.Run, s proficiency.Step, first bool) {
	at, weight := day(run.At), 1.0
	if run.Prompted {
		weight = promptedWeight
	}
	if first && !run.Prompted && len(it.practices) > 0 {
		it.evidence = append(it.evidence, evidence{
			logit: (Fitted.Strength(it.practices, at) - Fitted.Tau) / Fitted.S, right: s.Inside(),
		})
		it.f.Evidence++
		if s.Inside() {
			it.f.Right++
		}
	}
	it.practices = append(it.practices, Practice{at, weight})
	it.f.Practised++
}

// forecast fills the chance at a day and when it will have fallen.
func (it *item) forecast(at float64) {
	offset, spread := personal(it.evidence)
	const middle80 = 1.2816
	logit := func(d float64) float64 { return (Fitted.Strength(it.practices, d) - Fitted.Tau) / Fitted.S }
	now := logit(at)
	it.f.Chance = logistic(now + offset)
	it.f.Low, it.f.High = logistic(now+offset-middle80*spread), logistic(now+offset+middle80*spread)
	it.f.Gain = float64(it.f.Criticality) * (1 - it.f.Chance)
	last := it.practices[len(it.practices)-1].Day
	it.f.Due = dayTime(firstBelow(last+shortestGap, last+LongestGap, func(d float64) bool {
		return logistic(logit(d)+offset) <= DueAt
	}))
}

// firstBelow finds when something that stays true once true becomes so, to a
// minute; the end when it does not before, the beginning when it was so already.
func firstBelow(from, to float64, below func(float64) bool) float64 {
	if below(from) {
		return from
	}
	for to-from > 1.0/1440 {
		if middle := (from + to) / 2; below(middle) {
			to = middle
		} else {
			from = middle
		}
	}
	return to
}

// personal is by how much somebody does a step better or worse than the model's
// average learner, on the scale of log odds, and how uncertain that is: the most
// likely value given the evidence and a normal prior.
func personal(seen []evidence) (offset, spread float64) {
	const prior = 1 / (personSpread * personSpread)
	information := prior
	for range 30 {
		slope := -offset * prior
		information = prior
		for _, e := range seen {
			p := logistic(e.logit + offset)
			if e.right {
				slope += 1 - p
			} else {
				slope -= p
			}
			information += p * (1 - p)
		}
		offset += slope / information
		if math.Abs(slope) < 1e-9 {
			break
		}
	}
	return offset, 1 / math.Sqrt(information)
}
