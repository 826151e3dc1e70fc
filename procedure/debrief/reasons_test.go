package debrief_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/hands"
	"kickover/procedure/rehearsal"
)

// debriefed flies acts on the cold start and debriefs them.
func debriefed(t *testing.T, lib *procedure.Library, celsius float64, acts []procedure.Event) *debrief.Report {
	t.Helper()
	run, err := rehearsal.New(rehearsal.Options{
		Library: lib, Flow: "cold", Phase: procedure.Evaluate, Seed: 2, Hands: acts,
		Conditions: rehearsal.Conditions{OATCelsius: celsius, SinceShutdown: 12 * time.Hour, BatteryCharge: .88},
	})
	if err != nil {
		t.Fatal(err)
	}
	last, _ := run.LastHand()
	run.Advance(last + 75*time.Second)
	run.End(procedure.EndHands)
	r, err := debrief.Of(debrief.Subject{
		Library: lib, Flow: "cold", Phase: procedure.Evaluate, OATCelsius: celsius, Events: run.Events(),
	})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// flown debriefs a file of hands.
func flown(t *testing.T, file string, celsius float64) *debrief.Report {
	t.Helper()
	lib := shipped.Brindle180(t)
	f, err := os.Open(filepath.Join("..", "..", "testdata", "hands", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	acts, err := hands.Parse(f, lib.Aircraft)
	if err != nil {
		t.Fatal(err)
	}
	return debriefed(t, lib, celsius, acts)
}

// What to do differently: at most three, the most dangerous first, none twice, and
// each with a number.
func TestReasons(t *testing.T) {
	for _, c := range []struct {
		file    string
		celsius float64
		says    []string // each reason's, in their order
	}{
		{"cold-as-taught.jsonl", 10, nil},
		{"prime-ten-seconds.jsonl", 10, []string{
			"5.0 s too long. The window is 3.5 to 5.0 s, and the flow levelled off at 3.7 s: that is the cue. The last 5.0 s let 15.5 g more fuel in, and 7.4 g lay liquid in the cylinders.",
			"of liquid fuel wet the plugs. It is flooded. Leave the mixture back, rest, crank again.",
			"Left out: Boost pump off. 1 of 13 steps.",
		}},
		{"no-look.jsonl", 10, []string{"Unsafe: no valid propeller-area check. At 0:23.5. Left, ahead, right"}},
		{"starter-overrun.jsonl", 10, []string{
			"Unsafe: starter past its limit. At 0:29.5: cranked for 7.5 s, and the limit is 6.0 s.",
			"You did not prime. The window is 3.5 to 5.0 s. The charge held 0.0 % vapour, and nothing burns below 1.3 %.",
			"Left out: Boost pump off.",
		}},
		{"prime-slightly-long.jsonl", -5, []string{
			"You held the prime 5.4 s, 0.4 s too long. The window is 3.5 to 5.0 s, and the flow levelled off at 3.7 s: that is the cue. The last 0.4 s let 1.2 g more fuel in and made the mixture in the cylinders richer:",
			"Settle at 1,000 rpm: it did not settle. 10.0 s on it turned",
		}},
	} {
		r := flown(t, c.file, c.celsius)
		var got []string
		for _, reason := range r.Reasons {
			got = append(got, reason.Head+" "+reason.Body)
			if !regexp.MustCompile(`\d`).MatchString(reason.Head + reason.Body) {
				t.Errorf("%s: %q has no number", c.file, reason)
			}
		}
		if len(got) != len(c.says) {
			t.Errorf("%s: %q", c.file, got)
			continue
		}
		for i, want := range c.says {
			if !strings.Contains(got[i], want) {
				t.Errorf("%s: reason %d is %q, want %q in it", c.file, i+1, got[i], want)
			}
		}
	}
}

// What a debrief shows of a run that needs nothing done differently stands in the
// record, and is bounded as the reasons are.
func TestWentWell(t *testing.T) {
	r := flown(t, "cold-as-taught.jsonl", 10)
	var got []string
	for _, x := range r.WentWell() {
		got = append(got, x.Head+" "+x.Body)
	}
	want := []string{
		`^The prime was held 4\.\d s\. The window is 3\.5 to 5\.0 s, and the flow levelled off at 3\.\d s: that is the cue\.$`,
		`^The mixture came [01]\.\d s after it fired\. It has 2\.0 s: the prime is used up in a few seconds\.$`,
		`^\d+ steps on time and in order\. Nearest to its limit: .+, \d+\.\d s of \d+\.\d s\.$`,
	}
	if len(got) != len(want) {
		t.Fatalf("%q", got)
	}
	for i := range want {
		if !regexp.MustCompile(want[i]).MatchString(got[i]) {
			t.Errorf("%q, want %s", got[i], want[i])
		}
	}
}

// The step at which somebody broke a run off was not left out.
func TestWhereARunWasLeft(t *testing.T) {
	lib := shipped.Brindle180(t)
	run, err := rehearsal.New(rehearsal.Options{Library: lib, Flow: "cold", Phase: procedure.Perform, Seed: 2,
		Conditions: rehearsal.Conditions{OATCelsius: 10, SinceShutdown: 12 * time.Hour, BatteryCharge: .88}})
	if err != nil {
		t.Fatal(err)
	}
	run.Advance(8 * time.Second)
	run.End(procedure.EndAbandoned)
	r, err := debrief.Of(debrief.Subject{Library: lib, Flow: "cold", Phase: procedure.Perform, OATCelsius: 10, Events: run.Events()})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Reasons) != 1 || r.Reasons[0].Head != "You left the run at: brakes held." || r.Reasons[0].Body != "Step 1 of the flow." {
		t.Errorf("%q", r.Reasons)
	}
	if reached := r.Reached(); len(reached) != 1 || reached[0].Verdict != procedure.Pending || r.Steps[0].Verdict != procedure.Missed {
		t.Errorf("the steps that were reached: %+v", reached)
	}
}
