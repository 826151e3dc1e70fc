package debrief

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"kickover/procedure"
)

// Reason is one thing that a student could do differently: what happened, and
// the number behind it.
type Reason struct {
	Head string
	Body string
}

const mostReasons = 3

// explain finds the sentence and the reasons. What could hurt somebody comes
// first, then what decided the start, then what was slow.
func (r *Report) explain(st *procedure.State) {
	switch st.Outcome {
	case procedure.Stopped:
		r.Why = r.whyStopped(st)
	case procedure.Read:
		r.Why = "Every step was read; nothing was flown."
		return
	default:
		r.Why = r.why()
	}
	for _, find := range []func(*procedure.State) []Reason{
		r.breachReasons, r.faultReasons, r.primeReasons, r.cylinderReasons, r.catchReasons, r.decisionReasons, r.stepReasons,
	} {
		r.Reasons = append(r.Reasons, find(st)...)
	}
	if len(r.Reasons) > mostReasons {
		r.Reasons = r.Reasons[:mostReasons]
	}
}

// whyStopped is the sentence on a run that ended rightly with the engine stopped.
func (r *Report) whyStopped(st *procedure.State) string {
	for _, d := range slices.Backward(st.Drills) {
		for _, f := range r.Faults {
			if string(f.Fault) == d.Answers {
				return fmt.Sprintf("You stopped, and that was right: %s.", lowerFirst(f.Name))
			}
		}
	}
	return "It was stopped, as the flow says."
}

// why is one sentence on the last attempt.
func (r *Report) why() string {
	if len(r.Attempts) == 0 {
		return "It did not start: the starter was not engaged."
	}
	a := r.Attempts[len(r.Attempts)-1]
	switch {
	case a.Fired && a.Died && a.Ran:
		return "It ran, and was stopped or stopped by itself."
	case a.Fired && a.Died:
		return fmt.Sprintf("It fired after %s and died: %s", secs(a.ToFire()), r.whyDied(a))
	case a.Fired:
		return fmt.Sprintf("It fired after %s of cranking: the charge %s of fuel vapour, and %s to %s burns.",
			secs(a.ToFire()), r.firedOn(a), percent(r.Band.Lean), percent(r.Band.Rich))
	}
	return "It did not start: " + r.whyNot(a)
}

// firedOn is what an attempt that fired had to burn. Charges differ: where most
// came up too rich or too lean, it is what the charge had come to that fired.
func (r *Report) firedOn(a Attempt) string {
	switch then := r.Vapour.At(a.FiredAt); {
	case a.Vapour > r.Band.Rich && then <= r.Band.Rich:
		return "came down to " + percent(then)
	case a.Vapour < r.Band.Lean && then >= r.Band.Lean:
		return "came up to " + percent(then)
	}
	return "held " + percent(a.Vapour)
}

// Thresholds of an explanation. Estimates: a starter that turns the engine below
// slowCrank cannot start it, and more than wetPlugs grams of liquid in the
// cylinders make a spark unlikely.
const (
	slowCrank = 50.0
	wetPlugs  = 1.5
)

func (r *Report) whyDied(a Attempt) string {
	switch {
	case a.DyingVapour > r.Band.Rich:
		return fmt.Sprintf("too much fuel, the charge came to hold %s of vapour and nothing burns above %s.", percent(a.DyingVapour), percent(r.Band.Rich))
	case a.DyingWet > wetPlugs:
		return fmt.Sprintf("%.1f g of liquid fuel in the cylinders wet the plugs.", a.DyingWet)
	case a.DyingVapour > r.Band.Lean:
		return fmt.Sprintf("at %s of vapour too few charges fired to keep it turning.", percent(a.DyingVapour))
	default:
		return "the prime was used up before the mixture took over."
	}
}

