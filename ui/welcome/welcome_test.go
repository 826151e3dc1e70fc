package welcome

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"kickover/procedure/settings"
	"kickover/ui/theme"
)

func shown(t *testing.T, size fyne.Size, chosen func(settings.Who), watch func()) *Screen {
	t.Helper()
	test.NewTempApp(t)
	s := New(theme.Dusk, chosen, watch)
	w := test.NewWindow(s.Content())
	t.Cleanup(w.Close)
	w.SetPadded(false)
	w.Resize(size)
	return s
}

// Whoever would rather look first need not say who they are.
func TestAStartCanBeWatchedFirst(t *testing.T) {
	watched := 0
	s := shown(t, fyne.NewSize(1280, 716), func(w settings.Who) { t.Errorf("nobody said %q", w) }, func() { watched++ })
	s.watch.Tapped(nil)
	if watched != 1 {
		t.Errorf("pressed once, it is shown %d times", watched)
	}
}

// Nothing lies over anything else, nor outside the window, in any window that the
// program opens.
func TestEverythingHasRoom(t *testing.T) {
	for _, size := range []fyne.Size{{Width: 1280, Height: 716}, {Width: 1920, Height: 996}, {Width: 1024, Height: 616}, {Width: 731, Height: 530}, {Width: 560, Height: 530}} {
		s := shown(t, size, func(settings.Who) {}, func() {})
		bottom := s.sub.Position().Y + s.sub.MinSize().Height
		for i, c := range s.cards {
			side := i > 0 && c.Position().Y == s.cards[i-1].Position().Y
			if !side && c.Position().Y < bottom {
				t.Errorf("%v: card %d begins at %g, over what ends at %g", size, i+1, c.Position().Y, bottom)
			}
			bottom = c.Position().Y + c.Size().Height
			if right := c.Position().X + c.Size().Width; right > size.Width {
				t.Errorf("%v: card %d ends at %g", size, i+1, right)
			}
		}
		if s.watch.Position().Y < bottom || s.watch.Position().Y+s.watch.Size().Height > size.Height {
			t.Errorf("%v: the button stands at %g below cards that end at %g", size, s.watch.Position().Y, bottom)
		}
	}
}
