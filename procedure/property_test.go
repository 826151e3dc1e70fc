package procedure_test

import (
	"math"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kickover/procedure"
)

// anyEvents draws what hands, eyes and an engine might do, in any order.
func anyEvents(t *rapid.T) []procedure.Event {
	controls := []string{"brakes", "battery", "alternator", "boost_pump", "throttle", "mixture", "ignition", "nonsense"}
	subjects := map[procedure.EventKind][]string{
		procedure.EventMove:      controls,
		procedure.EventLook:      {"left", "ahead", "right", "up"},
		procedure.EventCall:      {"clear", "ready", "answered", "next"},
		procedure.EventReport:    {"bus_volts", "oil_pressure", "rpm"},
		procedure.EventChoose:    {"again", "patience", "none"},
		procedure.EventReading:   {"bus_volts", "oil_pressure", "rpm"},
		procedure.EventSignal:    {"fires", "runs", "dies", "levels_off", "stops"},
		procedure.EventArea:      {"left", "ahead", "right"},
		procedure.EventInterrupt: {"Radio"},
	}
	kinds := []procedure.EventKind{
		procedure.EventMove, procedure.EventMove, procedure.EventMove, procedure.EventLook, procedure.EventCall,
		procedure.EventReport, procedure.EventChoose, procedure.EventReading, procedure.EventSignal,
		procedure.EventArea, procedure.EventInterrupt,
	}
	value := rapid.OneOf(
		rapid.SampledFrom([]float64{0, 1, 2, 3, 4, 9, 28, 80, 24.6, 1000, 300, math.NaN(), math.Inf(1)}),
		rapid.Float64Range(-10, 3000),
	)
	n := rapid.IntRange(0, 80).Draw(t, "n")
	events := make([]procedure.Event, n)
	var at time.Duration
	for i := range events {
		at += time.Duration(rapid.Int64Range(0, int64(20*time.Second)).Draw(t, "gap"))
		k := rapid.SampledFrom(kinds).Draw(t, "kind")
		events[i] = procedure.Event{Seq: i + 1, At: at, Kind: k,
			Subject: rapid.SampledFrom(subjects[k]).Draw(t, "subject"), Value: value.Draw(t, "value")}
	}
	return events
}

// What a stored run means must not depend on how often somebody looked at the
// clock while it was flown.
func TestTicksChangeNoVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := anyEvents(t)
		bare, ticked := mustRun(scenario{}), mustRun(scenario{})
		var last time.Duration
		for _, e := range events {
			bare.Apply(e)
			for range rapid.IntRange(0, 3).Draw(t, "ticks") {
				tick := time.Duration(rapid.Int64Range(int64(last), int64(e.At)).Draw(t, "tick"))
				ticked.Apply(procedure.Event{At: tick, Kind: procedure.EventTick})
			}
			ticked.Apply(e)
			last = e.At
		}
		same(t, bare.State(), ticked.State())
	})
}

func TestReplayIsIdentical(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := anyEvents(t)
		run := mustRun(scenario{})
		for _, e := range events {
			run.Apply(e)
		}
		again, err := procedure.Replay(setup(scenario{}), events)
		if err != nil {
			t.Fatal(err)
		}
		same(t, run.State(), again.State())
	})
}

// Whatever happens, a run keeps its word about itself.
func TestInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := anyEvents(t)
		run := mustRun(scenario{})
		finished := map[string]procedure.Verdict{}
		for _, e := range events {
			run.Apply(e)
			st := run.State()
			if next, ok := run.Next(); ok && next < st.At {
				t.Fatalf("something falls due at %v, before now, %v", next, st.At)
			}
			checkInvariants(t, st, finished)
		}
		run.Apply(procedure.Event{At: time.Hour, Kind: procedure.EventEnd, Text: procedure.EndHands})
		st := run.State()
		if st.Outcome == procedure.Running {
			t.Fatal("the run did not end")
		}
		for _, s := range st.Steps {
			if !s.Finished() {
				t.Fatalf("step %s is left %s after the end", s.Key, s.Status)
			}
		}
	})
}

func checkInvariants(t *rapid.T, st procedure.State, finished map[string]procedure.Verdict) {
	present := 0
	for i, s := range st.Steps {
		if s.Status == procedure.StatusPresent {
			present++
			if i != st.Present {
				t.Fatalf("step %s says present, the run says %d", s.Key, st.Present)
			}
		}
		if s.Elapsed < 0 {
			t.Fatalf("step %s took %v", s.Key, s.Elapsed)
		}
		if s.Status == procedure.StatusDone && s.Verdict == procedure.Pending {
			t.Fatalf("step %s is done without a verdict", s.Key)
		}
		if before, ok := finished[s.Key]; ok && before == procedure.Unsafe && s.Verdict != procedure.Unsafe {
			t.Fatalf("step %s was unsafe and became %s", s.Key, s.Verdict)
		}
		if s.Finished() {
			finished[s.Key] = s.Verdict
		}
	}
	if present > 1 {
		t.Fatalf("%d steps are present at once", present)
	}
	for _, a := range st.Attempts {
		if a.Crank() < 0 || a.ToFire() < 0 {
			t.Fatalf("attempt %+v runs backwards", a)
		}
	}
}

