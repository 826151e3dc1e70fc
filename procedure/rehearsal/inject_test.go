package rehearsal_test

import (
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// What an instructor let go wrong in the middle of a run goes wrong in its
// replay, at the same moment and with the same end.
func TestReplayMeetsTheInjectedFault(t *testing.T) {
	lib := shipped.Aircraft(t, "brindle-180")
	o := rehearsal.Options{Library: lib, Flow: "cold", Phase: procedure.Demonstrate, Seed: 5, Conditions: rehearsal.Conditions{OATCelsius: 10}}
	sound := begin(t, o)
	sound.Advance(4 * time.Minute)
	first := begin(t, o)
	first.Advance(3 * time.Second)
	if err := first.Inject(powerplant.FaultPumpDead); err != nil {
		t.Fatal(err)
	}
	first.Advance(4 * time.Minute)
	first.End(procedure.EndAbandoned)
	o.Replay, o.Hands = true, rehearsal.Replayable(first.Events())
	again := begin(t, o)
	fly(again)
	if !sameEvents(first.Events(), again.Events()) {
		t.Errorf("the replay has %d events where the run had %d, or other ones", len(again.Events()), len(first.Events()))
	}
	fuelFlow := func(events []procedure.Event) (out []procedure.Event) {
		for _, e := range events {
			if e.Kind == procedure.EventReading && e.Subject == string(procedure.InstrumentFuelFlow) {
				out = append(out, e)
			}
		}
		return out
	}
	if sameEvents(fuelFlow(sound.Events()), fuelFlow(first.Events())) {
		t.Error("the fault changed nothing of the fuel flow: the test shows nothing")
	}
}
