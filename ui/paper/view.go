package paper

import (
	"fmt"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/control"
)

// previewDPI is fine enough for a page to be read where it is shown large.
const previewDPI = 110

// draw makes the document anew and shows its page.
func (s *Screen) draw() {
	o := s.order()
	s.document, s.pages = nil, nil
	if o.What == Record && o.Run == "" {
		if !s.wrong || s.said == "" {
			s.said, s.wrong = "There is no finished run of this flow to make a record of. Fly one, or choose another person or flow.", false
		}
		s.refresh()
		return
	}
	d, err := s.o.Make(o)
	if err == nil {
		s.pages, err = d.Preview(previewDPI)
	}
	if err != nil {
		s.said, s.wrong = err.Error(), true
		s.refresh()
		return
	}
	s.document, s.said, s.wrong, s.saved = d, "", false, ""
	s.file.SetText(s.o.FileFor(fileName(o)))
	s.at = min(s.at, len(s.pages)-1)
	s.refresh()
}

func fileName(o Order) string {
	switch o.What {
	case Marks:
		return fmt.Sprintf("marks-%s.pdf", o.Aircraft)
	case Card:
		return fmt.Sprintf("card-%s-%s.pdf", o.Aircraft, o.Flow)
	}
	return fmt.Sprintf("record-%s-%s.pdf", o.Aircraft, o.Flow)
}

// save writes the file.
func (s *Screen) save() {
	if s.document == nil {
		return
	}
	if err := s.o.Save(s.document, s.file.Text); err != nil {
		s.said, s.wrong = err.Error(), true
	} else {
		s.saved = s.file.Text
		s.said, s.wrong = "Written to "+s.saved+". Print it at 100 %, “actual size”.", false
	}
	s.refresh()
}

// show opens what was saved.
func (s *Screen) show() {
	if err := s.o.Show(s.saved); err != nil {
		s.said, s.wrong = "It is written, but nothing on this desktop opened it: "+err.Error(), true
		s.refresh()
	}
}

func (s *Screen) leaf(by int) {
	if next := s.at + by; next >= 0 && next < len(s.pages) {
		s.at = next
		s.refresh()
	}
}

func (s *Screen) refresh() {
	s.image.Image = nil
	if s.at >= 0 && s.at < len(s.pages) {
		s.image.Image = s.pages[s.at]
	}
	s.image.Refresh()
	s.build()
}

// notes say of each kind what matters before it is printed.
var notes = map[string]string{
	Record: "Who, what, when, what became of each step, and the trends; with room for remarks and a signature.",
	Card:   "For the knee, with windows, limits and cautions. The aeroplane's own handbook is the authority.",
	Marks:  "At true scale, with bars to check the printer. A mark on a certificated aircraft needs whoever may approve it.",
}

// build lays the screen out: what to print on the left, the page on the right.
func (s *Screen) build() {
	t := s.o.Theme
	title := control.Text("Paper", control.Title, fonts.WeightBold, t.Ink)
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
		rows = append(rows, s.fields[0])
	case Card:
		rows = append(rows, s.flow)
	case Marks:
		rows = append(rows, s.edge, s.unit)
	}
	rows = append(rows, s.sheet)
	save := control.NewButton(t, "Save the PDF", "", control.Primary, s.save)
	save.Disable(s.document == nil)
	show := control.NewButton(t, "Open it", "", control.Plain, s.show)
	back := control.NewButton(t, "‹", "", control.Plain, func() { s.leaf(-1) })
	next := control.NewButton(t, "›", "", control.Plain, func() { s.leaf(1) })
	which := control.Text(fmt.Sprintf("page %d of %d", s.at+1, len(s.pages)), control.Label, fonts.WeightRegular, t.Ink2)
	text := container.NewWithoutLayout()
	desk := &canvas.Rectangle{FillColor: t.Well, CornerRadius: 14}
	shadow := &canvas.Rectangle{FillColor: color.White}
	children := append([]fyne.CanvasObject{title, text, desk, shadow, s.image, s.fields[1], save}, rows...)
	if s.saved != "" && s.o.Show != nil {
		children = append(children, show)
	}
	if len(s.pages) > 1 {
		children = append(children, back, next, which)
	}
	s.content.Objects = []fyne.CanvasObject{control.Placed(fyne.NewSize(900, 540), func(size fyne.Size) {
		const edge, gap, left = 48, 32, 400
		control.PutText(title, edge, 16)
		y := float32(68)
		for _, r := range rows {
			control.Put(r, edge, y, left, 44)
			y += 52
		}
		text.RemoveAll()
		say := func(words string, ink color.Color) {
			p, h := control.Paragraph(words, 15, fonts.WeightRegular, ink, left)
			p.Move(fyne.NewPos(edge, y))
			text.Add(p)
			y += h + 4
		}
		say(notes[s.what()], t.Ink2)
		if s.said != "" {
			ink := t.Ink
			if s.wrong {
				ink = t.Caution
			}
			say(s.said, ink)
		}
		foot := size.Height - 108
		control.Put(s.fields[1], edge, foot, left, 44)
		w := float32(left)
		if s.saved != "" {
			w = (left - 12) / 2
			control.Put(show, edge+w+12, foot+52, w, 48)
		}
		control.Put(save, edge, foot+52, w, 48)
		x := float32(edge + left + gap)
		s.placePage(desk, shadow, x, 16, size.Width-x-edge, size.Height-32)
		if len(s.pages) > 1 {
			m := which.MinSize()
			right := float32(edge + left)
			control.Put(next, right-44, 12, 44, 44)
			control.PutText(which, right-54-m.Width, 12+(44-m.Height)/2)
			control.Put(back, right-64-m.Width-44, 12, 44, 44)
		}
	}, children...)}
	s.content.Refresh()
}

// placePage puts the page on its desk, as large as it fits, whole.
func (s *Screen) placePage(desk, shadow *canvas.Rectangle, x, y, w, h float32) {
	control.Put(desk, x, y, w, h)
	if s.image.Image == nil {
		shadow.Hide()
		s.image.Resize(fyne.NewSize(0, 0))
		return
	}
	b := s.image.Image.Bounds().Size()
	scale := min((w-32)/float32(b.X), (h-32)/float32(b.Y))
	pw, ph := float32(b.X)*scale, float32(b.Y)*scale
	control.Put(shadow, x+(w-pw)/2, y+(h-ph)/2, pw, ph)
	control.Put(s.image, x+(w-pw)/2, y+(h-ph)/2, pw, ph)
}
