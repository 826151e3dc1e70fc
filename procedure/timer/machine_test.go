package timer_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/starter"
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
// hold D, choose FLOW, latch, air C.
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
		{"the pilot vouches", secondReady + "64s hold 2s", `
…
66.0 rested
66.0 hush rest
66.0 “Look”`},
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

func TestSituationFromShutdown(t *testing.T) {
	// Under half an hour hot, to two hours warm, then cold; common practice, no source.
	for _, c := range []struct {
		since time.Duration
		known bool
		want  string
	}{
		{0, true, "hot"}, {29 * time.Minute, true, "hot"}, {30 * time.Minute, true, "warm"},
		{2 * time.Hour, true, "warm"}, {2*time.Hour + 1, true, "cold"}, {0, false, "cold"},
	} {
		s := setup()
		s.Shutdown, s.ShutdownKnown = -c.since, c.known
		if got := mustMachine(t, s).View(0).Situation; got != c.want {
			t.Errorf("%v since shutdown (known %v): %s, want %s", c.since, c.known, got, c.want)
		}
	}
}

func TestStoppingIsRemembered(t *testing.T) {
	m := mustMachine(t, setup())
	out := run(m, parse(t, toQuiet+"40m hold 1s\n41m tick\n"+"50m hold 1.4s\n50m3s tap\n50m5s tap\n50m6s tap\n50m7s tap\n50m8s tap\n50m12s hold 2s\n50m15s tap\n51m tick"))
	if v := m.View(51 * time.Minute); v.Situation != "hot" {
		t.Errorf("after a flight the situation is %s, want hot", v.Situation)
	}
	var last timer.Start
	for _, e := range out {
		if e.Kind == timer.Keep {
			last = e.Start
		}
	}
	want := 10*time.Minute - sec // it counted as stopped when the hold was a second long
	if last.Serial != 2 || !last.ShutdownKnown || last.SinceShutdown != want || last.Outcome != procedure.Started {
		t.Errorf("the second start is kept as %+v, want number 2, %v since shutdown", last, want)
	}
}

// Whatever the questions' order in the flow, the likelier cause is asked first.
func TestQuestionsFollowThePrime(t *testing.T) {
	for _, c := range []struct {
		name, prime string
		celsius     float64
		want        string
	}{
		{"short", "2s", 10, "Was the prime short?"},
		{"long", "6s", 10, "Is there a smell of fuel?"},
		{"inside the window: the flow's order", "4s", 10, "Was the prime short?"},
		{"long in the cold is still long", "6s", -15, "Is there a smell of fuel?"},
		{"temperature not known: the flow's order", "4s", math.NaN(), "Was the prime short?"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := setup()
			s.Celsius = c.celsius
			m := mustMachine(t, s)
			run(m, parse(t, "1s hold "+c.prime+"\n8s tap\n9s tap\n10s tap\n11s tap\n12s tap\n16s hold 5s\n22s hold 1s\n23s tick"))
			if got := m.View(23 * sec).Head; got != c.want {
				t.Errorf("asks %q first, want %q", got, c.want)
			}
		})
	}
}

func TestNextQuestion(t *testing.T) {
	m := mustMachine(t, setup())
	run(m, parse(t, toNoStart+"25s hold 1s\n26.5s tick"))
	if got := m.View(27 * sec).Head; got != "Is there a smell of fuel?" {
		t.Errorf("the second question is %q", got)
	}
	run(m, parse(t, "28s hold 1s\n29.5s tick"))
	if got := m.View(30 * sec).Head; got != "Was the prime short?" {
		t.Errorf("after the last question comes %q", got)
	}
	run(m, parse(t, "31s hold 1s\n33s tap"))
	if v := m.View(34 * sec); v.State != timer.Ready || v.Flow.ID != "flooded" {
		t.Errorf("yes leads to %s, %s", v.State, v.Flow.ID)
	}
}

