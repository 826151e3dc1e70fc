package timer_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/timer"
)

const (
	ms  = time.Millisecond
	sec = time.Second
)

// library is a small aircraft of our own. A prime of 3 to 5 s cold and 1 to 2 s
// warm, a starter used 10 s at most with a minute's rest: common practice, no
// source. Oil pressure within 30 s: FAA Airplane Flying Handbook.
func library() *procedure.Library {
	line := func(s string) procedure.Line { return procedure.Line{Caption: s} }
	lever := func(title, prompt string, c procedure.ControlID) procedure.Step {
		return procedure.Step{Title: title, Kind: procedure.StepSet, Prompt: line(prompt), Targets: []procedure.Target{{Control: c}}}
	}
	flow := func(id procedure.FlowID, situation string, entry bool, w procedure.Window) *procedure.Flow {
		f := &procedure.Flow{ID: id, Title: "The " + situation + " start", Situation: situation, Entry: entry}
		f.Steps = append(f.Steps, lever("Brakes held", "Brakes: held", procedure.ControlBrakes), lever("Boost pump on", "Boost pump on", procedure.ControlPump))
		if !w.Zero() {
			f.Steps = append(f.Steps, procedure.Step{
				Title: "Prime", Kind: procedure.StepHold, Window: w,
				Hold:     &procedure.Hold{Control: procedure.ControlMixture},
				CallOuts: []procedure.CallOut{{Line: line("mixture… back"), Anchor: procedure.BeforeIdeal, Offset: 500 * ms}},
			}, lever("Throttle to the start mark", "Throttle to the start mark", procedure.ControlThrottle))
		}
		f.Steps = append(f.Steps,
			procedure.Step{Title: "Propeller area", Kind: procedure.StepPropClear, Prompt: line("Look"), AnswerWait: 3 * sec, ValidFor: 30 * sec},
			procedure.Step{Title: "Crank", Kind: procedure.StepCrank, Prompt: line("Crank"), CallOuts: []procedure.CallOut{
				{Line: line("three"), Anchor: procedure.FromStep, Offset: 3 * sec},
				{Line: line("release"), Anchor: procedure.OnLimit, Offset: 500 * ms},
			}},
			procedure.Step{Title: "Catch", Kind: procedure.StepCatch, Prompt: line("Mixture full forward")},
			procedure.Step{Title: "Settle", Kind: procedure.StepSettle, Prompt: line("One thousand")},
			procedure.Step{
				Title: "Oil pressure", Kind: procedure.StepCheck, Prompt: line("Oil pressure"), Window: procedure.Window{Max: 30 * sec},
				Cold:       &procedure.ColdWindow{BelowCelsius: -10, Window: procedure.Window{Max: 60 * sec}},
				Conditions: []procedure.Condition{{Instrument: procedure.InstrumentOilPressure, Min: 100}},
			},
			lever("Alternator on", "Alternator on", procedure.ControlAlternator),
		)
		f.NoStart = &procedure.NoStart{
			Steps: []procedure.Step{lever("Mixture to cut-off", "Mixture to cut-off", procedure.ControlMixture)},
			Choices: []procedure.Choice{
				{ID: "again", Title: "Half the prime again", Ask: "Was the prime short?", Flow: "again"},
				{ID: "wet", Title: "Flooded", Ask: "Is there a smell of fuel?", Flow: "flooded"},
			},
		}
		return f
	}
	cold := procedure.Window{Min: 3 * sec, Ideal: 4 * sec, Max: 5 * sec}
	short := procedure.Window{Min: sec, Ideal: 1500 * ms, Max: 2 * sec}
	return &procedure.Library{
		Aircraft: &procedure.Aircraft{ID: "test", Name: "Test", Starter: procedure.StarterLimits{Crank: 10 * sec, Rest: time.Minute, Attempts: 3, LongRest: 30 * time.Minute}},
		Flows: []*procedure.Flow{
			flow("cold", "cold", true, cold), flow("warm", "warm", true, short), flow("hot", "hot", true, short),
			flow("flooded", "flooded", true, procedure.Window{}), flow("again", "again", false, short),
		},
	}
}

func setup() timer.Setup { return timer.Setup{Library: library(), Celsius: 10} }

