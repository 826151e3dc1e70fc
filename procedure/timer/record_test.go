package timer_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/timer"
)

// kept is the record that the machine last asked to be kept.
func kept(t *testing.T, effects []timer.Effect) timer.Start {
	t.Helper()
	var last *timer.Start
	for i := range effects {
		if effects[i].Kind == timer.Keep {
			last = &effects[i].Start
		}
	}
	if last == nil {
		t.Fatalf("nothing is kept of\n%s", story(effects))
	}
	return *last
}

// What the pilot adds once the engine runs is in the record.
func TestARecordIsAddedTo(t *testing.T) {
	m := mustMachine(t, timer.Setup{Library: library(), Celsius: math.NaN(), AltitudeM: math.NaN()})
	effects := run(m, parse(t, toQuiet+"40s tap\n41s air -4\n42s height 120\n43s since 14h\n44s note coughed   once\n60s tick"))
	s := kept(t, effects)
	if s.Celsius != -4 || s.AltitudeM != 120 || !s.ShutdownKnown || s.SinceShutdown != 14*time.Hour || s.Note != "coughed once" {
		t.Errorf("kept %+v", s)
	}
	if v := m.View(60 * sec); v.State != timer.Quiet || v.Record == nil || v.Record.Note != "coughed once" || v.Ago != 14*time.Hour {
		t.Errorf("shown %+v", v)
	}
	// A step of a key is not a row of the file.
	var rows int
	for _, e := range effects {
		if e.Kind == timer.Keep {
			rows++
		}
	}
	if rows != 2 {
		t.Errorf("%d rows are kept, want that of the start and that of all that was added", rows)
	}
}

// What is said of the air next morning is not said of yesterday's start.
func TestAnOldRecordStays(t *testing.T) {
	m := mustMachine(t, setup())
	run(m, parse(t, toQuiet+"10m hold 1s\n20m tick"))
	if got := story(run(m, parse(t, "10h air -10\n10h1m tick"))); strings.Contains(got, "keep") {
		t.Errorf("kept again:\n%s", got)
	}
	// Nor of one that did not start, once its set is over.
	m = mustMachine(t, setup())
	run(m, parse(t, toNoStart+"30s tick\n30s choose cold"))
	if got := story(run(m, parse(t, "10h air -10\n10h1m tick"))); strings.Contains(got, "keep") {
		t.Errorf("kept again:\n%s", got)
	}
	// But it is while the set goes on.
	m = mustMachine(t, setup())
	run(m, parse(t, toNoStart))
	if s := kept(t, run(m, parse(t, "30s air -10\n40s tick"))); s.Celsius != -10 {
		t.Errorf("kept with %v °C", s.Celsius)
	}
}

func TestTheLastShutdownIsToldBeforeThePrime(t *testing.T) {
	m := mustMachine(t, setup())
	if v := m.View(0); v.Ago >= 0 || v.Situation != "cold" {
		t.Errorf("at first %v, %s", v.Ago, v.Situation)
	}
	run(m, parse(t, "1s since 40m"))
	if v := m.View(61 * sec); v.Situation != "warm" || v.Ago != 41*time.Minute {
		t.Errorf("%s, %v since shutdown; want warm, 41 min", v.Situation, v.Ago)
	}
	run(m, parse(t, "70s since -1s"))
	if v := m.View(80 * sec); v.Situation != "cold" || v.Ago >= 0 {
		t.Errorf("%s, %v; want cold, not known", v.Situation, v.Ago)
	}
}

func TestStepsOfTimeSinceShutdown(t *testing.T) {
	for _, c := range []struct{ at, longer, shorter time.Duration }{
		{-1, 0, -1},
		{0, 10 * time.Minute, -1},
		{14 * time.Minute, 20 * time.Minute, 10 * time.Minute},
		{2 * time.Hour, 3 * time.Hour, 110 * time.Minute},
		{13 * time.Hour, 18 * time.Hour, 12 * time.Hour},
		{365 * 24 * time.Hour, 365 * 24 * time.Hour, 90 * 24 * time.Hour},
	} {
		if l, s := timer.Longer(c.at), timer.Shorter(c.at); l != c.longer || s != c.shorter {
			t.Errorf("%v: longer %v, shorter %v; want %v, %v", c.at, l, s, c.longer, c.shorter)
		}
	}
}

// A note of one's own is offered first when the record is opened again, and a
// note is one line of bounded length.
func TestOwnWords(t *testing.T) {
	m := mustMachine(t, setup())
	run(m, parse(t, toQuiet))
	run(m, []timer.Event{{Kind: timer.Note, At: 40 * sec, Text: "line one\nline two\t" + strings.Repeat("x", 500) + "\xff"}})
	v := m.View(40 * sec)
	if n := v.Record.Note; !strings.HasPrefix(n, "line one line two xxx") || len([]rune(n)) != 120 {
		t.Errorf("note %q", n)
	}
	run(m, parse(t, "45s tap"))
	if v := m.View(45 * sec); v.Notes[0] != v.Record.Note || v.Note != 0 || v.Notes[1] != timer.DefaultNotes[0] {
		t.Errorf("offered %q, the first %d", v.Notes, v.Note)
	}
	// Nothing may be written before the engine runs.
	m = mustMachine(t, setup())
	if got := story(run(m, parse(t, toArmed+"14s note early\n20s tick"))); strings.Contains(got, "early") {
		t.Errorf("noted:\n%s", got)
	}
}

func TestPrimeWindowOfStrokes(t *testing.T) {
	primer := []procedure.Target{{Control: procedure.ControlPrimer}}
	out := procedure.Step{Kind: procedure.StepSet, Targets: primer}
	in := procedure.Step{Kind: procedure.StepSet, Targets: primer, Window: procedure.Window{Min: sec, Ideal: 1500 * ms, Max: 4 * sec}}
	f := &procedure.Flow{Steps: []procedure.Step{out, in, out, in, out, in}}
	w, strokes := timer.PrimeWindow(f, 10)
	if want := (procedure.Window{Min: 3 * sec, Ideal: 4500 * ms, Max: 12 * sec}); w != want || strokes != 3 {
		t.Errorf("%v in %d strokes, want %v in 3", w, strokes, want)
	}
}

// An engine that ran when the timer was last closed was shut down nobody knows when,
// and that is said in other words than that nothing is known at all.
func TestItRanWhenThisClosed(t *testing.T) {
	line := func(s timer.Setup) string {
		s.Library = library()
		return mustMachine(t, s).View(0).Lines[0]
	}
	if got := line(timer.Setup{Ran: true}); !strings.Contains(got, "it ran when this closed") {
		t.Errorf("it ran: %q", got)
	}
	if got := line(timer.Setup{}); got != "the last shutdown is not known" {
		t.Errorf("nothing known: %q", got)
	}
	if got := line(timer.Setup{Ran: true, Shutdown: -3 * time.Hour, ShutdownKnown: true}); got != "3 h since shutdown" {
		t.Errorf("a shutdown that is known: %q", got)
	}
}
