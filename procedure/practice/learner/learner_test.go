package learner_test

import (
	"fmt"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/practice/learner"
	"kickover/procedure/rehearsal"
)

func cold(t *testing.T, h *learner.Hand) []procedure.Event {
	t.Helper()
	events, err := h.Fly(rehearsal.Options{
		Library: shipped.Brindle180(t), Flow: "cold", Phase: procedure.Evaluate, Seed: 1,
		Conditions: rehearsal.Conditions{OATCelsius: 10, SinceShutdown: 12 * time.Hour, BatteryCharge: .9},
	})
	if err != nil {
		t.Fatal(err)
	}
	return events
}

// last is when the last event of a kind with a subject was, and how often it came.
func last(events []procedure.Event, kind procedure.EventKind, subject string) (at time.Duration, times int) {
	for _, e := range events {
		if e.Kind == kind && e.Subject == subject {
			at, times = e.At, times+1
		}
	}
	return at, times
}

func TestTheSameHandFliesTheSameRun(t *testing.T) {
	// As text, since a gauge that is dead shows what is not a number.
	flown := func(seed uint64) string { return fmt.Sprint(cold(t, learner.Improving(seed, 20))) }
	if first, second := flown(7), flown(7); first != second {
		t.Error("two runs of one hand differ")
	}
	if flown(7) == flown(8) {
		t.Error("two seeds fly alike")
	}
}

// A practised hand starts the engine at once; its prime is as long as it was meant
// to be, to the grain of its decisions.
func TestAPractisedHandStartsIt(t *testing.T) {
	events := cold(t, &learner.Hand{Prime: 4200 * time.Millisecond, Crank: 5 * time.Second, Think: time.Second})
	if _, runs := last(events, procedure.EventSignal, procedure.SignalRuns); runs != 1 {
		t.Errorf("it ran %d times", runs)
	}
	var forward, held time.Duration
	for _, e := range events {
		if e.Kind == procedure.EventMove && e.Subject == string(procedure.ControlMixture) {
			if e.Value > 0 && held == 0 {
				forward = e.At
			} else if held == 0 && forward > 0 {
				held = e.At - forward
			}
		}
	}
	if held < 4200*time.Millisecond || held > 4300*time.Millisecond {
		t.Errorf("the prime was held %v", held)
	}
}

// Nobody keeps on for ever: a hand that floods it tries as often as it may.
func TestAHandGivesUp(t *testing.T) {
	events := cold(t, &learner.Hand{Prime: 30 * time.Second, Crank: 5 * time.Second, Think: time.Second})
	if _, runs := last(events, procedure.EventSignal, procedure.SignalRuns); runs != 0 {
		t.Error("thirty seconds of prime and it ran")
	}
	if e := events[len(events)-1]; e.Kind != procedure.EventEnd {
		t.Errorf("the last event is %+v, want the end", e)
	}
}

// The days go by in order, and three weeks lie before the lapse.
func TestDays(t *testing.T) {
	end := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	for n := 2; n <= 50; n++ {
		before, at := learner.When(n-1, 50, end), learner.When(n, 50, end)
		gap := at.Sub(before)
		if gap <= 0 || n == learner.Lapse.From && gap < 21*24*time.Hour || n != learner.Lapse.From && gap > 4*24*time.Hour {
			t.Errorf("run %d follows %v after the one before", n, gap)
		}
	}
	if got := learner.When(50, 50, end); got.YearDay() != end.YearDay() {
		t.Errorf("the last run is on %v, want the day given", got)
	}
}