func (r *Report) whyNot(a Attempt) string {
	switch {
	case math.IsNaN(a.RPM) || a.RPM < 5:
		return "the starter did not turn the engine."
	case a.RPM < slowCrank:
		return fmt.Sprintf("the starter turned it at only %.0f rpm.", a.RPM)
	case math.IsNaN(a.Vapour):
		return "it was not cranked for long enough to draw in a charge."
	case a.Vapour > r.Band.Rich:
		return fmt.Sprintf("flooded, the charge held %s of fuel vapour and nothing burns above %s.", percent(a.Vapour), percent(r.Band.Rich))
	case a.Vapour < r.Band.Lean:
		return fmt.Sprintf("too little fuel, the charge held %s of vapour and nothing burns below %s.", percent(a.Vapour), percent(r.Band.Lean))
	case a.Wet > wetPlugs:
		return fmt.Sprintf("%.1f g of liquid fuel lay in the cylinders and wet the plugs.", a.Wet)
	case a.Crank() < 3*time.Second:
		return fmt.Sprintf("it was cranked for %s only, with %s of vapour in the charge.", secs(a.Crank()), percent(a.Vapour))
	default:
		return fmt.Sprintf("the charge held %s of vapour, which burns: look for a spark.", percent(a.Vapour))
	}
}

// faultReasons tells what was wrong with the aeroplane, now that it may be told.
func (r *Report) faultReasons(*procedure.State) []Reason {
	var out []Reason
	for _, f := range r.Faults {
		out = append(out, Reason{Head: "What was wrong: " + lowerFirst(f.Name) + ".", Body: upperFirst(f.Signs) + ". " + upperFirst(f.WayOut) + "."})
	}
	return out
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }
func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// primeReasons sets the prime against its window and against the cue.
func (r *Report) primeReasons(*procedure.State) []Reason {
	var out []Reason
	for _, s := range r.Steps {
		if s.Step.Kind != procedure.StepHold || !s.Reached || s.Verdict == procedure.OnTime {
			continue
		}
		off := s.Off()
		switch {
		case s.Verdict == procedure.Missed:
			out = append(out, Reason{Head: "You did not prime.", Body: r.unprimed(s)})
		case off != 0:
			out = append(out, Reason{
				Head: fmt.Sprintf("You held the prime %s, %s too %s.", secs(s.Elapsed), secs(off.Abs()), longOrShort(off)),
				Body: r.primeEffect(s, off),
			})
		}
	}
	return out
}

// unprimed says what an engine that got no prime had to burn.
func (r *Report) unprimed(s Step) string {
	body := "The window is " + windowText(s.Window) + "."
	if n := len(r.Attempts); n > 0 && !math.IsNaN(r.Attempts[n-1].Vapour) && r.Attempts[n-1].Vapour < r.Band.Lean {
		body += fmt.Sprintf(" The charge held %s vapour, and nothing burns below %s.", percent(r.Attempts[n-1].Vapour), percent(r.Band.Lean))
	}
	return body
}

func longOrShort(off time.Duration) string {
	if off > 0 {
		return "long"
	}
	return "short"
}

// primeEffect says what the cue was, and what the difference did to the mixture
// in the cylinders.
func (r *Report) primeEffect(s Step, off time.Duration) string {
	found := r.foundBy(s)
	if off < 0 {
		body := "The window is " + windowText(s.Window) + "."
		if found != "" {
			body += " " + upperFirst(found) + "."
		}
		return body
	}
	body := r.cue(s)
	due := s.Done - off
	extra := r.Fuel.At(s.Done) - r.Fuel.At(due)
	const seen = 0.05 // g: less is not seen in the figure
	if math.IsNaN(extra) || extra < seen {
		return body
	}
	body += fmt.Sprintf(" The last %s let %.1f g more fuel in", secs(off), extra)
	const richer = 0.05 // % vapour: less is not seen in the figures
	switch before, after := r.Vapour.At(due), r.Vapour.At(s.Done); {
	case r.wetAfter(s) > wetPlugs:
		return body + ", and " + found + "."
	case after-before > richer:
		return fmt.Sprintf("%s and made the mixture in the cylinders richer: %s vapour, not %s.", body, percent(after), percent(before))
	case found != "":
		return body + ", and " + found + "."
	}
	return body + "."
}

// foundBy is what the attempt after a prime found in the cylinders, empty when
// there was none.
func (r *Report) foundBy(prime Step) string {
	a, ok := r.attemptAfter(prime)
	switch {
	case !ok:
		return ""
	case a.Wet > wetPlugs:
		return fmt.Sprintf("%.1f g lay liquid in the cylinders", a.Wet)
	default:
		return fmt.Sprintf("the charge held %s vapour", percent(a.Vapour))
	}
}

// wetAfter is how much liquid an attempt found after a prime, in g.
func (r *Report) wetAfter(prime Step) float64 {
	a, _ := r.attemptAfter(prime)
	return a.Wet
}

