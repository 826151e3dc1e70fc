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
	where   *canvas.Text // a screen that no place leads to
	caution *canvas.Text
	aside   *canvas.Text // opposite the caution: what goes on elsewhere
	lines   [2]*canvas.Image
	places  []place
	buttons []*control.Button
	who     *control.Button // who is flying, and the way to say it
	help    *control.Button
}

// flying names who is flying; an empty name is nobody in particular.
func (h *header) flying(name string) {
	const room = 170 // what the places leave in a small window
	if name == "" {
		name = "Who is flying?"
	}
	h.who.SetText(control.Cut(name, control.Body, fonts.WeightSemiBold, room-36))
}

const (
	headerRow  = 56
	footHeight = 28
)

// place is somewhere one can go.
type place struct {
	name string
	show func()
}

func newHeader(t theme.Tokens, places []place, help func()) *header {
	h := &header{
		t:       t,
		name:    control.Text("Kickover", control.Body, fonts.WeightBold, t.Ink),
		where:   control.Text("", control.Body, fonts.WeightMedium, t.Ink2),
		caution: control.Text("Training aid. The aircraft's own handbook rules, then local rules and your instructor.", control.Small, fonts.WeightRegular, t.Ink3),
		aside:   control.Text("", control.Small, fonts.WeightMedium, t.Ink2),
		lines:   [2]*canvas.Image{control.Hairline(t.Line), control.Hairline(t.Line)},
		places:  places,
		help:    control.NewButton(t, "Help", "F1", control.Quiet, help),
	}
	for _, p := range places {
		h.buttons = append(h.buttons, control.NewButton(t, p.name, "", control.Quiet, p.show))
	}
	control.Line(append(append([]*control.Button(nil), h.buttons...), h.help))
	return h
}

// at marks the place where one is; a screen that no place leads to is named.
func (h *header) at(where string) {
	h.where.Text = where
	for i, p := range h.places {
		h.buttons[i].Here(p.name == where)
		if p.name == where {
			h.where.Text = ""
		}
	}
	h.where.Refresh()
	if h.who != nil {
		h.who.Hidden = where == welcomeScreen // one question is enough
	}
}

// over puts the frame around a screen. One that needs more room than the window
// has can be scrolled.
func (h *header) over(content fyne.CanvasObject) fyne.CanvasObject {
	scroll := control.Scrolling(content)
	children := []fyne.CanvasObject{h.name, h.where, h.caution, h.aside, h.lines[0], h.lines[1], scroll}
	if h.who != nil {
		children = append(children, h.who)
	}
	for _, b := range h.buttons {
		children = append(children, b)
	}
	children = append(children, h.help)
	return control.Placed(fyne.NewSize(600, 380), func(size fyne.Size) {
		edge := float32(48)
		if size.Width < 900 {
			edge = 24
		}
		head := h.placeRow(size.Width, edge)
		control.Put(h.lines[0], 0, head-1, size.Width, 1)
		foot := size.Height - footHeight
		control.Put(scroll, 0, head, size.Width, foot-head)
		control.Put(h.lines[1], 0, foot, size.Width, 1)
		control.PutText(h.caution, edge, foot+(footHeight-h.caution.MinSize().Height)/2)
		control.PutText(h.aside, size.Width-edge-h.aside.MinSize().Width, foot+(footHeight-h.aside.MinSize().Height)/2)
	}, children...)
}

// placeRow lays the head out, in two rows where one has no room for all, and says
// how high it is.
func (h *header) placeRow(width, edge float32) float32 {
	const high, gap = 44, 8
	x := edge
	for _, t := range []*canvas.Text{h.name, h.where} {
		control.PutText(t, x, (headerRow-t.MinSize().Height)/2)
		if t.Text != "" {
			x += t.MinSize().Width + gap
		}
	}
	if h.who != nil && h.who.Visible() {
		control.Put(h.who, x, 6, h.who.MinSize().Width, high)
		x += h.who.MinSize().Width
	}
	row := append(append([]*control.Button(nil), h.buttons...), h.help)
	need := float32(0)
	for _, b := range row {
		need += b.MinSize().Width
	}
	at, y, head := width-edge+12-need, float32(6), float32(headerRow)
	if at < x {
		at, y, head = edge-12, headerRow-4, 2*headerRow-8 // below the frame of what has the keyboard
	}
	for _, b := range row {
		control.Put(b, at, y, b.MinSize().Width, high)
		at += b.MinSize().Width
	}
	return head
}
