package debrief_test

import (
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
)

// acts are hands' movements up to a start, in seconds; the mixture goes back after
// prime seconds, or never.
func acts(prime float64) []procedure.Event {
	at := func(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
	move := func(s float64, control string, to float64) procedure.Event {
		return procedure.Event{At: at(s), Kind: procedure.EventMove, Subject: control, Value: to}
	}
	out := []procedure.Event{move(1, "brakes", 1), move(2, "battery", 1), {At: at(3), Kind: procedure.EventReport, Subject: "bus_volts"},
		move(4, "boost_pump", 1), move(5, "throttle", 28)}
	if prime > 0 {
		out = append(out, move(6, "mixture", 1), move(6+prime, "mixture", 0))
	}
	out = append(out, move(40, "throttle", 9), procedure.Event{At: at(41), Kind: procedure.EventCall, Subject: procedure.CallReady})
	for i, s := range procedure.Sectors {
		out = append(out, procedure.Event{At: at(42 + float64(i)), Kind: procedure.EventLook, Subject: s})
	}
	return append(out, procedure.Event{At: at(45), Kind: procedure.EventCall, Subject: procedure.CallClear}, move(49, "ignition", 4))
}

// What a run's end cut short is told as long as it lasted, and a starter held for
// ever by what it found while it might.
func TestWhatWasCutShortIsToldAsItWas(t *testing.T) {
	lib := shipped.Brindle180(t)
	r := debriefed(t, lib, 10, acts(0))
	if a := r.Attempts[0]; a.Crank() < 75*time.Second {
		t.Errorf("a starter held to the end was engaged for %v", a.Crank())
	}
	if strings.Contains(r.Why, "did not turn") {
		t.Errorf("a starter that turned until it burnt is told as %q", r.Why)
	}
	if said := r.Reasons[0].Body; !strings.Contains(said, "cranked for 7") {
		t.Errorf("the limit was passed by a minute: %q", said)
	}

	held := append(acts(0)[:5:5], procedure.Event{At: 6 * time.Second, Kind: procedure.EventMove, Subject: "mixture", Value: 1})
	if r = debriefed(t, lib, 10, held); len(r.Reasons) == 0 || !strings.HasPrefix(r.Reasons[0].Head, "You held the prime 7") {
		t.Errorf("a prime that never ended: %q", r.Reasons)
	}
}

// A starter ground into the running engine is told, and not that it did not start.
func TestGrindingIsNotAStartThatFailed(t *testing.T) {
	at := func(s float64, control string, to float64) procedure.Event {
		return procedure.Event{At: time.Duration(s * float64(time.Second)), Kind: procedure.EventMove, Subject: control, Value: to}
	}
	flown := append(acts(4.2), at(50.5, "mixture", 1), at(51, "ignition", 3), at(55, "ignition", 4), at(56, "ignition", 3))
	r := debriefed(t, shipped.Brindle180(t), 10, flown)
	if !r.Started || !r.Unsafe || len(r.Attempts) != 1 || !strings.HasPrefix(r.Why, "It fired after") {
		t.Errorf("started %v, unsafe %v, %d attempts: %q", r.Started, r.Unsafe, len(r.Attempts), r.Why)
	}
	if len(r.Breaches) != 1 || !strings.Contains(r.Reasons[0].Body, "it had fired") {
		t.Errorf("breaches %v, reasons %q", r.Breaches, r.Reasons)
	}
}
