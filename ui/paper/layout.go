package paper

import (
	"fmt"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// notes say of each kind what matters before it is printed.
var notes = map[string]string{
	Record: "Who, what, when, what became of each step, and the trends; with room for remarks and a signature.",
	Card:   "For the knee, with windows, limits and cautions. The aeroplane's own handbook is the authority.",
	Marks:  "At true scale, with bars to check the printer. A mark on a certificated aircraft needs whoever may approve it.",
}

// build lays the screen out: what to print on the left, the page on the right.
func (s *Screen) build() {
	t := s.o.Theme
	l := &layout{
		t: t, title: control.Text("Paper", control.Title, fonts.WeightBold, t.Ink), rows: s.rows(), text: container.NewWithoutLayout(),
		note: notes[s.what()], said: s.said, wrong: s.wrong, file: s.file, image: s.image,
		save: control.NewButton(t, "Save the PDF", "", control.Primary, s.save),
		desk: &canvas.Rectangle{FillColor: t.Well, CornerRadius: 14}, shadow: &canvas.Rectangle{FillColor: color.White},
	}
	l.save.Disable(s.document == nil)
	children := append([]fyne.CanvasObject{l.title, l.text, l.desk, l.shadow, l.image, l.file, l.save}, l.rows...)
	if s.saved != "" && s.o.Show != nil {
		l.show = control.NewButton(t, "Open it", "", control.Plain, s.show)
		children = append(children, l.show)
	}
	if len(s.pages) > 1 {
		l.back = control.NewButton(t, "‹", "", control.Plain, func() { s.leaf(-1) })
		l.next = control.NewButton(t, "›", "", control.Plain, func() { s.leaf(1) })
		l.which = control.Text(fmt.Sprintf("page %d of %d", s.at+1, len(s.pages)), control.Label, fonts.WeightRegular, t.Ink2)
		children = append(children, l.back, l.next, l.which)
	}
	s.content.Objects = []fyne.CanvasObject{control.Placed(fyne.NewSize(900, 540), l.place, children...)}
	s.content.Refresh()
}

// rows are what can be chosen for the kind.
func (s *Screen) rows() []fyne.CanvasObject {
	rows := []fyne.CanvasObject{s.kind, s.aircraft}
	switch s.what() {
	case Record:
		rows = append(rows, s.flow, s.person)
		if len(s.runs) > 0 {
			rows = append(rows, s.run)
		}
		if len(s.o.Instructors) > 0 {
			rows = append(rows, s.signer)
		}
		rows = append(rows, s.school)
	case Card:
		rows = append(rows, s.flow)
	case Marks:
		rows = append(rows, s.edge, s.unit)
	}
	return append(rows, s.sheet)
}

// layout is the screen as it stands. Buttons are nil where there is nothing to press.
type layout struct {
	t            theme.Tokens
	title, which *canvas.Text
	rows         []fyne.CanvasObject
	text         *fyne.Container
	note, said   string
	wrong        bool
	file         *control.Entry
	save, show   *control.Button
	back, next   *control.Button
	desk, shadow *canvas.Rectangle
	image        *canvas.Image
}

// Of the screen: from its edges, between its halves, and the width of the left one.
const edge, gap, left = 48, 32, 400

func (l *layout) place(size fyne.Size) {
	control.PutText(l.title, edge, 16)
	l.placeChoices()
	l.placeFile(size.Height - 108)
	x := float32(edge + left + gap)
	l.placePage(x, 16, size.Width-x-edge, size.Height-32)
	if l.which != nil {
		l.placeLeaves()
	}
}

func (l *layout) placeChoices() {
	y := float32(68)
	for _, r := range l.rows {
		control.Put(r, edge, y, left, 44)
		y += 52
	}
	l.text.RemoveAll()
	say := func(words string, ink color.Color) {
		p, h := control.Paragraph(words, 15, fonts.WeightRegular, ink, left)
		p.Move(fyne.NewPos(edge, y))
		l.text.Add(p)
		y += h + 4
	}
	say(l.note, l.t.Ink2)
	switch {
	case l.said != "" && l.wrong:
		say(l.said, l.t.Caution)
	case l.said != "":
		say(l.said, l.t.Ink)
	}
}

// placeFile puts where the page goes at the foot of the left half.
func (l *layout) placeFile(y float32) {
	control.Put(l.file, edge, y, left, 44)
	w := float32(left)
	if l.show != nil {
		w = (left - 12) / 2
		control.Put(l.show, edge+w+12, y+52, w, 48)
	}
	control.Put(l.save, edge, y+52, w, 48)
}

// placeLeaves puts the way to other pages beside the title.
func (l *layout) placeLeaves() {
	m := l.which.MinSize()
	const right = edge + left
	control.Put(l.next, right-44, 12, 44, 44)
	control.PutText(l.which, right-54-m.Width, 12+(44-m.Height)/2)
	control.Put(l.back, right-64-m.Width-44, 12, 44, 44)
}

// placePage puts the page on its desk, as large as it fits, whole.
func (l *layout) placePage(x, y, w, h float32) {
	control.Put(l.desk, x, y, w, h)
	if l.image.Image == nil {
		l.shadow.Hide()
		l.image.Resize(fyne.NewSize(0, 0))
		return
	}
	b := l.image.Image.Bounds().Size()
	scale := min((w-32)/float32(b.X), (h-32)/float32(b.Y))
	pw, ph := float32(b.X)*scale, float32(b.Y)*scale
	control.Put(l.shadow, x+(w-pw)/2, y+(h-ph)/2, pw, ph)
	control.Put(l.image, x+(w-pw)/2, y+(h-ph)/2, pw, ph)
}
