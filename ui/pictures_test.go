package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/ui/control"
)

// picturesOf counts how often it was told to let go of them, and has them anew when
// it is given its size.
type picturesOf struct {
	*canvas.Rectangle
	freed int
	has   bool
}

func (p *picturesOf) Free() { p.freed, p.has = p.freed+1, false }

func (p *picturesOf) Resize(size fyne.Size) {
	p.Rectangle.Resize(size)
	p.has = true
}

func TestWhatIsNoLongerShownLetsGoOfItsPictures(t *testing.T) {
	s, _ := newShell(t, false)
	held := func() *picturesOf { return &picturesOf{Rectangle: canvas.NewRectangle(nil)} }
	gone, stays, new := held(), held(), held()
	first := container.NewStack(control.Scrolling(gone), container.NewStack(stays))
	s.put(first)
	s.put(container.NewStack(stays, new))
	if gone.freed != 1 || stays.freed != 0 || new.freed != 0 {
		t.Errorf("freed %d times what is gone, %d what stays, %d what is new; want 1, 0, 0", gone.freed, stays.freed, new.freed)
	}
	if gone.has {
		t.Error("what is gone holds its pictures")
	}
	if s.put(first); !gone.has {
		t.Error("what is shown again has no pictures")
	}
}
