package timer

import (
	"errors"
	"image/color"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure/timer"
	"kickover/ui/panel"
	"kickover/ui/theme"
	"kickover/ui/theme/wcag"
)

// In night dress nothing on any face is brighter than the dress's brightest
// colour, the warning's.
func TestNightIsNoBrighterThanItsColours(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Night)
	brightest := wcag.Luminance(theme.Night.Warn)
	check := func(face string) {
		t.Helper()
		for c := range colours(g.w.Canvas().Capture()) {
			if wcag.Luminance(c) > brightest+0.002 { // a step of eight bits is more
				t.Errorf("%s: %v is brighter than the warning", face, c)
			}
		}
	}
	check("ready")
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(6 * sec)
	check("primed too long")
	g.surface.KeyUp(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(sec)
	g.space(90 * ms)
	g.pass(sec)
	check("look left")
	for range 4 {
		g.space(90 * ms)
		g.pass(sec)
	}
	check("listening")
	g.pass(3 * sec)
	check("armed")
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(12 * sec)
	if g.latest.Load().Warning == "" {
		t.Error("no warning past the limit")
	}
	check("past the limit")
	g.pass(300 * ms)
	check("past the limit, the other half of the blink")
	g.pass(time.Minute)
	check("long past the limit")
	g.surface.KeyUp(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(sec)
	check("asking")
	g.space(1200 * ms)
	g.pass(sec)
	check("thinking")
	g.key(fyne.KeyH)
	g.pass(0)
	check("help")
}

// The same from the engine's running to the record of its start, and for the pages
// and what is said of the disk.
func TestNightIsNoBrighterThanItsColoursUntilTheRecord(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Night)
	g.Screen.o.Board = func(Aeroplane) (Ledger, error) { return nil, errors.New("none") }
	brightest := wcag.Luminance(theme.Night.Warn)
	check := func(face string, want timer.State) {
		t.Helper()
		g.pass(0)
		if got := g.state(); got != want {
			t.Fatalf("%s: the timer is %s, want %s", face, got, want)
		}
		for c := range colours(g.w.Canvas().Capture()) {
			if wcag.Luminance(c) > brightest+0.002 { // a step of eight bits is more
				t.Errorf("%s: %v is brighter than the warning", face, c)
			}
		}
	}
	g.Screen.Notice("The starter's ledger cannot be written.")
	check("a notice", timer.Ready)
	g.tapKey(fyne.KeyC)
	check("the air", timer.Ready)
	g.tapKey(fyne.KeyA)
	check("the aeroplanes", timer.Ready)
	g.write("tSM-7")
	check("a registration", timer.Ready)
	g.tapKey(fyne.KeyEscape)
	g.toStart()
	g.space(sec)
	g.pass(sec)
	g.space(90 * ms)
	check("oil", timer.Oil)
	g.pass(31 * sec)
	if g.latest.Load().Warning == "" {
		t.Error("no warning of an oil pressure that does not come")
	}
	check("no oil pressure", timer.Oil)
	g.pass(blink)
	check("no oil pressure, the other half of the blink", timer.Oil)
	g.space(90 * ms)
	check("reminders", timer.Reminding)
	for g.state() == timer.Reminding {
		g.pass(sec)
		g.space(90 * ms)
	}
	check("the engine runs", timer.Quiet)
	g.pass(sec)
	g.space(90 * ms)
	check("the record", timer.Noting)
	g.write("tcoughed twice")
	check("a note that is written", timer.Noting)
	if g.view.foot.Value().undo {
		t.Error("an undo is offered while its key is a letter")
	}
	g.tapKey(fyne.KeyReturn)
	check("a record with a note", timer.Quiet)
}

// toStart primes, looks around and listens, until the starter may be engaged.
func (g *stage) toStart() {
	g.space(4 * sec)
	for range 5 {
		g.pass(sec)
		g.space(90 * ms)
	}
	g.pass(4 * sec)
}

// What a warning asks for can be read in both halves of its blink (WCAG 2.2, success
// criterion 1.4.3).
func TestTheWarningsButtonCanBeRead(t *testing.T) {
	for _, dress := range theme.All() {
		g := show(t, fyne.NewSize(1024, 600), dress)
		g.toStart()
		g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
		g.pass(12 * sec)
		halves := map[bool]bool{}
		for range 2 {
			p := g.latest.Load()
			halves[p.Alarm] = p.Button.Warn
			at := g.view.buttonAt
			at.Y, at.H = at.Y+at.H*0.40+30, 40 // the line below the button's word
			if c := contrastIn(g, at.Inset(4)); c < 4.5 {
				t.Errorf("%s: %q has %.1f:1 to its field", dress.Name, p.Button.Sub, c)
			}
			g.pass(blink)
		}
		if !halves[true] || !halves[false] {
			t.Errorf("%s: the button did not warn in both halves of the blink: %v", dress.Name, halves)
		}
	}
}

// contrastIn is that of the lightest and the darkest in a piece of the picture.
func contrastIn(g *stage, r panel.Rect) float64 {
	img := g.w.Canvas().Capture()
	k := float64(img.Bounds().Dy()) / g.view.h
	least, most := 1.0, 0.0
	for y := int(r.Y * k); y < int((r.Y+r.H)*k); y++ {
		for x := int(r.X * k); x < int((r.X+r.W)*k); x++ {
			l := wcag.Luminance(color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA))
			least, most = min(least, l), max(most, l)
		}
	}
	return (most + 0.05) / (least + 0.05)
}
