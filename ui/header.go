package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// header is the strip above every screen but a run's: the program's name, where
// one is, and where one can go.
type header struct {
	t       theme.Tokens
	name    *canvas.Text
	where   *canvas.Text
	caution *canvas.Text
	line    *canvas.Rectangle
	ground  *canvas.Rectangle
	buttons []*control.Button
}

const headerHeight = 56

// place is somewhere one can go.
type place struct {
	name string
	show func()
}

func newHeader(t theme.Tokens, places []place) *header {
	h := &header{
		t:       t,
		name:    control.Text("Kickover", control.Body, fonts.WeightBold, t.Ink),
		where:   control.Text("", control.Body, fonts.WeightRegular, t.Ink2),
		caution: control.Text("Training aid. The aircraft's own handbook, local rules and your instructor come first.", control.Small, fonts.WeightRegular, t.Ink3),
		line:    canvas.NewRectangle(t.Line),
		ground:  canvas.NewRectangle(t.Ground),
	}
	for _, p := range places {
		h.buttons = append(h.buttons, control.NewButton(t, p.name, "", control.Quiet, p.show))
	}
	return h
}

// at says where one is.
func (h *header) at(where string) {
	h.where.Text = where
	h.where.Refresh()
}

// over puts the header above a screen.
func (h *header) over(content fyne.CanvasObject) fyne.CanvasObject {
	children := []fyne.CanvasObject{h.ground, h.name, h.where, h.caution, h.line, content}
	for _, b := range h.buttons {
		children = append(children, b)
	}
	return control.Placed(fyne.NewSize(980, 620), func(size fyne.Size) {
		control.Put(h.ground, 0, 0, size.Width, size.Height)
		y := func(o fyne.CanvasObject) float32 { return (headerHeight - o.MinSize().Height) / 2 }
		control.PutText(h.name, 32, y(h.name))
		control.PutText(h.where, 32+h.name.MinSize().Width+12, y(h.where))
		x := size.Width - 24
		for i := len(h.buttons) - 1; i >= 0; i-- {
			w := h.buttons[i].MinSize().Width
			x -= w
			control.Put(h.buttons[i], x, 6, w, 44)
		}
		control.PutText(h.caution, max(260, x-24-h.caution.MinSize().Width), y(h.caution))
		control.Put(h.line, 0, headerHeight-1, size.Width, 1)
		control.Put(content, 0, headerHeight, size.Width, size.Height-headerHeight)
	}, children...)
}
