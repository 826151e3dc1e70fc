package rehearsal_test

import (
	"testing"
	"time"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
	"kickover/procedure/rehearsal"
)

// brindle180 is the shipped aeroplane with its flows.
func brindle180(t testing.TB) *procedure.Library {
	t.Helper()
	libs, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range libs {
		if l.Aircraft.ID == "brindle-180" {
			return l
		}
	}
	t.Fatal("the Brindle 180 is not shipped")
	return nil
}

// demonstrate flies a flow by the demonstrator to its end.
func demonstrate(t testing.TB, flow procedure.FlowID, c rehearsal.Conditions) *rehearsal.Rehearsal {
	t.Helper()
	r, err := rehearsal.New(rehearsal.Options{
		Library: brindle180(t), Flow: flow, Phase: procedure.Demonstrate, Seed: 1, Conditions: c,
	})
	if err != nil {
		t.Fatal(err)
	}
	for at := time.Duration(0); at < 10*time.Minute && !r.Done(); at += time.Second {
		r.Advance(at)
	}
	return r
}

func TestDemonstration(t *testing.T) {
	r := demonstrate(t, "cold", rehearsal.Conditions{OATCelsius: 10})
	st := r.State()
	for _, s := range st.Steps {
		t.Logf("%-20s %-11s %-12s %6.2fs begin %6.2f done %6.2f", s.Key, s.Status, s.Verdict, s.Elapsed.Seconds(), s.Begin.Seconds(), s.Done.Seconds())
	}
	for _, p := range st.Primes {
		t.Logf("prime %v levelled %v", p.Length(), p.LevelledAt-p.Begin)
	}
	for _, a := range st.Attempts {
		t.Logf("attempt %+v", a)
	}
	t.Logf("outcome %q at %v, %d events, breaches %v", st.Outcome, st.At, len(r.Events()), st.Breaches)
	if st.Outcome != procedure.Started {
		t.Fail()
	}
}
