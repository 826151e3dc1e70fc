package rehearsal_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// flownAndWhat flies every flow that ships with every fault that its aeroplane can
// have, on one of three days each, and lets look see the run.
func flownAndWhat(t *testing.T, look func(t *testing.T, o rehearsal.Options, r *rehearsal.Rehearsal)) {
	days := []rehearsal.Conditions{
		{OATCelsius: 15},
		{OATCelsius: -15, BatteryCharge: 0.6},
		{OATCelsius: 32, SinceShutdown: 20 * time.Minute, PressureAltM: 1500},
	}
	n := 0
	for _, id := range []procedure.AircraftID{big, small} {
		lib := shipped.Aircraft(t, id)
		for _, f := range lib.Flows {
			if !f.Entry {
				continue
			}
			for _, fault := range append(powerplant.Faults(), powerplant.FaultInfo{}) {
				o := rehearsal.Options{Library: lib, Flow: f.ID, Phase: procedure.Demonstrate, Seed: uint64(n), Conditions: days[n%len(days)]}
				n++
				name := fmt.Sprintf("%s/%s/nothing wrong", id, f.ID)
				if fault.Fault != "" {
					name, o.Faults = fmt.Sprintf("%s/%s/%s", id, f.ID, fault.Fault), []powerplant.Fault{fault.Fault}
				}
				t.Run(name, func(t *testing.T) {
					r := begin(t, o)
					for at := time.Duration(0); at < 12*time.Minute && !r.Done(); at += 997 * time.Millisecond {
						r.Advance(at)
						switch int(at / time.Second) {
						case 5, 40:
							r.Paused(7 * time.Second)
						case 75:
							r.SkipRest()
						}
					}
					r.End(procedure.EndAbandoned)
					look(t, o, r)
				})
			}
		}
	}
}

// Whatever was wrong, and with pauses and rests skipped: the list tells how the
// run ended, gives the same run when it is judged again, and the same list when it
// is flown again.
func TestEveryRunIsTheSameAgain(t *testing.T) {
	t.Parallel()
	flownAndWhat(t, func(t *testing.T, o rehearsal.Options, r *rehearsal.Rehearsal) {
		events := r.Events()
		for i, e := range events {
			if last := i == len(events)-1; last != (e.Kind == procedure.EventEnd) {
				t.Fatalf("event %d of %d is %+v", i+1, len(events), e)
			}
		}
		again, err := procedure.Replay(procedure.Setup{Library: o.Library, Flow: o.Flow, Phase: o.Phase,
			OATCelsius: o.Conditions.OATCelsius, Ledger: ledger(o.Library)}, events)
		if err != nil {
			t.Fatal(err)
		}
		sameState(t, r.State(), again.State())

		o.Replay, o.Hands = true, rehearsal.Replayable(events)
		flown := begin(t, o)
		fly(flown)
		if got := unpaused(flown.Events()); !sameEvents(got, unpaused(events)) {
			t.Errorf("flown again the run has %d events where it had %d, or other ones", len(got), len(unpaused(events)))
		}
	})
}

// unpaused leaves out the pauses, which a replay does not make, and the numbers
// that they took.
func unpaused(events []procedure.Event) []procedure.Event {
	var out []procedure.Event
	for _, e := range events {
		if e.Kind != procedure.EventPause {
			e.Seq = len(out) + 1
			out = append(out, e)
		}
	}
	return out
}

func sameState(t *testing.T, was, is procedure.State) {
	t.Helper()
	if was.Outcome != is.Outcome || was.At != is.At || len(was.Steps) != len(is.Steps) {
		t.Fatalf("it ended %q at %v with %d steps, and again %q at %v with %d",
			was.Outcome, was.At, len(was.Steps), is.Outcome, is.At, len(is.Steps))
	}
	if a, b := fmt.Sprint(was.Attempts, was.Primes, was.Breaches, was.Decisions, was.Drills),
		fmt.Sprint(is.Attempts, is.Primes, is.Breaches, is.Decisions, is.Drills); a != b {
		t.Errorf("it was\n%s\nand again\n%s", a, b)
	}
	for i := range was.Steps {
		a, b := was.Steps[i], is.Steps[i]
		alike := a.Value == b.Value || math.IsNaN(a.Value) && math.IsNaN(b.Value)
		if a.Key != b.Key || a.Status != b.Status || a.Verdict != b.Verdict || a.Begin != b.Begin || a.Done != b.Done || a.Elapsed != b.Elapsed || !alike {
			t.Errorf("step %s: %s %q after %v, and again %s: %s %q after %v", a.Key, a.Status, a.Verdict, a.Elapsed, b.Key, b.Status, b.Verdict, b.Elapsed)
		}
	}
}
