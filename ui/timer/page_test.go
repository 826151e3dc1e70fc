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

// What is the matter with the sound is shown for as long as it is, beside other
// notices in their turn; that it came back, for a moment.
func TestTheSoundsTrouble(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Day)
	trouble := ""
	g.driver.o.Sound = func() string { return trouble }
	notice := func() string {
		g.pass(sec)
		return g.latest.Load().Notice
	}
	if got := notice(); got != "" {
		t.Errorf("with sound: %q", got)
	}
	trouble = "no sound"
	if got := notice(); got != "no sound" {
		t.Errorf("without sound: %q", got)
	}
	g.Screen.Notice("the disk is full")
	seen := map[string]int{}
	for range 12 {
		seen[notice()]++
	}
	if seen["no sound"] != 6 || seen["the disk is full"] != 6 {
		t.Errorf("in twelve seconds %v; want six of each", seen)
	}
	g.Screen.Notice("") // the disk has room again
	trouble = ""
	if got := notice(); got != soundIsBack {
		t.Errorf("with sound again: %q", got)
	}
	g.pass(6 * sec)
	if got := notice(); got != "" {
		t.Errorf("long after: %q", got)
	}
}

// That the display may go dark waits until what was there before has been seen.
func TestTheDisplaysNoticeWaits(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Day)
	g.Screen.Notice("the clock went back")
	g.pass(sec)
	g.Screen.Notice(mayGoDark)
	g.pass(sec)
	if got := g.latest.Load().Notice; got != "the clock went back" {
		t.Errorf("%q has pushed it aside", got)
	}
	g.pass(5 * sec)
	if got := g.latest.Load().Notice; got != mayGoDark {
		t.Errorf("its own turn shows %q", got)
	}
}
