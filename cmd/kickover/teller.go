package main

import (
	"fmt"
	"io"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
)

// teller tells a run in a terminal as it happens: each line spoken, each step
// with its verdict, each danger.
type teller struct {
	out     io.Writer
	units   units.Units
	told    map[string]bool // steps whose verdict was told
	caption rehearsal.Caption
	alerts  int
}

func newTeller(out io.Writer, o rehearsal.Options) *teller {
	t := &teller{out: out, units: chosenUnits(), told: map[string]bool{}}
	f, _ := o.Library.Flow(o.Flow)
	day := fmt.Sprintf("%g °C, %g m", o.Conditions.OATCelsius, o.Conditions.PressureAltM)
	fmt.Fprintf(out, "%s: %s, %s phase. %s, %s since shutdown.\n%s\n\n",
		o.Library.Aircraft.Name, f.Title, o.Phase, t.units.Words(day), o.Conditions.SinceShutdown, caution)
	return t
}

func (t *teller) tell(s *rehearsal.Snapshot) {
	if c := s.Caption; c.Text != "" && (c.Text != t.caption.Text || c.At != t.caption.At) {
		t.caption = c
		fmt.Fprintf(t.out, "%s  “%s”%s\n", clockOf(s), c.Text, t.units.Words(cue(s)))
	}
	for ; t.alerts < len(s.Alerts); t.alerts++ {
		fmt.Fprintf(t.out, "%s  ■ UNSAFE: %s\n", clockOf(s), s.Alerts[t.alerts].Breach)
	}
	for _, v := range s.Steps {
		if v.Status != rehearsal.StepDone || t.told[v.Key] || v.Verdict == procedure.Pending {
			continue
		}
		t.told[v.Key] = true
		fmt.Fprintf(t.out, "%s  %s %s  %s\n", clockOf(s), debrief.Mark(v.Verdict), t.units.Words(v.Step.Title), t.units.Words(v.Detail))
	}
}

// cue is what the fuel flow does while the prime is held: the sign to act on.
func cue(s *rehearsal.Snapshot) string {
	if s.Clock.Label != "PRIME" || s.FlowState == rehearsal.FlowNone {
		return ""
	}
	flow := s.FlowTrace[len(s.FlowTrace)-1].Value
	return fmt.Sprintf("   fuel flow %.1f g/s, %s", flow, s.FlowState)
}

func clockOf(s *rehearsal.Snapshot) string {
	return fmt.Sprintf("%2d:%04.1f", int(s.At.Minutes()), s.At.Seconds()-60*float64(int(s.At.Minutes())))
}
