package natslink_test

import (
	"slices"
	"testing"
	"time"

	"kickover/procedure/classroom/natslink"
)

// A class on this machine's own network is found while it announces itself, and
// only then.
func TestAClassIsFound(t *testing.T) {
	r := open(t)
	want := natslink.Nearby{Name: "Tuesday, 9 o'clock: Übung.", Address: r.addr}
	stop, err := natslink.Announce(r.i.Class().ID, want.Name, r.addr)
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	found := natslink.Look(time.Second)
	for begun := time.Now(); !slices.Contains(found, want) && time.Since(begun) < patience; {
		found = natslink.Look(time.Second) // on a machine that is busy an answer may come too late
	}
	if !slices.Contains(found, want) {
		t.Errorf("found %+v, want %+v", found, want)
	}
	stop()
	if found := natslink.Look(300 * time.Millisecond); slices.Contains(found, want) {
		t.Error("it is found after it stopped")
	}
}

func TestOnlyARoomIsAnnounced(t *testing.T) {
	for _, address := range []string{"nats.school.example:4222/ABCDEF", "192.0.2.77:4477", "nonsense"} {
		if stop, err := natslink.Announce("CLASSCLASS23", "Tuesday", address); err == nil {
			stop()
			t.Errorf("%s is announced", address)
		}
	}
}
