package home

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"kickover/assets"
	"kickover/procedure/flowfile"
	"kickover/ui/theme"
)

// In a narrow window what begins stands at the top, where the page opens: the
// button has the focus, and what has the focus is scrolled to.
func TestANarrowPageOpensAtItsTop(t *testing.T) {
	test.NewTempApp(t)
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	for width, side := range map[float32]bool{731: true, 560: false} {
		s := New(Options{Theme: theme.Dusk, Libraries: libraries, Begin: func(Chosen) {}})
		w := test.NewWindow(s.Content())
		w.SetPadded(false)
		w.Resize(fyne.NewSize(width, 480))
		at, size := s.begin.Position(), s.begin.Size()
		if at.Y+size.Height > 120 || at.X+size.Width > width {
			t.Errorf("%g wide: the button ends at %v", width, at.AddXY(size.Width, size.Height))
		}
		if below := s.aircraft.Position().Y; below < at.Y+size.Height || (at.X > 24) != side {
			t.Errorf("%g wide: the button stands at %v, what is chosen from %g on", width, at, below)
		}
		w.Close()
	}
}
