// Package shipped gives tests the aeroplanes that the program brings along.
package shipped

import (
	"testing"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
)

// Brindle180 is the aeroplane that most tests fly.
func Brindle180(t testing.TB) *procedure.Library {
	t.Helper()
	return Aircraft(t, "brindle-180")
}

// Aircraft finds an aeroplane with its flows.
func Aircraft(t testing.TB, id procedure.AircraftID) *procedure.Library {
	t.Helper()
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range libraries {
		if l.Aircraft.ID == id {
			return l
		}
	}
	t.Fatalf("no aircraft %q is shipped", id)
	return nil
}
