package rehearse

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// beside is the other button of the mouse.
func beside() *desktop.MouseEvent {
	e := at(0, 0)
	e.Button = desktop.MouseButtonSecondary
	return e
}

// One hand holds START and moves the mixture. The toolkit ends a drag when any
// button comes up, and says first which.
func TestTheOtherButtonThrowsTheMixtureWhileStartIsHeld(t *testing.T) {
	k := sit(t, nil)
	s := k.screen.surface
	s.MouseDown(beside())
	k.now += time.Second
	k.screen.hands.advance(k.now)
	k.want("START is not held")

	start := k.screen.view.key.Cell(4)
	k.press(start)
	k.took()
	k.drag(start.X+9, start.Y+9) // the hand trembles
	s.MouseDown(beside())
	s.MouseUp(beside())
	s.DragEnd()
	k.now += time.Second
	k.screen.hands.advance(k.now)
	k.want("START stays held", move(procedure.ControlMixture, 1))
	k.release()
	k.want("let go", move(procedure.ControlIgnition, 3))
}

// A drag that ends outside the window has no button's release before it.
func TestADragThatEndsElsewherePutsTheLeverDown(t *testing.T) {
	k := sit(t, nil)
	s := k.screen.surface
	s.MouseUp(beside())
	x, y := middle(k.screen.view.levers[0].Knob(0))
	s.MouseDown(at(x, y))
	k.drag(x, y-20)
	s.DragEnd()
	if id := k.screen.hands.grabbed(); id != "" {
		t.Errorf("the mouse still holds the %s", id)
	}
}

func TestWhatIsSaidHasItsButtonsInEveryPhaseThatIsFlown(t *testing.T) {
	for _, phase := range []procedure.Phase{procedure.Perform, procedure.Evaluate} {
		k := sit(t, func(n *rehearsal.Snapshot) { n.Phase = phase })
		plates := k.screen.view.voicePlates()
		k.press(plates[0].At)
		k.want(string(phase), procedure.Event{Kind: procedure.EventCall, Subject: procedure.CallReady})
		k.press(plates[1].At)
		k.want(string(phase), procedure.Event{Kind: procedure.EventCall, Subject: procedure.CallClear})
	}
	for _, phase := range []procedure.Phase{procedure.Explain, procedure.Demonstrate} {
		if k := sit(t, func(n *rehearsal.Snapshot) { n.Phase = phase }); k.screen.view.voice.Visible() {
			t.Errorf("%s asks for words", phase)
		}
	}
}

// Whoever flies by mouse reads how one hand does for two before it has to, and
// whoever flies by keys never.
func TestTheMouseIsToldOfTheMixture(t *testing.T) {
	crank := func(n *rehearsal.Snapshot) {
		n.Steps = []rehearsal.StepView{
			{Step: &procedure.Step{ID: "crank", Title: "Crank", Kind: procedure.StepCrank}, Status: rehearsal.StepPresent},
			{Step: &procedure.Step{ID: "catch", Title: "Catch", Kind: procedure.StepCatch}, Status: rehearsal.StepNext},
		}
		n.Present = 0
	}
	k := sit(t, crank)
	told := func() bool {
		k.screen.Show(k.snap)
		return strings.Contains(k.screen.view.said.Value().Hint, "mixture")
	}
	if told() {
		t.Error("nobody has touched the mouse")
	}
	k.press(k.screen.view.rockers[0].At)
	if !told() {
		t.Error("it is not told")
	}
	k.down(fyne.Key1)
	if told() {
		t.Error("keys fly now")
	}
	k = sit(t, func(n *rehearsal.Snapshot) { crank(n); n.Phase = procedure.Evaluate })
	k.press(k.screen.view.rockers[0].At)
	if told() {
		t.Error("Evaluate tells what is next")
	}
	k.press(k.screen.view.key.Cell(4))
	if !told() {
		t.Error("it is not told while START is held")
	}
}
