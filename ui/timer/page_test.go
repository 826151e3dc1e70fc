package timer

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

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

// A page makes room for a clock by which a hand lets go, and for each look around.
func TestAPageMakesRoom(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Day)
	g.tapKey(fyne.KeyH)
	if !g.view.helped.Visible() {
		t.Fatal("there is no help to begin with")
	}
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(sec)
	if g.view.helped.Visible() || !g.view.watch.Visible() {
		t.Error("the help covers the clock of the prime")
	}
	g.tapKey(fyne.KeyH)
	if g.view.helped.Visible() {
		t.Error("the help was opened over the clock of the prime")
	}
	g.surface.KeyUp(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(sec)
	g.space(90 * ms)
	g.pass(sec)
	g.tapKey(fyne.KeyH)
	if !g.view.helped.Visible() || g.state() != timer.Looking {
		t.Fatalf("%s: there is no help beside the look around", g.state())
	}
	g.space(90 * ms)
	if g.view.helped.Visible() || !g.view.around.Visible() {
		t.Error("the help covers the second look")
	}
}

// noteBoarding has the registrations noted to whose ledger the stage changes.
func (g *stage) noteBoarding() (opened *[]string) {
	opened = new([]string)
	board := func(a Aeroplane) (Ledger, error) {
		*opened = append(*opened, a.Registration)
		return &stopped{world: newWorld()}, nil
	}
	g.driver.o.Board, g.Screen.o.Board = board, board
	return opened
}

// What is typed is cancelled with the mouse where that is written, and kept by a
// press anywhere else; a near miss is neither.
func TestTypingIsCancelledWithTheMouse(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Day)
	opened := g.noteBoarding()
	k := float32(1024 / g.view.w)
	press := func(x, y float64) {
		e := &desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(float32(x)*k, float32(y)*k)}}
		g.surface.MouseDown(e)
		g.surface.MouseUp(e)
		g.pass(0)
	}
	g.tapKey(fyne.KeyA)
	g.write("tSM-7")
	cancel := g.view.footKeyAt(0)
	press(cancel.X+cancel.W+8, cancel.Y+5)
	if g.entry == nil || len(*opened) > 0 {
		t.Error("a near miss of Escape has ended the typing")
	}
	press(cancel.X+5, cancel.Y+5)
	if g.entry != nil || len(*opened) > 0 {
		t.Errorf("cancelled: opened %q", *opened)
	}
	g.write("tSM-8")
	press(g.view.buttonAt.X+50, g.view.buttonAt.Y+50)
	if g.entry != nil || !slices.Equal(*opened, []string{"SM-8"}) {
		t.Errorf("kept: opened %q", *opened)
	}
}

func TestRegistrations(t *testing.T) {
	for written, want := range map[string]string{
		"SM-180": "SM-180", "  SM 180\t": "SM 180", " \n ": "", "": "", "SM\x00\u200b-1": "SM-1", "Ö-180/A": "Ö-180/A", "ABCDEFGHIJKLMNOP": "ABCDEFGHIJKLMNOP",
	} {
		if got, err := Registration(written); got != want || err != nil {
			t.Errorf("%q: %q, %v; want %q", written, got, err, want)
		}
	}
	if got, err := Registration("ABCDEFGHIJKLMNOPQ"); err == nil || got != "" {
		t.Errorf("of 17 letters: %q, %v", got, err)
	}
	g := show(t, fyne.NewSize(1024, 600), theme.Day)
	opened := g.noteBoarding()
	for _, typed := range []string{"   ", "  SM-180 ", strings.Repeat("SM-180", 20)} {
		g.tapKey(fyne.KeyA)
		g.write("t" + typed)
		g.tapKey(fyne.KeyReturn)
		g.page = noPage
	}
	if want := []string{"SM-180", "SM-180SM-180SM-1"}; !slices.Equal(*opened, want) {
		t.Errorf("opened %q, want %q", *opened, want)
	}
}
