package debrief

import (
	"fmt"

	"kickover/procedure"
)

// WentWell is what a run shows that needs nothing done differently, or that was
// flown to be watched: at most three things, each with its number.
func (r *Report) WentWell() []Reason {
	var out []Reason
	var closest *Step
	kept := 0
	for i := range r.Steps {
		s := &r.Steps[i]
		if !s.Reached || s.Verdict != procedure.OnTime {
			continue
		}
		kept++
		switch {
		case s.Step.Kind == procedure.StepHold && !s.Window.Zero():
			out = append(out, Reason{Head: fmt.Sprintf("The prime was held %s.", secs(s.Elapsed)), Body: r.cue(*s)})
		case s.Step.Kind == procedure.StepCatch:
			out = append(out, Reason{
				Head: fmt.Sprintf("The mixture came %s after it fired.", secs(s.Elapsed)),
				Body: fmt.Sprintf("It has %s: the prime is used up in a few seconds.", secs(s.Window.Max)),
			})
		}
		if s.Window.Max > 0 && (closest == nil || s.share() > closest.share()) {
			closest = s
		}
	}
	if closest == nil {
		return out
	}
	out = append(out, Reason{
		Head: fmt.Sprintf("%d steps on time and in order.", kept),
		Body: fmt.Sprintf("Nearest to its limit: %s, %s of %s.", lowerFirst(closest.Step.Title), secs(closest.Elapsed), secs(closest.Window.Max)),
	})
	return out[max(0, len(out)-mostReasons):]
}

// share is how much of its window a step took.
func (s Step) share() float64 { return s.Elapsed.Seconds() / s.Window.Max.Seconds() }

// cue sets a hold's window beside the moment at which the flow levelled off.
func (r *Report) cue(s Step) string {
	body := "The window is " + windowText(s.Window)
	if levelled, ok := r.levelledIn(s); ok {
		return fmt.Sprintf("%s, and the flow levelled off at %s: that is the cue.", body, secs(levelled))
	}
	return body + "."
}