// The window's edges belong to it, to the nanosecond.
func TestWindowEdges(t *testing.T) {
	w := procedure.Window{Min: 3500 * time.Millisecond, Ideal: 4200 * time.Millisecond, Max: 5 * time.Second}
	for _, c := range []struct {
		held time.Duration
		want procedure.Verdict
	}{
		{w.Min - 1, procedure.Early}, {w.Min, procedure.OnTime}, {w.Ideal, procedure.OnTime},
		{w.Max, procedure.OnTime}, {w.Max + 1, procedure.Late},
	} {
		if got := w.Judge(c.held); got != c.want {
			t.Errorf("window judges %v %q, want %q", c.held, got, c.want)
		}
		run := mustRun(scenario{})
		for _, e := range parseScenario(t, toThrottle) {
			run.Apply(e)
		}
		const begin = 6 * time.Second
		run.Apply(procedure.Event{At: begin, Kind: procedure.EventMove, Subject: "mixture", Value: 1})
		run.Apply(procedure.Event{At: begin + c.held, Kind: procedure.EventMove, Subject: "mixture", Value: 0})
		for _, s := range run.State().Steps {
			if s.Key == "prime" && (s.Verdict != c.want || s.Elapsed != c.held) {
				t.Errorf("a prime held %v is %q after %v, want %q", c.held, s.Verdict, s.Elapsed, c.want)
			}
		}
	}
}

// A lever swept past a mark has not stopped at it.
func TestSweepingPastAMarkIsNotStopping(t *testing.T) {
	run := mustRun(scenario{})
	for _, e := range parseScenario(t, toPump+"5s throttle 28\n5.2s throttle 40\n") {
		run.Apply(e)
	}
	if st := run.State(); st.Steps[st.Present].Key != "throttle-prime" {
		t.Fatalf("after sweeping past the mark the present step is %q", st.Steps[st.Present].Key)
	}
	for _, e := range parseScenario(t, "6s throttle 28\n6.3s tick") {
		run.Apply(e)
	}
	st := run.State()
	if st.Steps[st.Present].Key != "prime" {
		t.Fatalf("after resting at the mark the present step is %q", st.Steps[st.Present].Key)
	}
	if got := st.Steps[st.Present-1].Done; got != 6*time.Second {
		t.Errorf("the step is judged by %v, want the arrival at 6s", got)
	}
}

// Seconds of a prime are asked for each at its second, the cue half a second
// before the ideal, and nothing is left to say once the hold is over.
func TestPrimeIsCounted(t *testing.T) {
	run := mustRun(scenario{phase: procedure.Perform})
	for _, e := range parseScenario(t, toThrottle) {
		run.Apply(e)
	}
	run.Apply(procedure.Event{At: 5500 * time.Millisecond, Kind: procedure.EventTick})
	said := map[string]time.Duration{}
	for _, f := range run.Apply(procedure.Event{At: 6 * time.Second, Kind: procedure.EventMove, Subject: "mixture", Value: 1}) {
		if f.Kind == procedure.EffectSay {
			said[f.Line.Caption] = f.At - 6*time.Second
		}
	}
	want := map[string]time.Duration{
		"one": time.Second, "two": 2 * time.Second, "three": 3 * time.Second,
		"mixture back": 3700 * time.Millisecond, "five": 5 * time.Second,
	} // four lies within a word of the cue and yields to it
	if !reflect.DeepEqual(said, want) {
		t.Errorf("said %v, want %v", said, want)
	}
	hushed := false
	for _, f := range run.Apply(procedure.Event{At: 9 * time.Second, Kind: procedure.EventMove, Subject: "mixture", Value: 0}) {
		hushed = hushed || f.Kind == procedure.EffectHush && f.Step == "prime"
	}
	if !hushed {
		t.Error("the count goes on after the mixture is back")
	}
}

// Evaluate is silent but for a danger.
func TestEvaluateIsSilent(t *testing.T) {
	run := mustRun(scenario{})
	for _, e := range parseScenario(t, toBrief+"13s ignition start\n14s signal fires") {
		for _, f := range run.Apply(e) {
			if f.Kind == procedure.EffectSay && f.Priority != procedure.PriorityWarning {
				t.Errorf("at %v it says %q", f.At, f.Line.Caption)
			}
		}
	}
}

func TestReplayRefusesAListThatIsNotARun(t *testing.T) {
	events := parseScenario(t, toBattery)
	events[1].Seq = 7
	if _, err := procedure.Replay(setup(scenario{}), events); err == nil {
		t.Error("a gap in the numbers was not noticed")
	}
	events = parseScenario(t, toBattery)
	events[1].At = 0
	if _, err := procedure.Replay(setup(scenario{}), events); err == nil {
		t.Error("time that goes back was not noticed")
	}
}

