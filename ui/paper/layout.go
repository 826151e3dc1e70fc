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
		desk: &canvas.Rectangle{FillColor: t.Well, CornerRadius: 14}, sheet: &canvas.Rectangle{FillColor: sheetColour(t)},
	}
	l.save.Disable(s.document == nil)
	children := append([]fyne.CanvasObject{l.title, l.text, l.desk, l.sheet, l.image, l.file, l.save}, l.rows...)
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
	l.page = control.Flow(560, l.place, children...)
	s.content.Objects = []fyne.CanvasObject{l.page}
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
	page         *fyne.Container
	title, which *canvas.Text
	rows         []fyne.CanvasObject
	text         *fyne.Container
	note, said   string
	wrong        bool
	file         *control.Entry
	save, show   *control.Button
	back, next   *control.Button
	desk, sheet  *canvas.Rectangle
	image        *canvas.Image
}

// Of the screen: from its edges, between its halves, the width of the left one,
// and where two halves have no room side by side.
const edge, gap, left, narrow = 48, 32, 400, 900

// place sets what is chosen beside the page, which has the window's whole height,
// or in a narrow window above it.
func (l *layout) place(width float32) float32 {
	if width < narrow {
		return l.placeNarrow(width)
	}
	control.PutText(l.title, edge, 16)
	y := float32(68)
	for _, r := range l.rows {
		control.Put(r, edge, y, left, rowHigh)
		y += rowHigh + 8
	}
	y = l.placeText(edge, y, left)
	high := max(l.page.Size().Height, y+8+fileHigh+8)
	l.placeFile(edge, high-fileHigh-8, left)
	x := float32(edge + left + gap)
	l.placePage(x, 16, width-x-edge, high-32)
	if l.which != nil {
		l.placeLeaves(edge + left)
	}
	return y + 8 + fileHigh + 8
}

// placeNarrow has the choices in pairs, and the page below them as wide as the
// window.
func (l *layout) placeNarrow(width float32) float32 {
	const edge, gap = 24, 12
	w := width - 2*edge
	half := (w - gap) / 2
	control.PutText(l.title, edge, 16)
	y, x := float32(68), float32(edge)
	for i, r := range l.rows {
		// What kind of paper it is has a row, and so has what wants one or would be alone in it.
		if i == 0 || wanted(r) > half || x == edge && i == len(l.rows)-1 {
			if x > edge {
				x, y = edge, y+rowHigh+8
			}
			control.Put(r, edge, y, w, rowHigh)
			y += rowHigh + 8
			continue
		}
		control.Put(r, x, y, half, rowHigh)
		if x += half + gap; x > w {
			x, y = edge, y+rowHigh+8
		}
	}
	if x > edge {
		y += rowHigh + 8
	}
	y = l.placeText(edge, y, w) + 8
	l.placeFile(edge, y, w)
	y += fileHigh + 16
	high := float32(0)
	if l.image.Image != nil {
		b := l.image.Image.Bounds().Size()
		high = (w-32)*float32(b.Y)/float32(b.X) + 32
		l.placePage(edge, y, w, high)
	} else {
		l.placePage(edge, y, w, 0)
	}
	if l.which != nil {
		l.placeLeaves(edge + w)
	}
	return y + high + 16
}

// wanted is how wide a row must be for what is chosen there to be read.
func wanted(row fyne.CanvasObject) float32 {
	if p, ok := row.(*control.Picker); ok {
		return max(p.MinSize().Width, p.Whole())
	}
	return row.MinSize().Width
}

const (
	rowHigh  = 44
	fileHigh = 100 // of where the page goes, with the button below it
)

// placeText says what matters, and says where that ends.
func (l *layout) placeText(x, y, w float32) float32 {
	l.text.RemoveAll()
	say := func(words string, ink color.Color) {
		p, h := control.Paragraph(words, 15, fonts.WeightRegular, ink, w)
		p.Move(fyne.NewPos(x, y))
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
	return y
}

// placeFile puts where the page goes, and the button that writes it there.
func (l *layout) placeFile(x, y, w float32) {
	control.Put(l.file, x, y, w, rowHigh)
	if l.show != nil {
		w = (w - 12) / 2
		control.Put(l.show, x+w+12, y+52, w, 48)
	}
	control.Put(l.save, x, y+52, w, 48)
}

// placeLeaves puts the way to other pages beside the title.
func (l *layout) placeLeaves(right float32) {
	m := l.which.MinSize()
	control.Put(l.next, right-44, 12, 44, 44)
	control.PutText(l.which, right-54-m.Width, 12+(44-m.Height)/2)
	control.Put(l.back, right-64-m.Width-44, 12, 44, 44)
}

// placePage puts the page on its desk, as large as it fits, whole.
func (l *layout) placePage(x, y, w, h float32) {
	control.Put(l.desk, x, y, w, h)
	if l.image.Image == nil {
		l.sheet.Hide()
		l.image.Resize(fyne.NewSize(0, 0))
		return
	}
	b := l.image.Image.Bounds().Size()
	scale := min((w-32)/float32(b.X), (h-32)/float32(b.Y))
	pw, ph := float32(b.X)*scale, float32(b.Y)*scale
	control.Put(l.sheet, x+(w-pw)/2, y+(h-ph)/2, pw, ph)
	control.Put(l.image, x+(w-pw)/2, y+(h-ph)/2, pw, ph)
}
