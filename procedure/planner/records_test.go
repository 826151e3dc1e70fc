package planner

import (
	"math"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
)

func record(change func(*realstart.Start)) realstart.Start {
	s := realstart.Start{
		Registration: "BR-180", Aircraft: "brindle-180", At: time.Date(2026, 1, 31, 9, 5, 0, 0, time.UTC), Situation: "cold",
		OATCelsius: 3, AltitudeM: 120, SinceShutdown: 14 * time.Hour, ShutdownKnown: true,
		Prime: 4 * time.Second, Attempts: 1, Outcome: procedure.Started,
	}
	change(&s)
	return s
}

// What the timer's records teach: the first attempt of each.
func TestFromRecords(t *testing.T) {
	a := brindle180(t)
	for _, c := range []struct {
		name   string
		change func(*realstart.Start)
		saw    Saw
		prime  float64
	}{
		{"it started", func(*realstart.Start) {}, SawStart, 4},
		{"it did not", func(s *realstart.Start) { s.Outcome = procedure.NotStarted }, SawFailed, 4},
		{"it did at the second try", func(s *realstart.Start) { s.Attempts = 2 }, SawFailed, 4},
		{"it was cleared by air", func(s *realstart.Start) { s.Attempts, s.Situation = 2, "flooded" }, SawWet, 4},
		{"half the prime again", func(s *realstart.Start) { s.Attempts, s.Situation, s.Prime = 2, "again", 3*time.Second }, SawLittle, 2},
		{"altitude not known", func(s *realstart.Start) { s.AltitudeM = math.NaN() }, SawStart, 4},
	} {
		r := a.FromRecords("BR-180", []realstart.Start{record(c.change)})
		if len(r.Seen) != 1 || len(r.Left) != 0 || r.Seen[0].Saw != c.saw || math.Abs(r.Seen[0].Prime-c.prime) > 1e-9 {
			t.Errorf("%s: %+v, want %s after %g s", c.name, r, c.saw, c.prime)
		}
	}
	for name, change := range map[string]func(*realstart.Start){
		"no attempt":             func(s *realstart.Start) { s.Attempts = 0 },
		"no temperature":         func(s *realstart.Start) { s.OATCelsius = math.NaN() },
		"no time of shutdown":    func(s *realstart.Start) { s.ShutdownKnown = false },
		"too cold to simulate":   func(s *realstart.Start) { s.OATCelsius = -60 },
		"flooded from the start": func(s *realstart.Start) { s.Situation = "flooded" },
		"begun again":            func(s *realstart.Start) { s.Situation = "again" },
		"no situation":           func(s *realstart.Start) { s.Situation = "" },
	} {
		if r := a.FromRecords("BR-180", []realstart.Start{record(change)}); len(r.Seen) != 0 || len(r.Left) != 1 {
			t.Errorf("%s: %+v, want it left out with a reason", name, r)
		}
	}
	others := []realstart.Start{record(func(s *realstart.Start) { s.Registration = "BR-181" }), record(func(s *realstart.Start) { s.Aircraft = "brindle-100" })}
	if r := a.FromRecords("BR-180", others); len(r.Seen)+len(r.Left) != 0 {
		t.Errorf("another aeroplane's starts were counted: %+v", r)
	}
	if r := aeroplane(t, "brindle-100").FromRecords("BR-180", []realstart.Start{record(func(s *realstart.Start) { s.Aircraft = "" })}); len(r.Left) != 1 {
		t.Errorf("strokes that are not in the record were learnt from: %+v", r)
	}
}

// An aeroplane of which nothing can be learnt says so, in words, and one of which
// something can says nothing.
func TestWhyNotLearn(t *testing.T) {
	if why := brindle180(t).WhyNotLearn(); why != "" {
		t.Errorf("the Brindle 180: %q", why)
	}
	if why := aeroplane(t, "brindle-100").WhyNotLearn(); !strings.Contains(why, "strokes") {
		t.Errorf("the Brindle 100: %q", why)
	}
}