func same(t *rapid.T, a, b procedure.State) {
	a.At, b.At = 0, 0
	if x, y := verdicts(a), verdicts(b); x != y {
		t.Fatalf("verdicts differ\n%s\n%s", x, y)
	}
	if x, y := breaches(a), breaches(b); x != y {
		t.Fatalf("breaches differ\n%s\n%s", x, y)
	}
	if !reflect.DeepEqual(a.Attempts, b.Attempts) || !reflect.DeepEqual(a.Primes, b.Primes) || a.Outcome != b.Outcome {
		t.Fatalf("runs differ\n%+v\n%+v", a, b)
	}
	for i := range a.Steps {
		if a.Steps[i].Elapsed != b.Steps[i].Elapsed || a.Steps[i].Done != b.Steps[i].Done {
			t.Fatalf("step %s: %v at %v, and %v at %v", a.Steps[i].Key,
				a.Steps[i].Elapsed, a.Steps[i].Done, b.Steps[i].Elapsed, b.Steps[i].Done)
		}
	}
}

// FuzzApply lets the fuzzer choose bytes as events: none may panic.
func FuzzApply(f *testing.F) {
	f.Add([]byte{0, 1, 1, 10, 1, 1, 1, 20, 2, 0, 3, 5})
	kinds := []procedure.EventKind{procedure.EventMove, procedure.EventLook, procedure.EventCall, procedure.EventReport,
		procedure.EventChoose, procedure.EventReading, procedure.EventSignal, procedure.EventArea, procedure.EventInterrupt,
		procedure.EventPause, procedure.EventSkip, procedure.EventTick, procedure.EventEnd}
	subjects := []string{"brakes", "battery", "boost_pump", "throttle", "mixture", "ignition", "left", "ahead", "right",
		"clear", "ready", "bus_volts", "oil_pressure", "rpm", "again", "patience", "fires", "runs", "dies", "levels_off", ""}
	f.Fuzz(func(t *testing.T, data []byte) {
		run := mustRun(scenario{})
		var at time.Duration
		for len(data) >= 4 {
			at += time.Duration(data[3]) * 100 * time.Millisecond
			run.Apply(procedure.Event{At: at, Kind: kinds[int(data[0])%len(kinds)],
				Subject: subjects[int(data[1])%len(subjects)], Value: float64(data[2])})
			data = data[4:]
		}
		run.Apply(procedure.Event{At: at, Kind: procedure.EventEnd, Text: procedure.EndAbandoned})
		if st := run.State(); st.Outcome == procedure.Running {
			t.Error("the run did not end")
		}
	})
}

// What is still held or engaged has lasted until now, while the run goes on and
// when it ends; and an ended run's time stands.
func TestWhatIsStillHeldHasLastedUntilNow(t *testing.T) {
	run := mustRun(scenario{})
	for _, e := range parseScenario(t, toThrottle+"6s mixture 1\n8.5s tick") {
		run.Apply(e)
	}
	if p := run.State().Primes[0]; !p.Open || p.Length() != 2500*time.Millisecond {
		t.Errorf("a prime under way for 2.5 s is %+v", p)
	}
	run = mustRun(scenario{})
	for _, e := range parseScenario(t, toCrank+"24s tick") {
		run.Apply(e)
	}
	if a := run.State().Attempts[0]; !a.Open || a.Crank() != 4*time.Second {
		t.Errorf("an engagement under way for 4 s is %+v", a)
	}
	for _, e := range parseScenario(t, "50s end hands-ended\n80s tick") {
		run.Apply(e)
	}
	st := run.State()
	if st.At != 50*time.Second || st.Attempts[0].Crank() != 30*time.Second {
		t.Errorf("a run that ended at 50 s with the starter in stands at %v, and cranked for %v", st.At, st.Attempts[0].Crank())
	}
}

// A starter put into a running engine is no try to start it: what the attempt
// before came to stands.
func TestGrindingTheStarterIsNoAttempt(t *testing.T) {
	run := mustRun(scenario{})
	for _, e := range parseScenario(t, toSettled+"24s ignition start\n25s ignition both\n26s tick") {
		run.Apply(e)
	}
	st := run.State()
	if !st.Fired || !st.Runs || st.Cranking || len(st.Attempts) != 2 {
		t.Fatalf("fired %v, runs %v, cranking %v, attempts %+v", st.Fired, st.Runs, st.Cranking, st.Attempts)
	}
	if a := st.Attempts[0]; a.Crank() != 2500*time.Millisecond || a.ToFire() != 1500*time.Millisecond || a.Died {
		t.Errorf("the attempt that started it became %+v", a)
	}
	if a := st.Attempts[1]; !a.Running || a.Fired || a.Crank() != time.Second {
		t.Errorf("the grinding is %+v", a)
	}
}
