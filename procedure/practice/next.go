package practice

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"kickover/procedure"
	"kickover/procedure/proficiency"
)

// Suggestion is a flow to fly, with the reason.
type Suggestion struct {
	Aircraft procedure.AircraftID
	Flow     procedure.FlowID
	Title    string
	Phase    procedure.Phase // prompted while it is new, then silent
	Due      time.Time
	Overdue  bool
	Gain     float64    // what there is to gain: criticality × (1 − chance) over its steps
	Rested   float64    // days since it was last flown
	Chance   float64    // of its steps, weighed by criticality
	Weak     []Forecast // at most three steps with most to gain, the most first
	Head     string     // "Cold start: due since 3 March."
	Body     string     // why, and how
}

// Options say what is being prepared for.
type Options struct {
	Flight time.Time         // the next flight; zero is a day from now
	Flows  []*procedure.Flow // flows that could be flown; those never flown are offered when nothing is due
	Most   int               // suggestions at most; 0 is three
}

// wellKept is the chance from which nothing more is asked of a step.
const wellKept = .95

// promptedRuns is after how many runs of a flow the prompts should fall silent.
const promptedRuns = 3

// Next ranks the flows by what there is to gain at the next flight, times the days
// since each was last flown. The days keep what is weak from being asked for
// again and again: on invented students the gain alone masses practice on the
// weakest flow and is worse than flying all of them at even intervals.
func Next(history []proficiency.Run, now time.Time, o Options) []Suggestion {
	if o.Flight.IsZero() {
		o.Flight = now.Add(24 * time.Hour)
	}
	if o.Most == 0 {
		o.Most = 3
	}
	past := flownBefore(history, now)
	var out []Suggestion
	for _, steps := range byFlow(gather(past, now)) {
		out = append(out, suggest(steps, past, now, o))
	}
	sort.SliceStable(out, func(i, j int) bool {
		return out[i].Gain*out[i].Rested > out[j].Gain*out[j].Rested
	})
	if !slices.ContainsFunc(out, func(s Suggestion) bool { return s.Overdue }) {
		if fresh, ok := neverFlown(past, o.Flows); ok {
			out = append([]Suggestion{fresh}, out...)
		}
	}
	return out[:min(len(out), o.Most)]
}

func flownBefore(history []proficiency.Run, now time.Time) []proficiency.Run {
	var out []proficiency.Run
	for _, r := range history {
		if !r.At.After(now) {
			out = append(out, r)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].At.Before(out[j].At) })
	return out
}

// byFlow parts items by flow, keeping the order in which flows were first flown.
func byFlow(items []*item) [][]*item {
	type key struct {
		aircraft procedure.AircraftID
		flow     procedure.FlowID
	}
	place := map[key]int{}
	var out [][]*item
	for _, it := range items {
		k := key{it.f.Aircraft, it.f.Flow}
		i, ok := place[k]
		if !ok {
			i = len(out)
			place[k] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], it)
	}
	return out
}

func suggest(steps []*item, past []proficiency.Run, now time.Time, o Options) Suggestion {
	s := Suggestion{Aircraft: steps[0].f.Aircraft, Flow: steps[0].f.Flow, Phase: procedure.Evaluate}
	var weight float64
	forecasts := make([]Forecast, len(steps))
	for i, it := range steps {
		it.forecast(day(o.Flight))
		forecasts[i] = it.f
		s.Gain += it.f.Gain
		s.Chance += float64(it.f.Criticality) * it.f.Chance
		weight += float64(it.f.Criticality)
	}
	s.Chance /= weight
	runs := 0
	for _, r := range past {
		if r.Aircraft == s.Aircraft && r.Flow == s.Flow {
			runs++
			s.Title = r.FlowTitle
			s.Rested = now.Sub(r.At).Hours() / 24
		}
	}
	if s.Title == "" {
		s.Title = string(s.Flow)
	}
	if runs < promptedRuns {
		s.Phase = procedure.Perform
	}
	s.Due = flowDue(steps)
	s.Overdue = !s.Due.After(now)
	order := append([]Forecast(nil), forecasts...)
	sort.SliceStable(forecasts, func(i, j int) bool { return forecasts[i].Gain > forecasts[j].Gain })
	s.Weak = forecasts[:min(3, len(forecasts))]
	s.Head, s.Body = s.words(order, runs)
	return s
}

