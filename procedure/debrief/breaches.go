package debrief

import (
	"fmt"
	"time"

	"kickover/procedure"
)

// breachReasons names each kind of act that could have hurt somebody, the first
// time it happened, with the number that made it one.
func (r *Report) breachReasons(*procedure.State) []Reason {
	var out []Reason
	seen := map[procedure.Breach]bool{}
	for _, b := range r.Breaches {
		if seen[b.Breach] {
			continue
		}
		seen[b.Breach] = true
		out = append(out, Reason{
			Head: "Unsafe: " + string(b.Breach) + ".",
			Body: r.breachNumber(b) + " " + breachAdvice[b.Breach],
		})
	}
	return out
}

var breachAdvice = map[procedure.Breach]string{
	procedure.BreachNoPropClear:  "Left, ahead, right, call clear, wait for an answer: before every attempt.",
	procedure.BreachAreaOccupied: "Wait until they have gone, then look and call again.",
	procedure.BreachBrakesOff:    "Hold the brakes until the engine has settled.",
	procedure.BreachCrankLimit:   "Release at the limit, whatever the engine does.",
	procedure.BreachRest:         "Let the starter rest: its winding heats faster than it cools.",
	procedure.BreachStarterIn:    "Release as soon as it fires.",
	procedure.BreachNoOil:        "No pressure in time: mixture to cut-off, now.",
	procedure.BreachOverspeed:    "Throttle back to the start mark before you crank.",
	procedure.BreachDanger:       "Look at the engine and its gauges, and do the drill for what they show.",
}

// breachNumber says when it happened and, where a limit was passed, by how much.
func (r *Report) breachNumber(b procedure.BreachAt) string {
	at := "At " + clockTime(b.At)
	i := r.attemptAt(b.At)
	switch {
	case b.Breach == procedure.BreachCrankLimit && i >= 0:
		return fmt.Sprintf("%s: cranked for %s, and the limit is %s.", at, secs(r.Attempts[i].Crank()), secs(r.limits.Crank))
	case b.Breach == procedure.BreachRest && i > 0:
		return fmt.Sprintf("%s: %s after the attempt before.", at, restWords(r.Attempts[i].Engaged-r.Attempts[i-1].Released))
	case b.Breach == procedure.BreachStarterIn && i >= 0 && r.Attempts[i].Fired:
		return fmt.Sprintf("%s: it had fired %s before.", at, secs(b.At-r.Attempts[i].FiredAt))
	case b.Breach == procedure.BreachOverspeed:
		return fmt.Sprintf("%s: at %.0f rpm.", at, r.RPM.At(b.At))
	}
	return at + "."
}

// attemptAt is the attempt that an offset falls into, or the last before it; -1
// before the first.
func (r *Report) attemptAt(at time.Duration) int {
	last := -1
	for i, a := range r.Attempts {
		if a.Engaged <= at {
			last = i
		}
	}
	return last
}

// restWords writes a rest, from a tenth of a second on.
func restWords(d time.Duration) string {
	if d >= 2*time.Minute {
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return secs(d)
}
