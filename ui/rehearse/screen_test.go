package rehearse

import (
	"math"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/ui/panel"
)

// seat is a screen in a window of the test driver, with a clock that the test
// turns and a list of what the hands did.
type seat struct {
	t      *testing.T
	screen *Screen
	now    time.Duration
	events []procedure.Event
	snap   *rehearsal.Snapshot
	left   int // how often Leave was called
}

func sit(t *testing.T, change func(*rehearsal.Snapshot)) *seat {
	t.Helper()
	test.NewTempApp(t)
	k := &seat{t: t, now: time.Second, snap: cockpit()}
	if change != nil {
		change(k.snap)
	}
	k.screen = New(Options{
		Now:      func() time.Duration { return k.now },
		Emit:     func(e procedure.Event) { k.events = append(k.events, e) },
		SkipRest: func() {}, Pause: func() {}, Finish: func() {}, Leave: func() { k.left++ },
	})
	// The test moves the levers itself.
	k.screen.driving.Store(true)
	w := test.NewTempWindow(t, k.screen.Content())
	w.SetPadded(false)
	w.Resize(fyne.NewSize(1280, 800))
	k.screen.Show(k.snap)
	k.screen.Focus(w)
	return k
}

// cockpit is a run of a small aeroplane at its prime.
func cockpit() *rehearsal.Snapshot {
	a := &procedure.Aircraft{ID: "test", Name: "Test",
		Starter: procedure.StarterLimits{Crank: 6 * time.Second, Rest: 45 * time.Second, Attempts: 5, LongRest: 20 * time.Minute},
		Controls: []procedure.Control{
			{ID: procedure.ControlBattery, Name: "Battery", Kind: procedure.Switch, Hand: procedure.Left, Detents: []string{"off", "on"}},
			{ID: procedure.ControlBrakes, Name: "Brakes", Kind: procedure.Switch, Hand: procedure.Feet, Detents: []string{"released", "held"}},
			{ID: procedure.ControlIgnition, Name: "Ignition", Kind: procedure.Rotary, Hand: procedure.Left,
				Detents: []string{"off", "right", "left", "both", "start"}, Sprung: []procedure.Sprung{{From: "start", To: "both"}}},
			{ID: procedure.ControlThrottle, Name: "Throttle", Kind: procedure.Lever, Hand: procedure.Right, Unit: "mm", Travel: 80,
				Marks: []procedure.Mark{{ID: "prime", Name: "prime", At: 28}, {ID: "start", Name: "start", At: 9}}},
			{ID: procedure.ControlMixture, Name: "Mixture", Kind: procedure.Lever, Hand: procedure.Right, Travel: 1},
		},
		Instruments: []procedure.Instrument{
			{ID: procedure.InstrumentFuelFlow, Name: "Fuel flow", Unit: "g/s", Max: 5, Decimals: 1},
			{ID: procedure.InstrumentRPM, Name: "Engine speed", Unit: "rpm", Max: 3000},
			{ID: procedure.InstrumentBusVolts, Name: "Volts", Unit: "V", Min: 18, Max: 30, Decimals: 1},
		},
	}
	n := &rehearsal.Snapshot{Aircraft: a, Phase: procedure.Perform, Starter: rehearsal.StarterView{Limits: a.Starter}}
	n.Positions = make([]procedure.Position, len(a.Controls))
	n.Readings = []float64{0.4, 0, 24.6}
	n.Steps = []rehearsal.StepView{
		{Step: &procedure.Step{ID: "one", Title: "Battery on", Kind: procedure.StepSet}, Status: rehearsal.StepDone, Verdict: procedure.Late},
		{Step: &procedure.Step{ID: "two", Title: "Bus volts", Kind: procedure.StepCheck,
			Conditions: []procedure.Condition{{Instrument: procedure.InstrumentBusVolts, Min: 24.2, Max: 30}}}, Status: rehearsal.StepPresent},
		{Step: &procedure.Step{ID: "three", Title: "Prime", Kind: procedure.StepHold}, Status: rehearsal.StepNext},
	}
	n.Present = 1
	return n
}

// took gives what the hands did since it was last asked.
func (k *seat) took() []procedure.Event {
	e := k.events
	k.events = nil
	return e
}