func mustMachine(t testing.TB, s timer.Setup) *timer.Machine {
	t.Helper()
	m, err := timer.New(s)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// parse reads lines of "time act": press, release, lost, undo, tick, tap (90 ms),
// hold D, choose FLOW, latch, air C, height M, since D, note TEXT.
func parse(t testing.TB, script string) []timer.Event {
	t.Helper()
	var out []timer.Event
	for _, line := range strings.Split(script, "\n") {
		f := strings.Fields(line)
		if len(f) == 0 {
			continue
		}
		at, err := time.ParseDuration(f[0])
		if err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		switch f[1] {
		case "tap":
			out = append(out, timer.Event{Kind: timer.Press, At: at}, timer.Event{Kind: timer.Release, At: at + 90*ms})
		case "hold":
			d, err := time.ParseDuration(f[2])
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, timer.Event{Kind: timer.Press, At: at}, timer.Event{Kind: timer.Release, At: at + d})
		case "choose":
			out = append(out, timer.Event{Kind: timer.Choose, At: at, Flow: procedure.FlowID(f[2])})
		case "latch":
			out = append(out, timer.Event{Kind: timer.PrimeBy, At: at, Latch: true})
		case "air":
			var c float64
			fmt.Sscan(f[2], &c)
			out = append(out, timer.Event{Kind: timer.Air, At: at, Celsius: c})
		case "height":
			var m float64
			fmt.Sscan(f[2], &m)
			out = append(out, timer.Event{Kind: timer.Height, At: at, Metres: m})
		case "since":
			ago, err := time.ParseDuration(f[2])
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, timer.Event{Kind: timer.Since, At: at, For: ago})
		case "note":
			out = append(out, timer.Event{Kind: timer.Note, At: at, Text: strings.Join(f[2:], " ")})
		default:
			out = append(out, timer.Event{Kind: timer.EventKind(f[1]), At: at})
		}
	}
	return out
}

// tell is an effect as a line of a story; the hush at every change of state is
// left out.
func tell(e timer.Effect) string {
	at := fmt.Sprintf("%.1f", e.At.Seconds())
	switch e.Kind {
	case timer.Say:
		return at + " “" + e.Line.Caption + "”"
	case timer.Warn:
		return at + " WARN " + e.Line.Caption
	case timer.Awake:
		return fmt.Sprintf("%s awake=%v", at, e.On)
	case timer.Keep:
		return fmt.Sprintf("%s keep #%d %s prime %.1f attempts %d %s %s", at, e.Start.Serial, e.Start.Flow, e.Start.Prime.Seconds(), e.Start.Attempts, e.Start.Outcome, e.Start.Note)
	case timer.Hush:
		if e.Tag == timer.TagStep {
			return ""
		}
		return at + " hush rest"
	default:
		return at + " " + string(e.Kind)
	}
}

func story(effects []timer.Effect) string {
	var out []string
	for _, e := range effects {
		if s := strings.TrimSpace(tell(e)); s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, "\n")
}

func run(m *timer.Machine, events []timer.Event) []timer.Effect {
	var out []timer.Effect
	for _, e := range events {
		out = append(out, m.Apply(e)...)
	}
	return out
}

// Parts of a start; each begins where the one before ended.
const (
	toPrimed    = "1s hold 4s\n"
	toSet       = toPrimed + "6s tap\n"
	toLooked    = toSet + "7s tap\n8s tap\n9s tap\n"
	toCalled    = toLooked + "10s tap\n"
	toArmed     = toCalled + "13s tick\n"
	toCranked   = toArmed + "14s hold 5s\n"
	toRunning   = toCranked + "20s tap\n"
	toOil       = toRunning + "30s tap\n"
	toSettled   = toOil + "32s tap\n"
	toQuiet     = toSettled + "34s tap\n"
	toNoStart   = toCranked + "20s hold 1.2s\n"
	toSecond    = toNoStart + "30s tap\n"
	secondReady = toSecond + "60s hold 1.5s\n62s tap\n"
)

