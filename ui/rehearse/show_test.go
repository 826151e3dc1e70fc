package rehearse

import (
	"slices"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
)

// A newcomer's question at the present step is which key: every step of a flow that
// something is pressed for says so, and says nothing twice.
func TestThePresentStepSaysItsKeys(t *testing.T) {
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	want := map[procedure.StepKind]bool{
		procedure.StepSet: true, procedure.StepCheck: true, procedure.StepHold: true, procedure.StepBrief: true,
		procedure.StepPropClear: true, procedure.StepCrank: true, procedure.StepCatch: true,
	}
	for _, l := range libraries {
		for _, f := range l.Flows {
			for i := range f.Steps {
				st := &f.Steps[i]
				n := &rehearsal.Snapshot{Aircraft: l.Aircraft, Phase: procedure.Perform, Positions: elsewhere(l.Aircraft, st),
					Steps: []rehearsal.StepView{{Step: st, Status: rehearsal.StepPresent}}}
				now := stripOf(n, units.Units{}).Now
				if want[st.Kind] && now.Keys[0] == "" {
					t.Errorf("%s, %s, %s (%s): no key", l.Aircraft.ID, f.ID, st.ID, st.Kind)
				}
				if now.Text != "" && spoken(now.Text) == spoken(now.Title) {
					t.Errorf("%s, %s: %q twice", f.ID, st.ID, now.Text)
				}
				n.Phase = procedure.Evaluate
				if now := stripOf(n, units.Units{}).Now; now.Keys[0] != "" {
					t.Errorf("%s: Evaluate tells the key %s", st.ID, now.Keys[0])
				}
			}
		}
	}
	a := libraries[slices.IndexFunc(libraries, func(l *procedure.Library) bool { return l.Aircraft.ID == "brindle-180" })]
	f, _ := a.Flow("cold")
	for id, keys := range map[procedure.StepID][4]string{
		"brakes": {"space"}, "prime": {"O", "L"}, "throttle-prime": {"U"}, "throttle-start": {"J"}, "propeller-area": {"A", "W", "D", "C"},
	} {
		at := slices.IndexFunc(f.Steps, func(st procedure.Step) bool { return st.ID == id })
		n := &rehearsal.Snapshot{Aircraft: a.Aircraft, Positions: make([]procedure.Position, len(a.Aircraft.Controls))}
		if id == "throttle-start" {
			throttle := slices.IndexFunc(a.Aircraft.Controls, func(c procedure.Control) bool { return c.ID == procedure.ControlThrottle })
			n.Positions[throttle] = 28 // the prime mark
		}
		if got := stepKeys(n, &f.Steps[at]); got != keys {
			t.Errorf("%s: %v, want %v", id, got, keys)
		}
	}
}

// elsewhere has every control that a step moves where the step does not want it.
func elsewhere(a *procedure.Aircraft, st *procedure.Step) []procedure.Position {
	out := make([]procedure.Position, len(a.Controls))
	for i, c := range a.Controls {
		for _, t := range st.Targets {
			if t.Control == c.ID && t.At == 0 {
				out[i] = 1
			}
		}
	}
	return out
}

// When a run is over the engine is still seen, the clock keeps the prime, and
// nothing stands there as if it were being said.
func TestTheEndOfARun(t *testing.T) {
	k := sit(t, func(n *rehearsal.Snapshot) {
		n.Done, n.Outcome, n.Caption.Text = true, procedure.Started, "Boost pump off"
		n.Steps[2].Status, n.Steps[2].Elapsed = rehearsal.StepDone, 5590*time.Millisecond
		n.Steps[2].Window = procedure.Window{Min: 3500 * time.Millisecond, Ideal: 4200 * time.Millisecond, Max: 5 * time.Second}
	})
	v := k.screen.view
	if !v.ended.Visible() || !v.dialed[0].Visible() || v.barred[0].Visible() {
		t.Errorf("the card %v, the dials %v, the row under the card %v", v.ended.Visible(), v.dialed[0].Visible(), v.barred[0].Visible())
	}
	if w := v.watched.Value(); w.Text != "5.6" || w.Label != "YOUR PRIME" || !w.Late {
		t.Errorf("the clock says %q %q, late %v", w.Label, w.Text, w.Late)
	}
	if s := v.said.Value(); s.Text != "" {
		t.Errorf("%q is still said", s.Text)
	}
}

// The eye is on the ring, so it is there that a pause is told.
func TestAPauseIsSeenInTheRing(t *testing.T) {
	k := sit(t, func(n *rehearsal.Snapshot) {
		n.Paused, n.Clock = true, rehearsal.ClockView{Label: "PRIME", Running: true, Elapsed: 3 * time.Second, Scale: 8 * time.Second}
	})
	if w := k.screen.view.watched.Value(); w.Label != "PAUSED" || !w.Idle || w.Text != "3.0" {
		t.Errorf("the ring says %q %q, dim %v", w.Label, w.Text, w.Idle)
	}
}

// On a busy machine the toolkit's event for a key comes after the next page, where
// it would press a button: what leads to one waits for that event.
func TestKeysThatTurnThePageAreTheToolkits(t *testing.T) {
	k := sit(t, nil)
	b := keyboard{k.screen}
	b.Keys([]fyne.KeyName{fyne.KeyReturn, fyne.KeyF10})
	b.Key(fyne.KeyReturn, true, time.Second)
	k.down(fyne.KeyReturn)
	k.want("ready, once, with its stamp", procedure.Event{Kind: procedure.EventCall, Subject: procedure.CallReady, At: time.Second})
	over := *k.snap
	over.Done = true
	k.screen.Show(&over)
	for key, name := range map[fyne.KeyName]string{fyne.KeyReturn: "finish", fyne.KeyF10: "leave"} {
		called := 0
		k.screen.opts.Finish, k.screen.opts.Leave = func() { called++ }, func() { called++ }
		b.Key(key, true, 2*time.Second)
		if called != 0 {
			t.Errorf("%s: the server's event is taken", name)
		}
		k.down(key)
		if called != 1 {
			t.Errorf("%s: the toolkit's event is taken %d times", name, called)
		}
	}
}
