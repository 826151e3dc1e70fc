package review

import (
	"slices"

	"fyne.io/fyne/v2"

	"kickover/ui/control"
)

const (
	narrow   = 900 // below it, one column
	gap      = 20
	drawn    = 300 // the least height of a drawing
	leastOne = 620 // the least width: five buttons beside each other
)

// arrange lays the page out: what happened and why above, then the drawings. In
// two columns the reasons have the drawing of the prime below them, in one they
// come first.
func (s *Screen) arrange() *fyne.Container {
	children := []fyne.CanvasObject{s.title, s.caption}
	for _, l := range s.lines {
		children = append(children, l.box)
	}
	for _, b := range s.buttons {
		children = append(children, b)
	}
	if s.drawn {
		children = append(children, s.cylinders.Box, s.reasons.box, s.steps.Box, s.prime.Box)
	}
	s.page = control.Flow(leastOne, func(width float32) float32 {
		edge := float32(48)
		if width < narrow {
			edge = 24
		}
		w := width - 2*edge
		y := s.placeLines(edge, s.placeHead(edge, w), w) + 12
		if !s.drawn {
			return y
		}
		if width < narrow {
			return s.oneColumn(edge, y, w) + gap
		}
		return s.twoColumns(edge, y, w) + gap
	}, children...)
	return s.page
}

// placeHead puts title, caption and buttons in one row, or the buttons in a row of
// their own where there is no room for all, and says where the head ends.
func (s *Screen) placeHead(edge, w float32) float32 {
	const high, apart = 44, 10
	need := float32(0)
	for _, b := range s.buttons {
		need += b.MinSize().Width + apart
	}
	title, caption := s.title.MinSize().Width, s.caption.MinSize().Width
	control.PutText(s.title, edge, 16)
	x, y, end := edge+w, float32(14), float32(66)
	switch {
	case title+24+caption+24+need <= w:
		control.PutText(s.caption, edge+title+24, 31)
	case title+24+need <= w:
		control.PutText(s.caption, edge, 64)
		end = 90
	default:
		control.PutText(s.caption, edge, 60)
		x, y, end = edge+need-apart, 86, 142
	}
	for _, b := range slices.Backward(s.buttons) {
		wide := b.MinSize().Width
		x -= wide
		control.Put(b, x, y, wide, high)
		x -= apart
	}
	return end
}

// placeLines sets the sentences below each other and says where they end.
func (s *Screen) placeLines(x, y, w float32) float32 {
	for _, l := range s.lines {
		l.box.RemoveAll()
		words, h := control.Paragraph(l.words, l.size, l.weight, l.ink, w)
		l.box.Add(words)
		control.Put(l.box, x, y, w, h)
		y += h
	}
	return y
}

func (s *Screen) twoColumns(x, y, w float32) float32 {
	side := max(320, w*0.34)
	main, right := w-side-gap, x+w-side
	s.cylinders.Place(x, y, main, drawn+20)
	left := y + drawn + 20 + gap
	s.steps.Place(x, left, main, s.stepsHigh)
	why := max(150, s.reasons.height(side))
	s.reasons.place(right, y, side, why)
	s.prime.Place(right, y+why+gap, side, drawn+20)
	return max(left+s.stepsHigh, y+why+gap+drawn+20)
}

func (s *Screen) oneColumn(x, y, w float32) float32 {
	why := s.reasons.height(w)
	s.reasons.place(x, y, w, why)
	y += why + gap
	s.cylinders.Place(x, y, w, drawn)
	y += drawn + gap
	s.prime.Place(x, y, w, drawn)
	y += drawn + gap
	s.steps.Place(x, y, w, s.stepsHigh)
	return y + s.stepsHigh
}
