package rehearsal

import "kickover/procedure"

// Replayable picks out of a run's events those that came from outside: the acts
// of the student, and what the world did, with what went wrong in the middle of
// it. Given to a new run as Options.Hands, with the same seed, conditions and
// faults to begin with, they fly it again, powerplant and all.
func Replayable(events []procedure.Event) []procedure.Event {
	var out []procedure.Event
	for _, e := range events {
		switch e.Kind {
		case procedure.EventMove, procedure.EventLook, procedure.EventCall, procedure.EventReport,
			procedure.EventChoose, procedure.EventArea, procedure.EventInterrupt, procedure.EventSkip:
			out = append(out, e)
		case procedure.EventEnd:
			if e.Text != procedure.EndComplete { // which the run says of itself
				out = append(out, e)
			}
		case procedure.EventFault:
			if e.At > 0 { // the others were there when the run began
				out = append(out, e)
			}
		}
	}
	return out
}
