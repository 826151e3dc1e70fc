package planner

import (
	"fmt"
	"math"

	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/realstart"
)

// Records are real starts sorted into those that can be learnt from and those
// that cannot.
type Records struct {
	Seen []Seen
	Left []string // why each of the others is left out
}

// WhyNotLearn says why nothing can be learnt of an aeroplane from real starts;
// empty when something can.
func (a *Aeroplane) WhyNotLearn() string {
	if a.Unit == Seconds {
		return ""
	}
	return fmt.Sprintf("Nothing is learnt of the %s from real starts: its handbook gives one number of strokes, "+
		"which the timer does not count, and starts that are all primed alike say nothing of another prime.", a.Library.Aircraft.Name)
}

// FromRecords takes the starts of one registration out of the timer's records. A
// start that took several attempts teaches what its first one did: it did not
// start. What the pilot did next tells what the pilot took it for: a flow for a
// flooded engine, or more prime.
func (a *Aeroplane) FromRecords(registration string, starts []realstart.Start) Records {
	var r Records
	for _, s := range starts {
		if s.Registration != registration || s.Aircraft != "" && s.Aircraft != a.Library.Aircraft.ID {
			continue
		}
		seen, why := a.fromRecord(s)
		if why != "" {
			r.Left = append(r.Left, fmt.Sprintf("%s: %s", s.At.Format("2 January 2006 15:04"), why))
			continue
		}
		r.Seen = append(r.Seen, seen)
	}
	return r
}

// again is the part of all the fuel given that was the first prime, where half
// the prime again followed it.
const again = 2.0 / 3

func (a *Aeroplane) fromRecord(s realstart.Start) (Seen, string) {
	o := Seen{Prime: s.Prime.Seconds(), Saw: SawFailed}
	o.Conditions = powerplant.Conditions{OATCelsius: s.OATCelsius, PressureAltitudeM: s.AltitudeM, SinceShutdown: s.SinceShutdown}
	if math.IsNaN(s.AltitudeM) {
		o.Conditions.PressureAltitudeM = 0 // moves a start little
	}
	switch {
	case a.Unit != Seconds:
		return o, "the strokes of a hand primer are not in the record"
	case s.Attempts < 1:
		return o, "no attempt was made"
	case math.IsNaN(s.OATCelsius):
		return o, "the temperature is not known"
	case !s.ShutdownKnown:
		return o, "the time since shutdown is not known"
	}
	if err := o.Conditions.Validate(); err != nil {
		return o, err.Error()
	}
	first := s.Attempts == 1
	switch s.Situation {
	case "cold", "warm", "hot":
		if first && s.Outcome == procedure.Started {
			o.Saw = SawStart
		}
	case "flooded":
		if first {
			return o, "it was flooded before the first attempt"
		}
		o.Saw = SawWet
	case "again":
		if first {
			return o, "what went before is not in the record"
		}
		o.Saw, o.Prime = SawLittle, again*o.Prime
	default:
		return o, fmt.Sprintf("it is not known whether it was cold, warm or hot: the record says %q", s.Situation)
	}
	return o, ""
}
