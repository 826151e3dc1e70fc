package timer

import (
	"errors"
	"testing"

	"fyne.io/fyne/v2"

	"kickover/procedure/timer"
	"kickover/ui/theme"
)

func (g *stage) tapKey(k fyne.KeyName) {
	g.surface.KeyDown(&fyne.KeyEvent{Name: k})
	g.surface.TypedKey(&fyne.KeyEvent{Name: k})
	g.pass(0)
}

func (g *stage) write(text string) {
	for _, r := range text {
		g.surface.TypedRune(r)
	}
	g.pass(0)
}

// Another registration is typed, and its ledger opened; one that is in use leaves
// all as it was, and is said.
func TestAnotherAeroplane(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Day)
	var opened []string
	refuse := false
	g.driver.o.Board = func(a Aeroplane) (Ledger, error) {
		if refuse {
			return nil, errors.New("in use")
		}
		opened = append(opened, a.Registration)
		return &stopped{world: newWorld()}, nil
	}
	g.Screen.o.Board = g.driver.o.Board
	g.clock.at = 100 * sec
	g.tapKey(fyne.KeyA)
	g.write("tSM-7 x")
	g.tapKey(fyne.KeyBackspace)
	g.tapKey(fyne.KeyBackspace)
	g.tapKey(fyne.KeyReturn)
	if p := g.latest.Load(); len(opened) != 1 || opened[0] != "SM-7" || p.Aeroplane.Registration != "SM-7" || p.State != timer.Ready {
		t.Fatalf("opened %q, shown %q, %s", opened, p.Aeroplane.Registration, p.State)
	}
	refuse = true
	g.tapKey(fyne.KeyA)
	g.write("tSM-8")
	g.tapKey(fyne.KeyReturn)
	if p := g.latest.Load(); p.Aeroplane.Registration != "SM-7" || p.Notice != "in use" {
		t.Errorf("shown %q, notice %q", p.Aeroplane.Registration, p.Notice)
	}
}

// While something is typed the space key is a letter, and no button.
func TestSpaceIsALetterWhileTyping(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Day)
	g.Screen.o.Board = func(Aeroplane) (Ledger, error) { return nil, errors.New("none") }
	g.tapKey(fyne.KeyA)
	g.write("t")
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(sec)
	if g.state() != timer.Ready {
		t.Errorf("%s: a space that was typed began a prime", g.state())
	}
	g.tapKey(fyne.KeyEscape)
	g.tapKey(fyne.KeyEscape)
	g.space(2 * sec)
	if g.state() != timer.Setting {
		t.Errorf("%s: the space key is the button again", g.state())
	}
}
