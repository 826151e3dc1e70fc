package rehearse

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/panel"
)

// sameStrip reports whether two snapshots have the same strip.
func sameStrip(a, b *rehearsal.Snapshot) bool {
	return a.Present == b.Present && a.Phase == b.Phase && a.Done == b.Done && (a.Asked == nil) == (b.Asked == nil) &&
		slices.Equal(a.Steps, b.Steps)
}

// stripOf is the step strip for a snapshot. In Evaluate it shows what was done
// and nothing of what is to come or how it was judged, unless it was unsafe.
func stripOf(n *rehearsal.Snapshot, u units.Units) panel.StripState {
	var s panel.StripState
	silent := n.Phase == procedure.Evaluate
	if voiced(n) {
		s.Below = voiceHigh
	}
	if n.Asked != nil {
		s.Below += 214
	}
	var past, next []panel.StripLine
	for i, st := range n.Steps {
		switch {
		case i == n.Present:
			s.Now = nowOf(n, st, silent)
		case st.Status == rehearsal.StepDone:
			past = append(past, doneLine(st, silent, u))
		case st.Status == rehearsal.StepNotReached: // the flow took another way
		case st.Status == rehearsal.StepOpen && silent:
		case st.Status == rehearsal.StepOpen:
			past = append(past, panel.StripLine{Mark: panel.MarkOpen, Title: st.Step.Title, Note: "to do"})
		case !silent:
			next = append(next, panel.StripLine{Title: st.Step.Title})
		}
	}
	if len(past) > panel.StripPast {
		past = past[len(past)-panel.StripPast:]
	}
	copy(s.Past[:], past)
	copy(s.Next[:], next)
	if silent && !n.Done {
		s.Quiet = "Nothing is shown ahead. Do what comes next as in the aeroplane; the debrief follows."
	}
	return s
}

func doneLine(st rehearsal.StepView, silent bool, u units.Units) panel.StripLine {
	l := panel.StripLine{Mark: panel.MarkFor(st.Verdict), Title: st.Step.Title}
	if silent {
		if l.Mark != panel.MarkUnsafe {
			l.Mark = panel.MarkDone
		}
		return l
	}
	switch st.Verdict {
	case procedure.Missed, procedure.OutOfOrder, procedure.Unsafe:
		l.Note = string(st.Verdict)
		if st.Verdict == procedure.OutOfOrder {
			l.Note = "order"
		}
		return l
	}
	if st.Detail != "" && !strings.HasSuffix(st.Detail, " s") {
		l.Title += ": " + u.Words(st.Detail)
	}
	if st.Elapsed > 0 {
		l.Note = fmt.Sprintf("%.1f s", st.Elapsed.Seconds())
	}
	return l
}

func nowOf(n *rehearsal.Snapshot, st rehearsal.StepView, silent bool) panel.StripNow {
	if silent {
		return panel.StripNow{Over: "NOW · yours", Title: "Your flow", Text: "No prompts. Go as you would in the aeroplane."}
	}
	now := panel.StripNow{
		Over: "NOW · " + handWords(st.Step.Hand), Title: st.Step.Title, Text: st.Step.Prompt.Caption,
		Window: windowOf(st), Late: st.Overdue,
	}
	if strings.Contains(spoken(now.Title), spoken(now.Text)) {
		now.Text = "" // the title says it
	}
	if n.Phase == procedure.Perform {
		now.Keys = stepKeys(n, st.Step)
	}
	return now
}

// windowOf is a present step's window, after what is to be pressed for it and
// whether it is late.
func windowOf(st rehearsal.StepView) string {
	var words []string
	switch st.Step.Kind {
	case procedure.StepBrief:
		words = append(words, "say Ready")
	case procedure.StepCheck:
		words = append(words, "press "+reportKey+" or the gauge")
	}
	if st.Overdue {
		words = append(words, "late")
	}
	if w := windowWords(st.Window); w != "" {
		words = append(words, w)
	}
	return strings.Join(words, " · ")
}

// spoken is what a text comes to when it is read aloud.
func spoken(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}
