package settings

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/control"
)

// labels are the words that stand over and beside the settings.
type labels struct {
	title, sub *canvas.Text
	headings   []*canvas.Text             // of the sections
	names      map[string]*canvas.Text    // by a line's name
	notes      map[string]*fyne.Container // likewise
}

// arrange lays the sections out in two columns, or in one where the window is
// narrow.
func (s *Screen) arrange() *fyne.Container {
	t := s.o.Theme
	l := labels{
		title: control.Text("Settings", control.Title, fonts.WeightBold, t.Ink),
		sub:   control.Text("Every change holds at once and is remembered.", control.Label, fonts.WeightRegular, t.Ink2),
		names: map[string]*canvas.Text{}, notes: map[string]*fyne.Container{},
	}
	children := []fyne.CanvasObject{l.title, l.sub, s.said}
	for _, sec := range s.sections {
		h := control.Heading(sec.title, t)
		l.headings = append(l.headings, h)
		children = append(children, h)
		for _, x := range sec.lines {
			l.names[x.name] = control.Text(x.name, control.Label, fonts.WeightRegular, t.Ink2)
			l.notes[x.name] = container.NewWithoutLayout()
			children = append(children, l.names[x.name], x.what, l.notes[x.name])
		}
	}
	return control.Flow(560, func(width float32) float32 { return s.place(l, width) }, children...)
}

func (s *Screen) place(l labels, width float32) float32 {
	edge, gap := float32(48), float32(48)
	if width < 900 {
		edge = 24
	}
	control.PutText(l.title, edge, 18)
	control.PutText(l.sub, edge, 58)
	y := float32(92)
	s.said.Objects = nil
	if s.text != "" {
		p, h := control.Paragraph(s.text, control.Label, fonts.WeightSemiBold, s.o.Theme.Ink, width-2*edge)
		s.said.Objects = []fyne.CanvasObject{p}
		s.said.Move(fyne.NewPos(edge, y-4))
		y += h + 8
	}
	if width < 900 {
		return s.placeColumn(l, 0, len(s.sections), edge, y, width-2*edge)
	}
	w := (width - 2*edge - gap) / 2
	left := s.placeColumn(l, 0, 3, edge, y, w)
	right := s.placeColumn(l, 3, len(s.sections), edge+w+gap, y, w)
	return max(left, right)
}

// placeColumn lays the sections from one to before another out below each other,
// and says where they end.
func (s *Screen) placeColumn(l labels, from, to int, x, y, w float32) float32 {
	const label, least, most = 128, 44, 96
	for i := from; i < to; i++ {
		control.PutText(l.headings[i], x, y)
		y += 24
		for _, row := range s.sections[i].lines {
			high := max(least, min(row.what.MinSize().Height, most))
			name, note := l.names[row.name], l.notes[row.name]
			control.PutText(name, x, y+(least-name.MinSize().Height)/2)
			control.Put(row.what, x+label, y, w-label, high)
			y += high + 6
			note.Objects = nil
			if row.note != "" {
				p, h := control.Paragraph(row.note, control.Small, fonts.WeightRegular, s.o.Theme.Ink2, w-label)
				note.Objects = []fyne.CanvasObject{p}
				note.Move(fyne.NewPos(x+label, y-2))
				y += h + 2
			}
		}
		y += 14
	}
	return y
}
