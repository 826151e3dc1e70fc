package planner

import (
	"fmt"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// HandbookRules is why advice keeps to the handbook's window.
const HandbookRules = "The handbook rules: it comes from the real aeroplane, by those who answer for it. " +
	"These numbers come from a simulated engine that was fitted to common practice and is a validation of nothing."

// Handbook is what the aircraft's own flow says about the prime. For a real
// aeroplane the flow is written from its handbook.
type Handbook struct {
	Flow      procedure.FlowID
	Title     string // "Cold start"
	Situation string // cold, warm, hot, …
	KnownBy   string // how a pilot tells that this is the situation
	Unit      Unit
	// Min, Ideal and Max of the prime; all zero where the flow primes not at all.
	Min, Ideal, Max float64
}

// Primes reports whether the flow primes.
func (h Handbook) Primes() bool { return h.Max > 0 }

// String is the window in words.
func (h Handbook) String() string {
	switch {
	case !h.Primes():
		return "no prime"
	case h.Min == h.Max:
		return amount(h.Ideal, h.Unit)
	}
	return fmt.Sprintf("%.3g to %s, ideal %s", h.Min, amount(h.Max, h.Unit), amount(h.Ideal, h.Unit))
}

// Inside reports whether a prime lies in the window; both edges do.
func (h Handbook) Inside(prime float64) bool {
	return h.Primes() && prime >= h.Min && prime <= h.Max
}

// Bounds between the situations, as the Brindle's flows say them. Another
// aircraft's flows may bound them otherwise: [Question.Flow] says which it is.
const (
	hotFor  = 30 * time.Minute // since shutdown, less is hot
	warmFor = 2 * time.Hour    // since shutdown, more is cold
	coldC   = 40.0             // cylinder head, below is cold
)

// Situation tells cold, warm and hot apart.
func (a *Aeroplane) Situation(c powerplant.Conditions) (string, error) {
	head, err := a.HeadCelsius(c)
	if err != nil {
		return "", err
	}
	since := c.SinceShutdown
	switch {
	case since == 0 || since > warmFor || head < coldC:
		return "cold", nil
	case since < hotFor && a.entry("hot") != nil:
		return "hot", nil
	case a.entry("warm") != nil:
		return "warm", nil
	}
	return "cold", nil
}

// entry is the flow with which a start in a situation begins, nil for none.
func (a *Aeroplane) entry(situation string) *procedure.Flow {
	for _, f := range a.Library.Flows {
		if f.Entry && f.Situation == situation {
			return f
		}
	}
	return nil
}

// Handbook is what the flow says; the empty id is the flow that the conditions
// call for.
func (a *Aeroplane) Handbook(id procedure.FlowID, c powerplant.Conditions) (Handbook, error) {
	if id != "" {
		f, ok := a.Library.Flow(id)
		if !ok {
			return Handbook{}, fmt.Errorf("%s has no flow %q", a.Library.Aircraft.Name, id)
		}
		return a.handbook(f), nil
	}
	situation, err := a.Situation(c)
	if err != nil {
		return Handbook{}, err
	}
	f := a.entry(situation)
	if f == nil {
		return Handbook{}, fmt.Errorf("%s has no flow for a %s start: name a flow of its own", a.Library.Aircraft.Name, situation)
	}
	return a.handbook(f), nil
}

func (a *Aeroplane) handbook(f *procedure.Flow) Handbook {
	h := Handbook{Flow: f.ID, Title: f.Title, Situation: f.Situation, KnownBy: f.KnownBy, Unit: a.Unit}
	if a.Unit == Strokes {
		n := float64(strokes(f, a.Library.Aircraft))
		h.Min, h.Ideal, h.Max = n, n, n
		return h
	}
	for _, s := range f.Steps {
		if s.Kind == procedure.StepHold && !s.Window.Zero() {
			h.Min, h.Ideal, h.Max = s.Window.Min.Seconds(), s.Window.Ideal.Seconds(), s.Window.Max.Seconds()
			if h.Ideal == 0 {
				h.Ideal = (h.Min + h.Max) / 2
			}
			break
		}
	}
	return h
}

// strokes counts how often the flow draws the hand primer out.
func strokes(f *procedure.Flow, a *procedure.Aircraft) int {
	primer, ok := a.Control(procedure.ControlPrimer)
	if !ok {
		return 0
	}
	n, out := 0, false
	for _, s := range f.Steps {
		for _, t := range s.Targets {
			if t.Control == procedure.ControlPrimer {
				drawn := !t.Met(primer.Initial)
				if drawn && !out {
					n++
				}
				out = drawn
			}
		}
	}
	return n
}