// A choice that starts nothing may lead to one that does; one that leads nowhere
// is not asked.
func TestAQuestionMayLeadToQuestions(t *testing.T) {
	lib := library()
	lib.Flows = append(lib.Flows,
		&procedure.Flow{ID: "else", Title: "Something else", Choices: []procedure.Choice{
			{Title: "Nothing", Ask: "Is it broken?", Flow: "mechanic"}, {Title: "Warm", Ask: "Is it warm after all?", Flow: "warm"},
		}},
		&procedure.Flow{ID: "mechanic", Title: "A mechanic"})
	lib.Flows[0].NoStart.Choices = []procedure.Choice{
		{Title: "Else", Ask: "Is it something else?", Flow: "else"}, {Title: "Mechanic", Ask: "Is it broken?", Flow: "mechanic"},
	}
	m := mustMachine(t, timer.Setup{Library: lib, Celsius: 10})
	run(m, parse(t, toNoStart+"22s tick"))
	if v := m.View(22 * sec); v.Head != "Is it something else?" || v.Button.Hold != "" {
		t.Errorf("asks %q, hold %q; want the one question", v.Head, v.Button.Hold)
	}
	run(m, parse(t, "23s tap"))
	if v := m.View(24 * sec); v.State != timer.Thinking || v.Head != "Is it warm after all?" {
		t.Errorf("%s, asks %q", v.State, v.Head)
	}
	run(m, parse(t, "25s tap"))
	if v := m.View(26 * sec); v.State != timer.Ready || v.Flow.ID != "warm" {
		t.Errorf("%s, %s", v.State, v.Flow.ID)
	}
}

// Three attempts, the long rest, and counting begins anew.
func TestALongRestAfterTheLast(t *testing.T) {
	m := mustMachine(t, setup())
	at := sec
	var out []timer.Effect
	for n := 1; n <= 3; n++ {
		if v := m.View(at); v.Attempt != n || v.Of != 3 {
			t.Errorf("attempt %d of %d, want %d of 3", v.Attempt, v.Of, n)
		}
		script := fmt.Sprintf("%v choose flooded\n%v tap\n%v tap\n%v tap\n%v tap\n%v tap\n%v tap\n%v hold 5s\n%v hold 1s\n%v tap\n",
			at, at+sec, at+2*sec, at+3*sec, at+4*sec, at+5*sec, at+6*sec, at+10*sec, at+17*sec, at+20*sec)
		out = append(out, run(m, parse(t, script))...)
		if v := m.View(at + 19*sec); n == 3 && (!v.Long || v.Rest == 0) {
			t.Errorf("after the last attempt: rest %v, long %v", v.Rest, v.Long)
		}
		at += 100 * sec
	}
	engaged := 0
	for _, e := range out {
		if e.Kind == timer.Engaged {
			engaged++
		}
	}
	if engaged != 3 {
		t.Fatalf("%d attempts, want 3", engaged)
	}
	said := story(run(m, parse(t, "45m tick")))
	for _, want := range []string{"ten minutes", "one minute", "thirty seconds", "ten seconds", "Ready"} {
		if !strings.Contains(said, want) {
			t.Errorf("the long rest does not say %q:\n%s", want, said)
		}
	}
	if v := m.View(45 * time.Minute); v.Attempt != 1 || v.Rest != 0 {
		t.Errorf("after the long rest: attempt %d, rest %v", v.Attempt, v.Rest)
	}
}

// Past the oil's time the screen says what to do, and the button is still there
// to say that the pressure came.
func TestNoOilPressureIsShown(t *testing.T) {
	m := mustMachine(t, setup())
	run(m, parse(t, toRunning))
	if v := m.View(49 * sec); v.Warning != "" || v.Clock.Over {
		t.Errorf("at the last moment of the thirty seconds it says %q", v.Warning)
	}
	run(m, parse(t, "50s tick"))
	if v := m.View(50 * sec); v.Warning != "No oil pressure. Mixture to cut-off." || v.Head != "Mixture to cut-off" || v.Button.Text != "IN THE GREEN" {
		t.Errorf("warning %q, head %q, button %q", v.Warning, v.Head, v.Button.Text)
	}
}

// A press and release that arrive after a younger tick keep their own times.
func TestLateEventsKeepTheirTimes(t *testing.T) {
	m := mustMachine(t, setup())
	out := run(m, parse(t, toArmed+"14.016s tick\n14.003s press\n18.032s tick\n18.017s release\n20s hold 1s\n24s tick"))
	var engaged, released time.Duration
	for _, e := range out {
		switch e.Kind {
		case timer.Engaged:
			engaged = e.At
		case timer.Released:
			released = e.At
		}
	}
	if engaged != 14003*ms || released != 18017*ms {
		t.Errorf("engaged %v to %v, want 14.003s to 18.017s", engaged, released)
	}
}

