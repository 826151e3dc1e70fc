package timer_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"kickover/procedure/timer"
)

// A wrong press can be taken back for two seconds, wherever it was made: what is
// shown then is what was shown before it.
func TestAnyWrongPressIsTakenBack(t *testing.T) {
	for _, c := range []struct{ name, before, act string }{
		{"prime", "", "1s hold 300ms"},
		{"prime, still held", "", "1s press\n1.5s tick"},
		{"a second stroke by press and press", "0s latch\n", "1s tap"},
		{"levers set", toPrimed, "6s tap"},
		{"left", toSet, "7s tap"},
		{"ahead", toSet + "7s tap\n", "8s tap"},
		{"CLEAR called", toLooked, "10s tap"},
		{"somebody answered", toCalled, "11s tap"},
		{"START", toArmed, "14s hold 300ms"},
		{"RUNNING", toCranked, "20s tap"},
		{"NO START", toCranked, "20s hold 1.2s"},
		{"oil in the green", toRunning, "30s tap"},
		{"it died", toRunning, "30s hold 1s"},
		{"throttle", toOil, "32s tap"},
		{"note", toQuiet, "40s tap"},
		{"another note", toQuiet + "40s tap\n", "43s hold 1s"},
		{"keep", toQuiet + "40s tap\n", "43s tap"},
		{"engine stopped", toQuiet, "40s hold 1s"},
		{"another question", toNoStart, "26s hold 1s"},
		{"that was it", toNoStart, "26s tap"},
		{"another situation", toNoStart, "26s choose flooded"},
		{"it has rested", secondReady, "65s hold 2s"},
	} {
		t.Run(c.name, func(t *testing.T) {
			events := parse(t, c.act)
			acted := events[len(events)-1].At
			with, without := mustMachine(t, setup()), mustMachine(t, setup())
			run(with, parse(t, c.before))
			run(without, parse(t, c.before))
			run(with, events)
			if v := with.View(acted); !v.Undo {
				t.Error("undo is not offered")
			}
			for _, m := range []*timer.Machine{with, without} {
				m.Apply(timer.Event{Kind: timer.Undo, At: acted + 1500*ms})
			}
			at := acted + 5*sec
			got, want := with.View(at), without.View(at)
			// A look or a call is waited for anew, which may take longer.
			got.Area, want.Area = nil, nil
			if strings.Contains(c.name, "answered") {
				with.Apply(timer.Event{Kind: timer.Tick, At: at})
				without.Apply(timer.Event{Kind: timer.Tick, At: at})
				got, want = with.View(at), without.View(at)
				got.Head, want.Head = "", "" // how long the look is good for
			}
			if !reflect.DeepEqual(got, want) {
				t.Errorf("got %+v\nwant %+v", got, want)
			}
		})
	}
}

// After two seconds it stays.
func TestTooLateToTakeBack(t *testing.T) {
	for _, script := range []string{"1s hold 300ms", toSet + "7s tap", toArmed + "14s hold 300ms", toCranked + "20s tap", secondReady + "65s hold 2s"} {
		m := mustMachine(t, setup())
		events := parse(t, script)
		run(m, events)
		late := events[len(events)-1].At + 2500*ms
		before := m.View(late)
		m.Apply(timer.Event{Kind: timer.Undo, At: late})
		if after := m.View(late); after.State != before.State || before.Undo {
			t.Errorf("%q: %s after an undo that came too late, %s before; offered %v", script, after.State, before.State, before.Undo)
		}
	}
}

// A hold acts when it is long enough, and can be taken back for two seconds from
// then.
func TestAHoldIsTakenBackFromWhenItActs(t *testing.T) {
	m := mustMachine(t, setup())
	run(m, parse(t, secondReady+"64s press\n67.8s undo"))
	if v := m.View(68 * sec); v.State != timer.Resting || v.Rest == 0 {
		t.Errorf("%s, %v owed; want resting still", v.State, v.Rest)
	}
	if effects := m.Apply(timer.Event{Kind: timer.Tick, At: 70 * sec}); strings.Contains(story(effects), "rested") {
		t.Error("the ledger is told of a rest that was taken back")
	}
}

// The pilot's word is on its way to the ledger for two seconds; ending the program
// sends it.
func TestSettlingSendsWhatCouldBeUndone(t *testing.T) {
	m := mustMachine(t, setup())
	run(m, parse(t, toCranked+"20s tap"))
	got := story(m.Settle(20200 * ms))
	if !strings.Contains(got, "keep #1 cold") || !strings.Contains(got, "runs") {
		t.Errorf("settled with\n%s", got)
	}
	if _, pending := m.Next(); pending {
		if at, _ := m.Next(); at < 20200*ms+2*time.Second {
			t.Errorf("something is still due at %v", at)
		}
	}
}
