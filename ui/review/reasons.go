package review

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/picture"
	"kickover/ui/theme"
)

// reasons lists what to do differently, or what went well, each with its number.
type reasons struct {
	box   *fyne.Container
	card  *canvas.Rectangle
	title *canvas.Text
	text  *fyne.Container
	t     theme.Tokens
	items []debrief.Reason
}

func newReasons(t theme.Tokens, d Debriefing, u units.Units) *reasons {
	title, items := "What to do differently", d.Report.Reasons
	switch {
	case d.Phase == procedure.Demonstrate:
		title, items = "What you saw", append(slices.Clone(items), d.Report.WentWell()...)
	case len(items) == 0:
		title, items = "What went well", d.Report.WentWell()
	}
	x := &reasons{
		card:  picture.Card(t),
		title: control.Text(title, control.Body, fonts.WeightSemiBold, t.Ink),
		text:  container.NewWithoutLayout(), t: t,
	}
	for _, item := range items[:min(len(items), mostReasons)] {
		x.items = append(x.items, debrief.Reason{Head: u.Words(item.Head), Body: u.Words(item.Body)})
	}
	x.box = container.NewWithoutLayout(x.card, x.title, x.text)
	return x
}

// mostReasons is as much as is remembered until the next run.
const mostReasons = 3

// height is what the list needs in a width.
func (x *reasons) height(w float32) float32 {
	h := float32(52)
	for _, r := range x.items {
		_, head := control.Paragraph(r.Head, 16, fonts.WeightSemiBold, x.t.Ink, w-62-24)
		_, body := control.Paragraph(r.Body, 15, fonts.WeightRegular, x.t.Ink2, w-62-24)
		h += head + body + 16
	}
	return h + 8
}

func (x *reasons) place(px, py, w, h float32) {
	control.Put(x.box, px, py, w, h)
	control.Put(x.card, 0, 0, w, h)
	control.PutText(x.title, 24, 16)
	control.Put(x.text, 0, 52, w, h-52)
	x.text.RemoveAll()
	y := float32(0)
	for i, r := range x.items {
		disc := &canvas.Circle{FillColor: x.t.Now}
		number := control.Text(fmt.Sprint(i+1), control.Label, fonts.WeightBold, x.t.Panel)
		control.Put(disc, 24, y, 26, 26)
		m := number.MinSize()
		control.PutText(number, 24+(26-m.Width)/2, y+(26-m.Height)/2)
		head, hh := control.Paragraph(r.Head, 16, fonts.WeightSemiBold, x.t.Ink, w-62-24)
		body, bh := control.Paragraph(r.Body, 15, fonts.WeightRegular, x.t.Ink2, w-62-24)
		head.Move(fyne.NewPos(62, y+1))
		body.Move(fyne.NewPos(62, y+1+hh))
		x.text.Add(disc)
		x.text.Add(number)
		x.text.Add(head)
		x.text.Add(body)
		y += hh + bh + 16
	}
}
