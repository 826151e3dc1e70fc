package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// header frames every screen but a run's: above it the program's name and where
// one can go, with the place marked where one is; below it who has the last word.
type header struct {
	t       theme.Tokens
	name    *canvas.Text
	caution *canvas.Text
	lines   [2]*canvas.Rectangle
	ground  *canvas.Rectangle
	places  []place
	buttons []*control.Button
}

const (
	headerHeight = 56
	footHeight   = 28
)

// place is somewhere one can go.
type place struct {
	name string
	show func()
}

func newHeader(t theme.Tokens, places []place) *header {
	h := &header{
		t:       t,
		name:    control.Text("Kickover", control.Body, fonts.WeightBold, t.Ink),
		caution: control.Text("Training aid. The aircraft's own handbook rules, then local rules and your instructor.", control.Small, fonts.WeightRegular, t.Ink3),
		lines:   [2]*canvas.Rectangle{canvas.NewRectangle(t.Line), canvas.NewRectangle(t.Line)},
		ground:  canvas.NewRectangle(t.Ground),
		places:  places,
	}
	for _, p := range places {
		h.buttons = append(h.buttons, control.NewButton(t, p.name, "", control.Quiet, p.show))
	}
	return h
}

// at marks the place where one is; a screen that no place leads to marks none.
func (h *header) at(where string) {
	for i, p := range h.places {
		h.buttons[i].Here(p.name == where)
	}
}

// over puts the frame around a screen.
func (h *header) over(content fyne.CanvasObject) fyne.CanvasObject {
	children := []fyne.CanvasObject{h.ground, h.name, h.caution, h.lines[0], h.lines[1], content}
	for _, b := range h.buttons {
		children = append(children, b)
	}
	return control.Placed(fyne.NewSize(980, 620), func(size fyne.Size) {
		control.Put(h.ground, 0, 0, size.Width, size.Height)
		control.PutText(h.name, 48, (headerHeight-h.name.MinSize().Height)/2)
		x := size.Width - 32
		for i := len(h.buttons) - 1; i >= 0; i-- {
			w := h.buttons[i].MinSize().Width
			x -= w
			control.Put(h.buttons[i], x, 6, w, 44)
		}
		control.Put(h.lines[0], 0, headerHeight-1, size.Width, 1)
		foot := size.Height - footHeight
		control.Put(content, 0, headerHeight, size.Width, foot-headerHeight)
		control.Put(h.lines[1], 0, foot, size.Width, 1)
		control.PutText(h.caution, 48, foot+(footHeight-h.caution.MinSize().Height)/2)
	}, children...)
}
