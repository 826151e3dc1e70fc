package realstart

import (
	"fmt"
	"time"

	"kickover/procedure"
)

// Observation is one start as a debrief looks at it: what was primed, against the
// window that the aircraft's own flow gives for its situation and temperature.
type Observation struct {
	Start   Start
	Window  procedure.Window // of the whole prime; zero when there is none to compare with
	Verdict procedure.Verdict
	// Detail says the comparison, or why there is none, in a few words.
	Detail string
}

// Observe looks at each start, in the order given. Window says how long the prime
// of a start might have taken, and false where its aircraft or flow is not known.
// A start of several attempts is not compared: its prime is the sum of theirs, and
// what each was given is not in the record.
func Observe(starts []Start, window func(Start) (procedure.Window, bool)) []Observation {
	var out []Observation
	for _, s := range starts {
		o := Observation{Start: s, Verdict: procedure.Pending}
		w, found := window(s)
		switch {
		case s.Prime == 0:
			o.Detail = "no prime"
		case s.Attempts != 1:
			o.Detail = fmt.Sprintf("%s in all, over %d attempts", tenths(s.Prime), s.Attempts)
		case !found || w.Zero():
			o.Detail = tenths(s.Prime) + ", no window known"
		default:
			o.Window = w
			o.Verdict, o.Detail = against(s.Prime, w)
		}
		out = append(out, o)
	}
	return out
}

func against(prime time.Duration, w procedure.Window) (procedure.Verdict, string) {
	of := fmt.Sprintf("%s of %.1f–%.1f s", tenths(prime), w.Min.Seconds(), w.Max.Seconds())
	switch {
	case prime < w.Min:
		return procedure.Early, of + ", short by " + tenths(w.Min-prime)
	case prime > w.Max:
		return procedure.Late, of + ", long by " + tenths(prime-w.Max)
	default:
		return procedure.OnTime, of
	}
}

func tenths(d time.Duration) string { return fmt.Sprintf("%.1f s", d.Seconds()) }
