package proficiency

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"kickover/procedure"
)

// Words says how a step goes, in sentences that each carry their numbers.
func (r StepReport) Words() []string {
	var out []string
	switch {
	case r.Time.N == 1:
		out = append(out, fmt.Sprintf("Took %s in the one run.", secs(r.Time.Median)))
	case r.Time.N > 1:
		out = append(out, fmt.Sprintf("Takes %s; the middle half of %d runs, %.1f to %s.",
			secs(r.Time.Median), r.Time.N, r.Time.Low, secs(r.Time.High)))
	}
	if r.Inside.N > 0 {
		out = append(out, "As it should be in "+r.Inside.Words()+".")
	}
	if r.Before.N == recently {
		d, low, high := Difference(r.Recent, r.Before)
		if low > 0 || high < 0 {
			out = append(out, fmt.Sprintf("%d of the last ten against %d of the ten before: %s than before (difference %s, 95 %% interval %s to %s).",
				r.Recent.Of, r.Before.Of, betterOrWorse(d), points(d), points(low), points(high)))
		}
	}
	if r.Chart == nil || r.Change() == "" {
		out = append(out, r.chartWords()...)
	} else {
		out = append(out, r.Change())
	}
	out = append(out, r.learningWords()...)
	if r.Hesitation.N >= FewestForChance && r.Hesitation.Median > r.Acting.Median && r.Hesitation.Median > 1 {
		out = append(out, fmt.Sprintf("Most of the time is before acting: %s, against %s of doing it.",
			secs(r.Hesitation.Median), secs(r.Acting.Median)))
	}
	return out
}

func betterOrWorse(d float64) string {
	if d > 0 {
		return "better"
	}
	return "worse"
}

// chartWords says why no change is told of.
func (r StepReport) chartWords() []string {
	switch n := r.Time.N; {
	case r.Chart != nil:
		return []string{"Steady: no run is outside what chance explains."}
	case n > 0 && n < FewestForLimits:
		return []string{fmt.Sprintf("Not enough runs to tell a change from chance: %d of %d.", n, FewestForLimits)}
	}
	return nil
}

// Change says what the chart marks: single runs beyond its limits before a drift,
// which a few wild runs can bring about. It is empty when nothing is marked.
func (r StepReport) Change() string {
	if r.Chart == nil || len(r.Chart.Signals) == 0 {
		return ""
	}
	words := r.changeWords()
	if r.Chart.Dependent() {
		words += " Runs are like the ones before them, so it may be chance."
	}
	return words
}

func (r StepReport) changeWords() string {
	var beyond []string
	for _, s := range r.Chart.Signals {
		if s.Rule == BeyondLimits && s.Above {
			beyond = append(beyond, strconv.Itoa(r.Chart.Runs[s.Index]))
		}
	}
	if n := len(beyond); n > 0 {
		return "Much " + r.changed(true) + " than expected in run " + strings.Join(beyond[max(0, n-4):], ", ") + "."
	}
	s := r.Chart.Signals[len(r.Chart.Signals)-1]
	return fmt.Sprintf("A change by run %d: %s, %s.", r.Chart.Runs[s.Index], s.Rule, r.changed(s.Above))
}

// changed says which way: a hold is longer or shorter, anything else slower or
// quicker.
func (r StepReport) changed(above bool) string {
	switch {
	case r.Kind == procedure.StepHold && above:
		return "longer"
	case r.Kind == procedure.StepHold:
		return "shorter"
	case above:
		return "slower"
	}
	return "quicker"
}

func (r StepReport) learningWords() []string {
	l := r.Learning
	if l == nil {
		return nil
	}
	low, middle, high := l.Next(l.Runs+5, 0.8)
	next := fmt.Sprintf("Eight of the next ten runs should fall between %.1f and %s.", low, secs(high))
	switch {
	case r.Kind == procedure.StepHold:
		return []string{next}
	case l.Gain && l.A < 0.9*middle:
		return []string{fmt.Sprintf("Still getting quicker: half of what is left to gain goes every %.0f runs. %s", math.Ceil(math.Ln2/l.Alpha), next)}
	case l.Gain:
		return []string{fmt.Sprintf("Learned: from %s at first to about %s. %s", secs(l.A+l.B), secs(middle), next)}
	}
	return []string{fmt.Sprintf("Level at about %s. %s", secs(l.A), next)}
}

// Words says the chance of the prime.
func (c *PrimeChance) Words() []string {
	return []string{
		fmt.Sprintf("A prime falls inside %.1f to %s in %s.", c.Window.Min.Seconds(), secs(c.Window.Max.Seconds()), c.Inside.Words()),
		fmt.Sprintf("Held %.2f s on average, give or take %.2f s: about %s should be inside. Aim for %s.",
			c.Mean, c.SD, percent(c.Expected), secs(c.Aim)),
	}
}

// Words says a share and its interval.
func (s Share) Words() string {
	if s.N == 0 {
		return "no runs"
	}
	return fmt.Sprintf("%d of %d (%s; 95 %% interval %.0f to %s)", s.Of, s.N, percent(s.Value()), 100*s.Low, percent(s.High))
}

// Words says what was taken for what.
func (c Confusion) Words() string {
	times := "once"
	if c.Times > 1 {
		times = strconv.Itoa(c.Times) + " times"
	}
	return fmt.Sprintf("When “%s” was due, “%s” was done: %s.", c.DueTitle, c.DoneTitle, times)
}

func secs(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) + " s" }

func percent(v float64) string { return strconv.FormatFloat(100*v, 'f', 0, 64) + " %" }