// attemptAfter is the first attempt after a prime that drew in a charge.
func (r *Report) attemptAfter(prime Step) (Attempt, bool) {
	for _, a := range r.Attempts {
		if a.Engaged >= prime.Done && !math.IsNaN(a.Vapour) {
			return a, true
		}
	}
	return Attempt{}, false
}

func (r *Report) levelledIn(s Step) (time.Duration, bool) {
	for _, p := range r.Primes {
		if p.Begin == s.Begin && p.LevelledAt > 0 {
			return p.LevelledAt - p.Begin, true
		}
	}
	return 0, false
}

// cylinderReasons is what the last attempt that did not fire found.
func (r *Report) cylinderReasons(*procedure.State) []Reason {
	if len(r.Attempts) == 0 {
		return nil
	}
	a := r.Attempts[len(r.Attempts)-1]
	if a.Fired || math.IsNaN(a.Vapour) || a.Prime == 0 && len(r.Primes) == 0 {
		return nil // without any prime, that is what there is to say
	}
	switch {
	case a.Vapour > r.Band.Rich:
		return []Reason{{
			Head: fmt.Sprintf("With %s vapour nothing burns above %s.", percent(a.Vapour), percent(r.Band.Rich)),
			Body: "It is flooded. Leave the mixture back, rest, crank again.",
		}}
	case a.Vapour < r.Band.Lean:
		return []Reason{{
			Head: fmt.Sprintf("With %s vapour nothing burns below %s.", percent(a.Vapour), percent(r.Band.Lean)),
			Body: "It had too little. Half the prime again, once.",
		}}
	case a.Wet > wetPlugs:
		return []Reason{{
			Head: fmt.Sprintf("%.1f g of liquid fuel wet the plugs.", a.Wet),
			Body: "It is flooded. Leave the mixture back, rest, crank again.",
		}}
	}
	return nil
}

func (r *Report) catchReasons(*procedure.State) []Reason {
	for _, s := range r.Steps {
		if s.Step.Kind != procedure.StepCatch || !s.Reached {
			continue
		}
		switch s.Verdict {
		case procedure.Late:
			return []Reason{{
				Head: fmt.Sprintf("The mixture came %s after it fired.", secs(s.Elapsed)),
				Body: fmt.Sprintf("It has %s: the prime is used up in a few seconds.", secs(s.Window.Max)),
			}}
		case procedure.Early:
			return []Reason{{
				Head: "The mixture was forward before it fired.",
				Body: "An engine that does not fire then floods. Wait for the first firing.",
			}}
		case procedure.Missed:
			return []Reason{{
				Head: "It fired, and the mixture stayed back.",
				Body: fmt.Sprintf("Full forward within %s of the first firing.", secs(s.Window.Max)),
			}}
		}
	}
	return nil
}

// decisionReasons judges each choice against what was truly in the cylinders, by
// the flow that it led to and what was primed until the next choice.
func (r *Report) decisionReasons(st *procedure.State) []Reason {
	var out []Reason
	for n, d := range st.Decisions {
		until := st.At
		if n+1 < len(st.Decisions) {
			until = st.Decisions[n+1].At
		}
		i := r.attemptBefore(d.At)
		if i < 0 || math.IsNaN(r.Attempts[i].Vapour) {
			continue
		}
		a := r.Attempts[i]
		flooded := a.Vapour > r.Band.Rich || a.Vapour > r.Band.Lean && a.Wet > wetPlugs
		primed := r.primeBetween(d.At, until) > 0
		held := fmt.Sprintf("The charge held %s vapour; %s to %s burns.", percent(a.Vapour), percent(r.Band.Lean), percent(r.Band.Rich))
		switch {
		case flooded && primed:
			out = append(out, Reason{Head: "You primed again, and it was flooded.", Body: held})
		case a.Vapour < r.Band.Lean && r.leadsTo[d.Choice] == "flooded" && !primed:
			out = append(out, Reason{Head: "You took it for flooded; it had too little fuel.", Body: held})
		}
	}
	return out
}

// attemptBefore is the last attempt that ended before an offset, -1 for none.
func (r *Report) attemptBefore(at time.Duration) int {
	last := -1
	for i, a := range r.Attempts {
		if a.Released <= at {
			last = i
		}
	}
	return last
}

