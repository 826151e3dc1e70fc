package chart_test

import (
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/practice/learner"
	"kickover/procedure/proficiency"
	"kickover/procedure/rehearsal"
)

// fly lets a hand fly the cold start at 10 degC and debriefs it.
func fly(t testing.TB, h *learner.Hand) (*debrief.Report, []procedure.Event) {
	t.Helper()
	lib := shipped.Brindle180(t)
	events, err := h.Fly(rehearsal.Options{
		Library: lib, Flow: "cold", Phase: procedure.Evaluate, Seed: 1, Conditions: rehearsal.Conditions{OATCelsius: 10},
	})
	if err != nil {
		t.Fatal(err)
	}
	report, err := debrief.Of(debrief.Subject{
		Library: lib, Flow: "cold", Phase: procedure.Evaluate, OATCelsius: 10, Events: events,
	})
	if err != nil {
		t.Fatal(err)
	}
	return report, events
}

// fifty is the report of an invented student's fifty runs, flown and debriefed one
// by one.
func fifty(t testing.TB) *proficiency.Report {
	t.Helper()
	flow, ok := shipped.Brindle180(t).Flow("cold")
	if !ok {
		t.Fatal("no cold start")
	}
	var runs []proficiency.Run
	last := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for n := 1; n <= 50; n++ {
		report, events := fly(t, learner.Improving(4, n))
		runs = append(runs, proficiency.Observe(learner.When(n, 50, last), flow, procedure.Evaluate, report, events))
	}
	return proficiency.Of(runs)
}
