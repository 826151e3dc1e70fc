package debrief_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/flowfile"
	"kickover/procedure/hands"
	"kickover/procedure/rehearsal"
)

// flown flies a file of hands on the Brindle 180's cold start and debriefs it.
func flown(t *testing.T, file string, celsius float64) *debrief.Report {
	t.Helper()
	libs, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	for _, lib := range libs {
		if lib.Aircraft.ID != "brindle-180" {
			continue
		}
		f, err := os.Open(filepath.Join("..", "..", "testdata", "hands", file))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		acts, err := hands.Parse(f, lib.Aircraft)
		if err != nil {
			t.Fatal(err)
		}
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
	t.Fatal("the Brindle 180 is not shipped")
	return nil
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
			"You held the prime 10.0 s, 5.0 s too long. The window is 3.5 to 5.0 s. The flow had levelled off at",
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
			"You held the prime 5.4 s, 0.4 s too long.",
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
