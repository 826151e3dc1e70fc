package timer

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"kickover/procedure/timer"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// click presses the middle of a place with the mouse, and lets go.
func (g *stage) click(r panel.Rect) {
	w, _ := g.view.board.Units(fyne.NewPos(1000, 0))
	k := float32(1000 / w) // of the board's units
	e := &desktop.MouseEvent{Button: desktop.MouseButtonPrimary}
	e.Position = fyne.NewPos(float32(r.X+r.W/2)*k, float32(r.Y+r.H/2)*k)
	g.surface.MouseDown(e)
	g.pass(sec / 10)
	g.surface.MouseUp(e)
	g.pass(0)
}

// All that a key does while nothing is timed a mouse can do.
func TestTheMouseNeedsNoKey(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	left, filled := 0, 0
	g.Screen.o.Leave, g.Screen.o.Fill = func() { left++ }, func() { filled++ }
	help := func() { g.click(g.view.footKeyAt(1)) }
	help()
	if !g.view.helped.Visible() {
		t.Fatal("no help")
	}
	g.click(g.view.helpLineAt(1))
	g.click(g.view.helpLineAt(2))
	if filled != 1 || !g.latest.Load().Latch {
		t.Errorf("filled %d times, two presses %v", filled, g.latest.Load().Latch)
	}
	g.click(g.view.footKeyAt(0))
	if g.view.helped.Visible() || left != 0 {
		t.Errorf("the help is shown: %v, left %d times", g.view.helped.Visible(), left)
	}
	g.click(g.view.footKeyAt(2))
	if g.view.tokens.Name != theme.Day.Name {
		t.Errorf("the dress is %s", g.view.tokens.Name)
	}
	miss := g.view.footKeyAt(2)
	miss.X -= 8
	miss.W = 2
	g.click(miss)
	if g.state() != timer.Ready {
		t.Errorf("a near miss is the button: %s", g.state())
	}
	g.click(g.view.footKeyAt(0))
	if left != 1 {
		t.Errorf("left %d times", left)
	}
}

// While something is timed all of the face is the button.
func TestTheFootIsTheButtonWhileSomethingIsTimed(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	left := 0
	g.Screen.o.Leave = func() { left++ }
	g.tapKey(fyne.KeyM)
	g.click(g.view.watch.Area)
	if g.state() != timer.Priming {
		t.Fatalf("%s", g.state())
	}
	g.pass(2 * sec)
	g.click(g.view.footKeyAt(0))
	if g.state() == timer.Priming || left != 0 {
		t.Errorf("%s, left %d times", g.state(), left)
	}
}
