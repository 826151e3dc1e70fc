package realstart_test

import (
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
)

// A prime of 3 to 5 s; common practice, no source.
func TestStartsAgainstTheirWindow(t *testing.T) {
	const sec = time.Second
	start := func(prime time.Duration, attempts int) realstart.Start {
		return realstart.Start{Situation: "cold", Prime: prime, Attempts: attempts}
	}
	unknown := start(4*sec, 1)
	unknown.Situation = "tepid"
	got := realstart.Observe([]realstart.Start{
		start(4200*time.Millisecond, 1), start(3*sec, 1), start(5*sec, 1), start(2500*time.Millisecond, 1), start(5100*time.Millisecond, 1),
		start(6*sec, 2), start(0, 1), unknown,
	}, func(s realstart.Start) (procedure.Window, bool) {
		return procedure.Window{Min: 3 * sec, Ideal: 4 * sec, Max: 5 * sec}, s.Situation == "cold"
	})
	for i, want := range []struct {
		verdict procedure.Verdict
		detail  string
	}{
		{procedure.OnTime, "4.2 s of 3.0–5.0 s"},
		{procedure.OnTime, "3.0 s of 3.0–5.0 s"},
		{procedure.OnTime, "5.0 s of 3.0–5.0 s"},
		{procedure.Early, "2.5 s of 3.0–5.0 s, short by 0.5 s"},
		{procedure.Late, "5.1 s of 3.0–5.0 s, long by 0.1 s"},
		{procedure.Pending, "6.0 s in all, over 2 attempts"},
		{procedure.Pending, "no prime"},
		{procedure.Pending, "4.0 s, no window known"},
	} {
		if o := got[i]; o.Verdict != want.verdict || o.Detail != want.detail {
			t.Errorf("%d: %s, %q; want %s, %q", i, o.Verdict, o.Detail, want.verdict, want.detail)
		}
	}
}
