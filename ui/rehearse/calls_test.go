package rehearse

import (
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
)

func call(what string) procedure.Event {
	return procedure.Event{Kind: procedure.EventCall, Subject: what}
}

func look(where string) procedure.Event {
	return procedure.Event{Kind: procedure.EventLook, Subject: where}
}

func TestPropellerAreaByKeysAndByMouse(t *testing.T) {
	k := sit(t, func(n *rehearsal.Snapshot) { n.Area.Active = true })
	k.down(fyne.KeyA)
	k.down(fyne.KeyW)
	k.down(fyne.KeyD)
	k.down(fyne.KeyC)
	k.want("keys", look("left"), look("ahead"), look("right"), call("clear"))
	if !k.screen.view.scened.Visible() {
		t.Fatal("the picture is not shown while the check is the present step")
	}
	r := k.screen.view.gauges
	k.screen.surface.MouseDown(at(r.X+r.W/2-120, r.Y+200))
	k.screen.surface.MouseDown(at(r.X+r.W/2, r.Y+150))
	k.screen.surface.MouseDown(at(r.X+r.W/2+120, r.Y+200))
	k.press(k.screen.view.scene.CallButton())
	k.want("mouse", look("left"), look("ahead"), look("right"), call("clear"))
	k.press(k.screen.view.scene.BrakeButton())
	k.want("brakes", move(procedure.ControlBrakes, 1))
}

func TestPictureDoesNotGiveTheCheckAwayInEvaluate(t *testing.T) {
	k := sit(t, func(n *rehearsal.Snapshot) { n.Phase, n.Area.Active = procedure.Evaluate, true })
	if k.screen.view.scened.Visible() {
		t.Error("the picture says that it is time to look")
	}
	next := *k.snap
	next.Area.Sectors[0] = rehearsal.SectorView{Looked: true, Seen: true}
	k.screen.Show(&next)
	if !k.screen.view.scened.Visible() {
		t.Error("the picture is not shown after the student began to look")
	}
}

func TestEvaluateShowsNothingOfWhatIsToCome(t *testing.T) {
	n := cockpit()
	n.Phase = procedure.Evaluate
	s := stripOf(n, units.Units{})
	if s.Next[0].Title != "" || s.Now.Title == "Bus volts" {
		t.Errorf("the strip names the present step %q and the next %q", s.Now.Title, s.Next[0].Title)
	}
	if s.Past[0].Title != "Battery on" || s.Past[0].Note != "" {
		t.Errorf("what was done is %+v, want it named and not judged", s.Past[0])
	}
	if aims := aimsOf(n); len(aims) > 0 {
		k := sit(t, func(s *rehearsal.Snapshot) { *s = *n })
		for _, c := range k.screen.view.levered {
			if c.Value().Aiming {
				t.Error("a lever shows where to put it")
			}
		}
	}
}

func TestAreaShowsOnlyWhoTheStudentCanSee(t *testing.T) {
	n := cockpit()
	n.Area.Sectors[2] = rehearsal.SectorView{Occupied: true, Who: "a refueller walks in"}
	if s := areaOf(n); s.Sectors[2].Occupied || s.Sectors[2].Who != "" {
		t.Errorf("an unseen person is shown: %+v", s.Sectors[2])
	}
	n.Area.Sectors[2].Seen = true
	if s := areaOf(n); !s.Sectors[2].Occupied || s.Sectors[2].Who != "a refueller walks in" {
		t.Errorf("a seen person is not shown: %+v", s.Sectors[2])
	}
}

func TestReadyIsCalledWithEnter(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyReturn)
	k.want("ready", call("ready"))
}

func TestExplainIsPagedThrough(t *testing.T) {
	k := sit(t, func(n *rehearsal.Snapshot) { n.Phase = procedure.Explain })
	k.down(fyne.KeyRight)
	k.down(fyne.KeyLeft)
	k.down(fyne.KeyReturn)
	k.want("keys", call("next"), call("back"), call("next"))
	for _, b := range k.screen.view.lessonPlates() {
		k.press(b.At)
	}
	k.want("mouse", call("next"), call("back"))
}

func TestChoicesAfterAnAttemptThatFailed(t *testing.T) {
	k := sit(t, func(n *rehearsal.Snapshot) {
		n.Choices = []procedure.Choice{{ID: "prime-again", Title: "Half the prime again"}, {ID: "flooded-air", Title: "Flooded: air"}}
	})
	choose := func(id string) procedure.Event { return procedure.Event{Kind: procedure.EventChoose, Subject: id} }
	k.down(fyne.Key8)
	k.down(fyne.Key9)
	k.want("keys; there is no third", choose("flooded-air"))
	k.press(k.screen.view.questionPlates()[0].At)
	k.want("mouse", choose("prime-again"))
}

func TestInterruptionIsAnsweredOrPutOff(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyG)
	k.want("nobody asked")
	next := *k.snap
	next.Asked = &rehearsal.Interruption{Who: "Tower", Text: "Are you ready to copy?"}
	k.screen.Show(&next)
	k.down(fyne.KeyG)
	k.down(fyne.KeyV)
	k.want("keys", call("answered"), call("ignored"))
	for _, b := range k.screen.view.callPlates() {
		k.press(b.At)
	}
	k.want("mouse", call("answered"), call("ignored"))
}

func TestWarningStandsAndThenGoes(t *testing.T) {
	k := sit(t, func(n *rehearsal.Snapshot) {
		n.At = 10 * time.Second
		n.Alerts = []rehearsal.Alert{{At: 9 * time.Second, Breach: procedure.BreachBrakesOff}}
	})
	if !k.screen.view.banned.Visible() || k.screen.view.banned.Value().Text != "brakes not held" {
		t.Errorf("the banner is %+v", k.screen.view.banned.Value())
	}
	k.down(fyne.Key1)
	k.want("it does not block the hands", move(procedure.ControlBattery, 1))
	next := *k.snap
	next.At = 30 * time.Second
	k.screen.Show(&next)
	if k.screen.view.banned.Visible() {
		t.Error("the banner stands for ever")
	}
}

func TestLeaveByItsPlate(t *testing.T) {
	k := sit(t, nil)
	for _, b := range k.screen.view.timePlates() {
		if b.act == actLeave {
			k.press(b.At)
		}
	}
	if k.left != 1 {
		t.Errorf("Leave was called %d times", k.left)
	}
}

func TestKeysOfTheServerAreNotTakenTwice(t *testing.T) {
	k := sit(t, nil)
	b := keyboard{k.screen}
	b.Keys([]fyne.KeyName{fyne.KeyF})
	k.down(fyne.KeyF)
	k.want("the toolkit's")
	b.Key(fyne.KeyF, true, 1500*time.Millisecond)
	e := move(procedure.ControlIgnition, 4)
	e.At = 1500 * time.Millisecond
	k.want("the server's, with its stamp", e)
	b.Key(fyne.KeyF, false, 1700*time.Millisecond)
	k.took()
	k.down(fyne.Key1)
	k.want("a key it does not tell", move(procedure.ControlBattery, 1))
	b.Keys(nil)
	k.down(fyne.KeyF)
	k.want("the toolkit's again", move(procedure.ControlIgnition, 4))
}