// flowDue is when the flow should be flown again: when its steps' mean chance,
// weighed by criticality, has fallen to DueAt, or that of a step whose omission
// endangers somebody.
func flowDue(steps []*item) time.Time {
	var last float64
	offsets := make([]float64, len(steps))
	for i, it := range steps {
		last = max(last, it.practices[len(it.practices)-1].Day)
		offsets[i], _ = personal(it.evidence)
	}
	return dayTime(firstBelow(last+shortestGap, last+LongestGap, func(d float64) bool {
		var sum, weight float64
		for i, it := range steps {
			p := logistic((Fitted.Strength(it.practices, d)-Fitted.Tau)/Fitted.S + offsets[i])
			if it.f.Criticality == 3 && p <= DueAt {
				return true
			}
			sum += float64(it.f.Criticality) * p
			weight += float64(it.f.Criticality)
		}
		return sum/weight <= DueAt
	}))
}

// neverFlown is the first flow one could begin with and never has.
func neverFlown(past []proficiency.Run, flows []*procedure.Flow) (Suggestion, bool) {
	flown := map[procedure.FlowID]bool{}
	for _, r := range past {
		flown[r.Flow] = true
	}
	for _, f := range flows {
		if f.Entry && !flown[f.ID] {
			return Suggestion{
				Aircraft: f.Aircraft, Flow: f.ID, Title: f.Title, Phase: procedure.Explain,
				Head: f.Title + ": not flown yet.",
				Body: "Read it in Explain, watch it once, then fly it with prompts.",
			}, true
		}
	}
	return Suggestion{}, false
}

// words says why the flow, and how to practise it. Order is the flow's own.
func (s Suggestion) words(order []Forecast, runs int) (head, body string) {
	switch {
	case s.Overdue:
		head = fmt.Sprintf("%s: due since %s.", s.Title, s.Due.Format("2 January"))
	default:
		head = fmt.Sprintf("%s: due on %s.", s.Title, s.Due.Format("2 January"))
	}
	w := s.Weak[0]
	if w.Chance >= wellKept {
		return head, "Nothing stands out: every step is better than 9 in 10. Fly it once by then, without prompts, to keep it so."
	}
	body = fmt.Sprintf("Most to gain: “%s”, about %s on the next flight", w.Title, inTen(w.Chance))
	if low, high := inTen(w.Low), inTen(w.High); low != high {
		body += fmt.Sprintf(" (%s to %s)", low, high)
	}
	body += "."
	if w.Evidence > 0 {
		body += fmt.Sprintf(" At the start of a session it was right %d of %d times.", w.Right, w.Evidence)
	}
	if with := neighbours(order, w.Step); len(with) > 1 {
		body += " Touch " + strings.Join(with, ", ") + " in that order a few times, then fly the whole flow"
	} else {
		body += " Fly the whole flow"
	}
	if s.Phase == procedure.Perform {
		return head, body + fmt.Sprintf(", with prompts: it has been flown %s.", times(runs))
	}
	return head, body + ", without prompts."
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// neighbours are a step and the ones beside it, by title: a weak part is drilled
// with what leads into it and out of it.
func neighbours(order []Forecast, step procedure.StepID) []string {
	for i, f := range order {
		if f.Step != step {
			continue
		}
		var out []string
		for _, n := range order[max(0, i-1):min(len(order), i+2)] {
			out = append(out, "“"+n.Title+"”")
		}
		return out
	}
	return nil
}

// inTen writes a chance as people say it.
func inTen(p float64) string {
	switch n := int(math.Round(10 * p)); {
	case p >= .95:
		return "better than 9 in 10"
	case n < 1:
		return "less than 1 in 10"
	default:
		return fmt.Sprintf("%d in 10", min(n, 9))
	}
}