// stepReasons names what was left out, out of order or slow, the worst first.
func (r *Report) stepReasons(*procedure.State) []Reason {
	var missed, order []string
	var slowest *Step
	var out []Reason
	reached := 0
	for i := range r.Steps {
		s := &r.Steps[i]
		if !s.Reached {
			continue
		}
		reached++
		switch {
		case s.Step.Kind == procedure.StepHold || s.Step.Kind == procedure.StepCatch:
		case s.Verdict == procedure.Missed && r.leftAt(i):
			out = append(out, Reason{Head: "You left the run at: " + lowerFirst(s.Step.Title) + ".", Body: fmt.Sprintf("Step %d of the flow.", reached)})
		case s.Verdict == procedure.Missed && s.Step.Kind == procedure.StepSettle:
			out = append(out, r.unsettled(s))
		case s.Verdict == procedure.Missed && s.Step.Kind == procedure.StepPropClear && r.breached(procedure.BreachNoPropClear):
			// The breach says it.
		case s.Verdict == procedure.Missed:
			missed = append(missed, s.Step.Title)
		case s.Verdict == procedure.OutOfOrder:
			order = append(order, s.Step.Title)
		case s.Verdict == procedure.Late && (slowest == nil || s.Off() > slowest.Off()):
			slowest = s
		}
	}
	if len(missed) > 0 {
		out = append(out, Reason{
			Head: "Left out: " + strings.Join(missed, "; ") + ".",
			Body: fmt.Sprintf("%d of %d steps. Say each step aloud as you do it.", len(missed), reached),
		})
	}
	if len(order) > 0 {
		out = append(out, Reason{
			Head: "Out of order: " + strings.Join(order, "; ") + ".",
			Body: fmt.Sprintf("%d of %d steps. The order is the memory: one leads to the next.", len(order), reached),
		})
	}
	if slowest != nil {
		out = append(out, Reason{
			Head: fmt.Sprintf("%s took %s.", slowest.Step.Title, secs(slowest.Elapsed)),
			Body: fmt.Sprintf("Its window is %s: %s late.", windowText(slowest.Window), secs(slowest.Off())),
		})
	}
	return out
}

// Reached are the steps that were come to, in order. The one at which a run was
// broken off was not missed: it is not finished.
func (r *Report) Reached() []Step {
	var out []Step
	for i, s := range r.Steps {
		if !s.Reached {
			continue
		}
		if s.Verdict == procedure.Missed && r.leftAt(i) {
			s.Verdict = procedure.Pending
		}
		out = append(out, s)
	}
	return out
}

// leftAt reports whether a step is the one at which a run was broken off: it was
// not left out, there was no more time for it.
func (r *Report) leftAt(i int) bool {
	if r.Outcome != procedure.Abandoned {
		return false
	}
	return !slices.ContainsFunc(r.Steps[i+1:], func(s Step) bool { return s.Reached })
}

func (r *Report) breached(b procedure.Breach) bool {
	return slices.ContainsFunc(r.Breaches, func(at procedure.BreachAt) bool { return at.Breach == b })
}

// unsettled says at what speed an engine ran that should have settled.
func (r *Report) unsettled(s *Step) Reason {
	reason := Reason{Head: s.Step.Title + ": it did not settle.", Body: "Move the throttle a little, wait for the engine, and move it again."}
	due := min(s.Begin+s.Window.Max, r.Length)
	if rpm := r.RPM.At(due); !math.IsNaN(rpm) && len(s.Step.Conditions) > 0 {
		c := s.Step.Conditions[0]
		reason.Body = fmt.Sprintf("%s on it turned %.0f rpm; it should be %.0f to %.0f. %s", secs(due-s.Begin), rpm, c.Min, c.Max, reason.Body)
	}
	return reason
}

// windowText writes a window as a person would: "3.5 to 5.0 s", or "up to 5.0 s"
// where there is no shortest time.
func windowText(w procedure.Window) string {
	if w.Min == 0 {
		return "up to " + secs(w.Max)
	}
	return fmt.Sprintf("%.1f to %s", w.Min.Seconds(), secs(w.Max))
}

func secs(d time.Duration) string {
	return strconv.FormatFloat(d.Seconds(), 'f', 1, 64) + " s"
}

func percent(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) + " %" }

// clockTime writes an offset as minutes and seconds.
func clockTime(d time.Duration) string {
	return fmt.Sprintf("%d:%04.1f", int(d.Minutes()), math.Mod(d.Seconds(), 60))
}