func (k *seat) want(what string, want ...procedure.Event) {
	k.t.Helper()
	got := k.took()
	if len(got) != len(want) {
		k.t.Fatalf("%s: got %+v, want %+v", what, got, want)
	}
	for i := range want {
		if want[i].At == 0 {
			want[i].At = k.now
		}
		if got[i] != want[i] {
			k.t.Errorf("%s: event %d is %+v, want %+v", what, i, got[i], want[i])
		}
	}
}

func (k *seat) down(n fyne.KeyName) { k.screen.surface.KeyDown(&fyne.KeyEvent{Name: n}) }
func (k *seat) up(n fyne.KeyName)   { k.screen.surface.KeyUp(&fyne.KeyEvent{Name: n}) }

func at(x, y float64) *desktop.MouseEvent {
	e := &desktop.MouseEvent{Button: desktop.MouseButtonPrimary}
	e.Position = fyne.NewPos(float32(x), float32(y))
	return e
}

func middle(r panel.Rect) (x, y float64) { return r.X + r.W/2, r.Y + r.H/2 }

func (k *seat) press(r panel.Rect) { k.screen.surface.MouseDown(at(middle(r))) }
func (k *seat) release()           { k.screen.surface.MouseUp(at(0, 0)) }
func (k *seat) drag(x, y float64) {
	e := &fyne.DragEvent{}
	e.Position = fyne.NewPos(float32(x), float32(y))
	k.screen.surface.Dragged(e)
}

func move(c procedure.ControlID, to float64) procedure.Event {
	return procedure.Event{Kind: procedure.EventMove, Subject: string(c), Value: to}
}

func TestStartIsHeldByItsKeyAndSpringsBack(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyF)
	k.want("pressed", move(procedure.ControlIgnition, 4))
	k.now += 3 * time.Second
	k.up(fyne.KeyF)
	k.want("let go", move(procedure.ControlIgnition, 3))
	k.up(fyne.KeyF)
	k.want("let go twice")
}

func TestStartSpringsBackWhenTheWindowLosesTheForeground(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyF)
	k.took()
	k.now += time.Second
	k.screen.surface.FocusLost()
	k.want("foreground lost", move(procedure.ControlIgnition, 3))
	k.up(fyne.KeyF)
	k.want("the key comes up later")
}

func TestStartUnderTheMouse(t *testing.T) {
	k := sit(t, nil)
	start := k.screen.view.key.Cell(4)
	k.press(start)
	k.want("pressed", move(procedure.ControlIgnition, 4))
	k.release()
	k.want("let go", move(procedure.ControlIgnition, 3))
	k.screen.surface.DragEnd()
	k.want("the drag ends too")

	k.press(start)
	k.took()
	k.drag(start.X+3, start.Y+3)
	k.want("moved within it")
	k.drag(start.X-200, start.Y-100)
	k.want("dragged off it", move(procedure.ControlIgnition, 3))
	k.release()
	k.want("let go elsewhere")
}

func TestStartHeldTwiceSpringsBackWhenTheLastLetsGo(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyF)
	k.press(k.screen.view.key.Cell(4))
	k.want("held by key and mouse", move(procedure.ControlIgnition, 4))
	k.up(fyne.KeyF)
	k.want("the mouse still holds it")
	k.release()
	k.want("nothing holds it", move(procedure.ControlIgnition, 3))
}

func TestStartIsLetGoThoughAStaleSnapshotCameMeanwhile(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyF)
	k.took()
	k.screen.Show(k.snap) // does not know of START yet
	k.up(fyne.KeyF)
	k.want("let go", move(procedure.ControlIgnition, 3))
}

func TestStartLetGoWhilePausedSpringsBackWhenTimeGoesOn(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyF)
	k.took()
	show := func(paused bool, ignition procedure.Position) {
		k.now += time.Second
		next := *k.snap
		next.At, next.Paused = k.now, paused
		next.Positions = append([]procedure.Position(nil), k.snap.Positions...)
		next.Positions[2] = ignition
		k.screen.Show(&next)
	}
	show(true, 4)
	k.up(fyne.KeyF)
	k.took() // a paused run does not hear it
	show(true, 4)
	k.down(fyne.Key1)
	k.want("nothing moves while paused")
	show(false, 4)
	k.want("time goes on", move(procedure.ControlIgnition, 3))
}

