package home

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/ui/control"
)

// narrow is where two columns no longer fit beside each other.
const narrow = 860

// labels are the words of the page that stand over what is chosen.
type labels struct {
	title, sub *canvas.Text
	over       [4]*canvas.Text
}

// arrange lays the screen out in the order in which one decides: the aeroplane,
// the flow, how, and on what day. The focus goes the same way.
func (s *Screen) arrange() *fyne.Container {
	t := s.o.Theme
	l := labels{
		title: control.Text("What will you practise?", control.Title, fonts.WeightBold, t.Ink),
		sub:   control.Text(s.library.Aircraft.Summary, control.Label, fonts.WeightRegular, t.Ink2),
	}
	for i, h := range []string{"1  AIRCRAFT", "2  FLOW", "3  PHASE", "4  DAY"} {
		l.over[i] = control.Heading(h, t)
	}
	return control.Flow(560, func(width float32) float32 { return s.place(l, width) }, s.children(l)...)
}

// children are all that is on the page, in the order of the focus.
func (s *Screen) children(l labels) []fyne.CanvasObject {
	out := []fyne.CanvasObject{l.title, l.sub, s.note, s.aircraft}
	for _, h := range l.over {
		out = append(out, h)
	}
	for _, f := range s.folds {
		out = append(out, f)
	}
	out = append(out, s.phase)
	for _, st := range s.steppers {
		out = append(out, st)
	}
	out = append(out, s.surprise)
	if s.panels != nil {
		out = append(out, s.panels)
	}
	return append(out, s.begin)
}

// place sets the page in two columns, or in one in a narrow window: there what
// begins stands at the top, where the page opens.
func (s *Screen) place(l labels, width float32) float32 {
	if width < narrow {
		const edge, begin = 24, 220
		w := width - 2*edge
		control.PutText(l.title, edge, 16)
		y := float32(70)
		if w < l.title.MinSize().Width+begin+16 {
			control.Put(s.begin, edge, 64, w, 50)
			y = 128
		} else {
			control.Put(s.begin, edge+w-begin, 12, begin, 50)
		}
		y = s.placeWhat(l, edge, y, w)
		return s.placeHow(l, edge, y+12, w) + 20
	}
	const edge, gap = 48, 40
	w := (width - 2*edge - gap) / 2
	control.PutText(l.title, edge, 18)
	left, x := s.placeWhat(l, edge, 72, w), edge+w+gap
	right := s.placeHow(l, x, 72, w)
	control.Put(s.begin, x, right+14, w, 60)
	return max(left, right+74) + 16
}

// placeWhat lays out the aeroplane and the flow, and says where they end.
func (s *Screen) placeWhat(l labels, x, y, w float32) float32 {
	control.PutText(l.over[0], x, y)
	control.Put(s.aircraft, x, y+24, w, 46)
	control.PutText(l.sub, x, y+78)
	y += 114
	control.PutText(l.over[1], x, y)
	y += 24
	for _, f := range s.folds {
		h := f.High(w)
		control.Put(f, x, y, w, h)
		y += h + 8
	}
	return y
}

// placeHow lays out the phase and the day, and says where they end.
func (s *Screen) placeHow(l labels, x, y, w float32) float32 {
	control.PutText(l.over[2], x, y)
	control.Put(s.phase, x, y+24, w, 46)
	control.PutText(s.note, x, y+78)
	y += 114
	control.PutText(l.over[3], x, y)
	y += 24
	for _, st := range s.steppers {
		control.Put(st, x, y, w, 46)
		y += 52
	}
	control.Put(s.surprise, x, y, w, 46)
	y += 52
	if s.panels != nil {
		control.Put(s.panels, x, y, w, 46)
		y += 52
	}
	return y
}
