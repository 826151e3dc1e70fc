package home

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/ui/control"
)

// narrow is where two columns no longer fit beside each other.
const narrow = 860

// arrange lays the screen out in the order in which one decides: the aeroplane,
// the flow, how, and on what day. The focus goes the same way.
func (s *Screen) arrange() *fyne.Container {
	t := s.o.Theme
	title := control.Text("What will you practise?", control.Title, fonts.WeightBold, t.Ink)
	sub := control.Text(s.library.Aircraft.Summary, control.Label, fonts.WeightRegular, t.Ink2)
	var headings []*canvas.Text
	for _, h := range []string{"1  AIRCRAFT", "2  FLOW", "3  PHASE", "4  DAY"} {
		headings = append(headings, control.Heading(h, t))
	}
	children := []fyne.CanvasObject{title, sub, s.note, s.aircraft}
	for _, h := range headings {
		children = append(children, h)
	}
	for _, f := range s.folds {
		children = append(children, f)
	}
	children = append(children, s.phase)
	for _, st := range s.steppers {
		children = append(children, st)
	}
	children = append(children, s.surprise)
	if s.panels != nil {
		children = append(children, s.panels)
	}
	children = append(children, s.begin)

	what := func(x, y, w float32) float32 {
		control.PutText(headings[0], x, y)
		control.Put(s.aircraft, x, y+24, w, 46)
		control.PutText(sub, x, y+78)
		y += 114
		control.PutText(headings[1], x, y)
		y += 24
		for _, f := range s.folds {
			h := f.High(w)
			control.Put(f, x, y, w, h)
			y += h + 8
		}
		return y
	}
	how := func(x, y, w float32) float32 {
		control.PutText(headings[2], x, y)
		control.Put(s.phase, x, y+24, w, 46)
		control.PutText(s.note, x, y+78)
		y += 114
		control.PutText(headings[3], x, y)
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
		control.Put(s.begin, x, y+14, w, 60)
		return y + 74
	}
	return control.Flow(560, func(width float32) float32 {
		if width < narrow {
			const edge = 24
			control.PutText(title, edge, 16)
			y := what(edge, 66, width-2*edge)
			return how(edge, y+12, width-2*edge) + 20
		}
		const edge, gap = 48, 40
		w := (width - 2*edge - gap) / 2
		control.PutText(title, edge, 18)
		return max(what(edge, 72, w), how(edge+w+gap, 72, w)) + 16
	}, children...)
}