func TestARestIsTakenOver(t *testing.T) {
	l := starter.New(library().Aircraft.Starter)
	l.Engage(-30 * sec)
	l.Release(-25 * sec)
	s := setup()
	s.Ledger = l
	m := mustMachine(t, s)
	if v := m.View(0); v.Rest != 35*sec || v.Attempt != 2 {
		t.Errorf("rest %v, attempt %d; want 35s, 2", v.Rest, v.Attempt)
	}
	want := "0.0 awake=true\n5.0 “thirty seconds”\n25.0 “ten seconds”\n35.0 “Ready”\n35.0 awake=false"
	if got := story(run(m, parse(t, "0s air 5\n40s tick"))); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if len(l.Attempts()) != 1 {
		t.Error("the machine wrote in the caller's ledger")
	}
}

// The drill for a fire may be begun with, but not by this button; and an aircraft
// without a hot flow starts hot as it does cold.
func TestFlowsThatStartNothing(t *testing.T) {
	lib := library()
	lib.Flows[0], lib.Flows[2].Entry = &procedure.Flow{ID: "fire", Situation: "fire", Entry: true}, false
	lesson := *lib.Flows[1]
	lesson.ID, lesson.Situation = "magnetos", "magnetos"
	lib.Flows = append(lib.Flows, &lesson)
	m := mustMachine(t, timer.Setup{Library: lib, Shutdown: -10 * time.Minute, ShutdownKnown: true})
	for _, f := range m.Flows() {
		if f.ID == "fire" || f.ID == "magnetos" {
			t.Errorf("%s is offered as a situation", f.ID)
		}
	}
	if got := m.View(0).Situation; got != "warm" {
		t.Errorf("a hot engine without a hot flow is started %s, want warm", got)
	}
}

func TestNoFlowToBeginWith(t *testing.T) {
	lib := library()
	lib.Flows = nil
	if _, err := timer.New(timer.Setup{Library: lib}); err == nil || !strings.Contains(err.Error(), "entry: true") {
		t.Errorf("got %v, want an error that says what to add", err)
	}
	if _, err := timer.New(timer.Setup{}); err == nil {
		t.Error("no aircraft is no error")
	}
}

// Strokes of a hand primer, each a hold.
func TestStrokes(t *testing.T) {
	lib := library()
	f := lib.Flows[0]
	primer := []procedure.Target{{Control: procedure.ControlPrimer}}
	out := procedure.Step{Title: "Primer out", Kind: procedure.StepSet, Targets: primer, Window: procedure.Window{Max: 4 * sec}}
	in := procedure.Step{Title: "Primer in", Kind: procedure.StepSet, Targets: primer, Prompt: procedure.Line{Caption: "In"}, Window: procedure.Window{Min: sec, Ideal: 1500 * ms, Max: 4 * sec}}
	lock := procedure.Step{Title: "Primer locked", Kind: procedure.StepSet, Targets: append(primer, procedure.Target{Control: "primer_lock"})}
	f.Steps = append([]procedure.Step{out, in, out, in, lock}, f.Steps[4:]...)
	m := mustMachine(t, timer.Setup{Library: lib, Celsius: 10})
	if got := m.View(0).Button.Text; got != "PRIME 1 of 2" {
		t.Errorf("button %q", got)
	}
	run(m, parse(t, "1s hold 1s"))
	if got := m.View(3 * sec).Button.Text; got != "PRIME 2 of 2" {
		t.Errorf("button %q after a stroke", got)
	}
	if got, want := story(run(m, parse(t, "4s hold 1s"))), "5.0 “In”"; !strings.Contains(got, want) {
		t.Errorf("a stroke says\n%s\nwant %s among it", got, want)
	}
	if v := m.View(6 * sec); v.State != timer.Setting || v.Head != "Primer locked" || v.Clock.Sub != "2 strokes" {
		t.Errorf("%s, %q, %s; want setting, the lock, 2 strokes", v.State, v.Head, v.Clock.Sub)
	}
}