func TestStates(t *testing.T) {
	for _, c := range []struct {
		name, script string
		want         timer.State
		button       string
	}{
		{"at first", "", timer.Ready, "PRIME"},
		{"while primed", "1s press\n3s tick", timer.Priming, "LET GO"},
		{"primed", toPrimed, timer.Setting, "DONE"},
		{"press and press: still priming after the first", "0s latch\n1s tap\n3s tick", timer.Priming, "PRESS"},
		{"press and press: ended by the second", "0s latch\n1s tap\n5s tap", timer.Setting, "DONE"},
		{"set", toSet, timer.Looking, "LEFT"},
		{"left", toSet + "7s tap", timer.Looking, "AHEAD"},
		{"ahead", toSet + "7s tap\n8s tap", timer.Looking, "RIGHT"},
		{"right", toLooked, timer.Looking, "CLEAR"},
		{"called", toCalled, timer.Listening, "LISTEN"},
		{"holding it down looks nowhere", toSet + "7s press\n60s tick", timer.Looking, "AHEAD"},
		{"nor does a key that repeats", toSet + "7s press\n7.5s press\n8s press\n8.5s press\n9s press\n9.5s press", timer.Looking, "AHEAD"},
		{"nor a bouncing one", toSet + "7s tap\n7.1s tap\n7.2s tap\n7.3s tap", timer.Looking, "AHEAD"},
		{"an answer begins it anew", toCalled + "12s tap", timer.Looking, "LEFT"},
		{"nobody answers", toArmed, timer.Armed, "START"},
		{"one moment before the answer's time is up", toCalled + "12.999s tick", timer.Listening, "LISTEN"},
		{"the look is good for half a minute", toArmed + "43s tick", timer.Armed, "START"},
		{"and no longer", toArmed + "43.001s tick", timer.Looking, "LEFT"},
		{"cranking", toArmed + "14s press\n16s tick", timer.Cranking, "LET GO"},
		{"let go", toCranked, timer.Asking, "RUNNING"},
		{"a finger that slips", toArmed + "14s hold 2s\n16.3s press\n17s tick", timer.Cranking, "LET GO"},
		{"that comes too late is an answer", toArmed + "14s hold 2s\n16.6s tap", timer.Oil, "IN THE GREEN"},
		{"it runs", toRunning, timer.Oil, "IN THE GREEN"},
		{"a hold means no start", toNoStart, timer.Thinking, "YES"},
		{"already while it is held", toCranked + "20s press\n21s tick", timer.Thinking, "YES"},
		{"oil pressure", toOil, timer.Reminding, "DONE"},
		{"it died", toRunning + "24s hold 1s", timer.Thinking, "YES"},
		{"it died later", toOil + "31s hold 1s", timer.Thinking, "YES"},
		{"settled", toSettled, timer.Reminding, "DONE"},
		{"quiet", toQuiet, timer.Quiet, "NOTE"},
		{"a note", toQuiet + "40s tap", timer.Noting, "KEEP"},
		{"kept in two taps", toQuiet + "40s tap\n41s tap", timer.Quiet, "NOTE"},
		{"stopped", toQuiet + "40m hold 1s", timer.Ready, "PRIME"},
		{"half a prime again", toSecond, timer.Ready, "PRIME"},
		{"all is set and the starter must rest", secondReady, timer.Resting, "RESTING"},
		{"a tap does not shorten it", secondReady + "64s tap", timer.Resting, "RESTING"},
		{"rested", secondReady + "79s tick", timer.Looking, "LEFT"},
		{"one moment before", secondReady + "78.999s tick", timer.Resting, "RESTING"},
		{"the pilot knows that it has rested", secondReady + "64s hold 2s", timer.Looking, "LEFT"},
		{"a shorter hold does not say so", secondReady + "64s hold 1.9s", timer.Resting, "RESTING"},
		{"flooded: nothing to prime", "0s choose flooded", timer.Ready, "NEXT"},
		{"flooded: the levers", "0s choose flooded\n1s tap", timer.Setting, "DONE"},
		{"a situation is not changed while priming", "1s press\n2s choose flooded", timer.Priming, "LET GO"},
		{"an unknown flow is none", "0s choose nothing", timer.Ready, "PRIME"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := mustMachine(t, setup())
			var at time.Duration
			for _, e := range parse(t, c.script) {
				m.Apply(e)
				at = e.At
			}
			v := m.View(at)
			if v.State != c.want || v.Button.Text != c.button {
				t.Errorf("%s, button %q; want %s, %q", v.State, v.Button.Text, c.want, c.button)
			}
		})
	}
}

