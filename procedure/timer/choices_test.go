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
