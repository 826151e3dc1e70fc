package flowfile_test

import (
	"testing"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
)

func shipped(t testing.TB) map[procedure.AircraftID]*procedure.Library {
	t.Helper()
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	byID := map[procedure.AircraftID]*procedure.Library{}
	for _, l := range libraries {
		byID[l.Aircraft.ID] = l
	}
	return byID
}

func TestShippedFlowsLoad(t *testing.T) {
	lib := shipped(t)["brindle-180"]
	if lib == nil {
		t.Fatal("no Brindle 180")
	}
	for _, id := range []procedure.FlowID{"cold", "warm", "hot", "flooded-patience", "flooded-air"} {
		f, ok := lib.Flow(id)
		if !ok || !f.Entry {
			t.Errorf("flow %q: present %v; a run must be able to begin with it", id, ok)
		}
	}
	for _, id := range []procedure.FlowID{"prime-again", "prime-again-warm"} {
		if f, ok := lib.Flow(id); !ok || f.Entry {
			t.Errorf("flow %q: present %v; it must be reached only by a choice", id, ok)
		}
	}
}