// What is heard, noted and kept, in full, for the stories that matter.
func TestStories(t *testing.T) {
	for _, c := range []struct{ name, script, want string }{
		{"a cold start as taught", toQuiet + "40s tap\n41s tap\n50s tick", `
1.0 hush rest
4.5 “mixture… back”
2.0 “one”
3.0 “two”
6.0 “five”
7.0 “six”
8.0 “seven”
9.0 “eight”
10.0 “nine”
11.0 “ten”
1.0 awake=true
5.0 “Throttle to the start mark”
6.0 “Look”
13.0 “Crank”
14.0 hush rest
14.0 engaged
17.0 “three”
23.5 “release”
19.0 released
20.1 “Oil pressure”
22.1 keep #1 cold prime 4.0 attempts 1 started
19.0 runs
30.1 “One thousand”
32.1 “Alternator on”
43.1 keep #1 cold prime 4.0 attempts 1 started as expected`},
		{"past the limit", toArmed + "14s press\n28s release", `
… 
14.0 engaged
17.0 “three”
23.5 “release”
24.0 WARN Release the starter. It is past its limit.
25.5 WARN Release the starter. It is past its limit.
27.0 WARN Release the starter. It is past its limit.
28.0 released`},
		{"it does not start", toNoStart + "80s tick", `
…
19.0 released
21.0 “It did not start”
23.5 “Mixture to cut-off”
23.0 keep #1 cold prime 4.0 attempts 1 not started
49.0 “thirty seconds”
69.0 “ten seconds”
79.0 “Ready”
79.0 awake=false`},
		{"no numbers of the rest during the prime", toSecond + "48.5s hold 1s\n52s tick", `
…
49.0 “thirty seconds”
48.5 hush rest
49.5 “mixture… back”
50.5 “two”
51.5 “three”
52.5 “four”
53.5 “five”
54.5 “six”
55.5 “seven”
56.5 “eight”
57.5 “nine”
58.5 “ten”
49.5 “Throttle to the start mark”`},
		{"no oil pressure", toRunning + "55s tick\n56s tap", `
…
20.1 “Oil pressure”
22.1 keep #1 cold prime 4.0 attempts 1 started
19.0 runs
49.0 WARN No oil pressure. Mixture to cut-off.
54.0 WARN No oil pressure. Mixture to cut-off.
56.1 “One thousand”`},
		{"more time for oil in great cold", "0s air -11\n" + toRunning + "78s tick", `
…
20.1 “Oil pressure”
22.1 keep #1 cold prime 4.0 attempts 1 started
19.0 runs`},
		{"START by mistake", toArmed + "14s hold 300ms\n15s undo\n30s tick", `
…
14.0 engaged
17.0 “three”
23.5 “release”
14.3 released
15.0 struck`},
		{"an attempt longer than two seconds stays", toArmed + "14s hold 3s\n17.5s undo\n18s tick", `
…
14.0 engaged
17.0 “three”
23.5 “release”
17.0 released`},
		{"RUNNING by mistake is not kept", toRunning + "21s undo\n22s hold 1s\n30s tick", `
…
20.1 “Oil pressure”
23.0 “It did not start”
25.5 “Mixture to cut-off”
25.0 keep #1 cold prime 4.0 attempts 1 not started`},
		{"focus lost while cranking", toArmed + "14s press\n16s lost\n16.2s press\n16.3s release\n16.9s tick", `
…
14.0 engaged
17.0 “three”
23.5 “release”
16.0 released`},
		{"the pilot vouches", secondReady + "64s hold 2s\n68s tick", `
…
66.0 hush rest
66.0 “Look”
66.0 rested`},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := mustMachine(t, setup())
			got := story(run(m, parse(t, c.script)))
			want := strings.TrimSpace(c.want)
			if rest, partly := strings.CutPrefix(want, "…"); partly {
				first := strings.TrimSpace(strings.SplitN(strings.TrimSpace(rest), "\n", 2)[0])
				if i := strings.LastIndex(got, first); i >= 0 {
					got = got[i:]
				}
				want = strings.TrimSpace(rest)
			}
			if got != want {
				t.Errorf("got\n%s\n\nwant\n%s", got, want)
			}
		})
	}
}
