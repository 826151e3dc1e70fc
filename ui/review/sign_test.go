package review

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"kickover/ui/theme"
)

// Whatever of the slip has the keyboard, Esc leaves it and not the page, and F1 is
// the window's help.
func TestKeysOnTheSlipThatIsSigned(t *testing.T) {
	test.NewTempApp(t)
	s := &Screen{content: container.NewStack(canvas.NewRectangle(theme.Day.Ground))}
	w := test.NewWindow(s.content)
	defer w.Close()
	c := w.Canvas()
	var heard []fyne.KeyName
	c.SetOnTypedKey(func(e *fyne.KeyEvent) { heard = append(heard, e.Name) })
	for at := range 4 {
		heard = nil
		s.askToSign(theme.Dusk, &Signing{})
		for range at {
			c.(interface{ FocusNext() }).FocusNext()
		}
		focused := c.Focused()
		if focused == nil {
			t.Fatalf("after %d steps nothing has the keyboard", at)
		}
		focused.TypedKey(&fyne.KeyEvent{Name: fyne.KeyF1})
		focused.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
		if len(heard) != 1 || heard[0] != fyne.KeyF1 {
			t.Errorf("%T: the window hears %v, want F1 alone", focused, heard)
		}
		if c.Overlays().Top() != nil {
			t.Errorf("%T: Esc does not leave the slip", focused)
		}
	}
	c.OnTypedKey()(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if len(heard) != 2 {
		t.Error("afterwards Esc is not the window's again")
	}
}