func TestMixtureGoesForwardWhileStartIsHeld(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyF)
	k.down(fyne.KeyO)
	k.up(fyne.KeyO)
	k.took()
	begun := k.now
	k.now = begun + 125*time.Millisecond
	k.screen.hands.advance(k.now)
	k.want("half way", move(procedure.ControlMixture, 0.5))
	k.now = begun + 250*time.Millisecond
	if k.screen.hands.advance(k.now) {
		t.Error("it still moves after a quarter of a second")
	}
	k.want("full forward", move(procedure.ControlMixture, 1))
	k.up(fyne.KeyF)
	k.want("then START", move(procedure.ControlIgnition, 3))
}

func TestThrottleStopsExactlyOnItsMarks(t *testing.T) {
	k := sit(t, nil)
	for _, c := range []struct {
		key  fyne.KeyName
		want float64
	}{{fyne.KeyU, 9}, {fyne.KeyU, 28}, {fyne.KeyU, 80}, {fyne.KeyJ, 28}, {fyne.KeyJ, 9}, {fyne.KeyJ, 0}} {
		k.down(c.key)
		k.up(c.key)
		k.now += 2 * time.Second
		k.screen.hands.advance(k.now)
		k.want(string(c.key), move(procedure.ControlThrottle, c.want))
	}
}

func TestThrottleMovesWhileItsKeyIsHeld(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.KeyI)
	k.now += 500 * time.Millisecond
	k.up(fyne.KeyI)
	e := k.took()
	if len(e) != 1 || math.Abs(e[0].Value-16) > 0.001 {
		t.Fatalf("half a second at 32 mm/s: got %+v", e)
	}
	k.now += time.Second
	if k.screen.hands.advance(k.now) {
		t.Error("it moves on after the key came up")
	}
	k.want("after that")
}

func TestLeverFollowsTheMouseFromWhereItWasTaken(t *testing.T) {
	k := sit(t, nil)
	l := k.screen.view.levers[0]
	knob := l.Knob(0)
	x, y := middle(knob)
	k.screen.surface.MouseDown(at(x, y))
	k.want("taken")
	k.drag(x, y+l.Y(28)-l.Y(0))
	e := k.took()
	if len(e) != 1 || math.Abs(e[0].Value-28) > 0.01 {
		t.Fatalf("dragged by 28 mm: got %+v", e)
	}
	// A snapshot that does not know of the drag must not snatch it back.
	k.screen.Show(k.snap)
	if p, _ := k.screen.hands.position(procedure.ControlThrottle); math.Abs(float64(p)-28) > 0.01 {
		t.Errorf("a stale snapshot moved the lever in the hand to %v", p)
	}
	k.release()
	k.want("put down")
}

func TestSwitchesByKeyAndMouse(t *testing.T) {
	k := sit(t, nil)
	k.down(fyne.Key1)
	k.want("key 1", move(procedure.ControlBattery, 1))
	k.press(k.screen.view.rockers[0].At)
	k.want("clicked", move(procedure.ControlBattery, 0))
	k.down(fyne.KeySpace)
	k.want("space", move(procedure.ControlBrakes, 1))
	k.down(fyne.KeyX)
	k.want("turned on", move(procedure.ControlIgnition, 1))
	for range 4 {
		k.down(fyne.KeyX)
	}
	k.want("never into START", move(procedure.ControlIgnition, 2), move(procedure.ControlIgnition, 3))
}

func TestInstrumentIsReportedWithWhatItShows(t *testing.T) {
	k := sit(t, nil)
	volts := procedure.Event{Kind: procedure.EventReport, Subject: string(procedure.InstrumentBusVolts), Value: 24.6}
	k.down(fyne.KeyT)
	k.want("key", volts)
	k.press(k.screen.view.bars[0].At)
	k.want("clicked", volts)
	k.press(k.screen.view.dials[0].Area())
	k.want("another", procedure.Event{Kind: procedure.EventReport, Subject: string(procedure.InstrumentFuelFlow), Value: 0.4})
}

func TestDeadInstrumentCannotBeReported(t *testing.T) {
	k := sit(t, func(n *rehearsal.Snapshot) { n.Readings[2] = math.NaN() })
	k.down(fyne.KeyT)
	k.want("nothing to read")
}
