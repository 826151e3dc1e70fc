package panel

import (
	"image/color"

	"kickover/procedure"
)

// Mark is the shape that stands before a line of the step strip.
type Mark int8

// The marks. Each is a shape of its own, so that none is told by colour alone.
const (
	MarkNext   Mark = iota // a dot: still to come
	MarkDone               // a tick
	MarkLate               // a triangle: done, but early, late or out of order
	MarkOpen               // an open triangle: passed over, still to do
	MarkMiss               // a cross
	MarkUnsafe             // a square
)

// MarkFor is the mark of a verdict.
func MarkFor(v procedure.Verdict) Mark {
	switch v {
	case procedure.OnTime:
		return MarkDone
	case procedure.Early, procedure.Late, procedure.OutOfOrder:
		return MarkLate
	case procedure.Missed:
		return MarkMiss
	case procedure.Unsafe:
		return MarkUnsafe
	}
	return MarkNext
}

// StripLine is one step as a line.
type StripLine struct {
	Mark  Mark
	Title string
	Note  string // at the right: its time, or what is wrong with it
}

// StripNow is the present step, large.
type StripNow struct {
	Over   string    // "NOW · right hand"
	Keys   [4]string // that do it, as printed on their caps
	Title  string
	Text   string
	Window string // "window 3.5–5.0 s · ideal 4.2 s"
	Late   bool
}

// The most lines a strip shows before and after the present step.
const (
	StripPast = 12
	StripNext = 14
)

// StripState is what the strip shows. Arrays, not slices, so that two states
// can be compared.
type StripState struct {
	Past  [StripPast]StripLine // oldest first, empty titles are skipped
	Now   StripNow
	Next  [StripNext]StripLine
	Quiet string  // said in place of the next steps, where they are not shown
	Below float64 // units at the foot kept free, for a card
}

// Strip is the list of steps: where am I, what is next, what is late.
type Strip struct{ At Rect }

const (
	stripRow  = 34.0
	stripNowY = 168.0
	nextRow   = 30.0
)

// Paint draws the strip. The present step stands where it always stands once
// there are enough steps behind it, so that the eye need not look for it.
func (s Strip) Paint(p *Pen, v StripState) {
	r := s.At
	p.Box(r, 14, p.Panel, color.NRGBA{}, 0)
	rows := s.pastRows(v)
	past := tail(v.Past[:], rows)
	y := r.Y + 9
	for _, l := range past {
		s.line(p, l, y+stripRow/2, p.Ink2, Body)
		y += stripRow
	}
	y = r.Y + 14 + float64(rows)*stripRow
	if v.Now.Title != "" {
		y = s.now(p, v.Now, y)
	}
	y += 36
	if v.Quiet != "" {
		p.Paragraph(v.Quiet, r.X+18, y, r.W-36, 20, 4, Start, Body.Weighted(0), p.Ink3)
		return
	}
	s.next(p, v.Next[:], y, v.Below)
}

func (s Strip) next(p *Pen, lines []StripLine, y, below float64) {
	const head = 28
	end := s.At.Y + s.At.H - below - 14
	if lines[0].Title == "" || y+head > end {
		return
	}
	p.Text("NEXT", s.At.X+18, y, Start, Group, p.Ink3)
	y += head
	for i, l := range lines {
		if l.Title == "" || y > end {
			return
		}
		ink := p.Ink3
		if i == 0 {
			ink = p.Ink2
		}
		s.line(p, l, y-5, ink, Body)
		y += nextRow
	}
}

// pastRows is how many rows stand above the present step.
func (s Strip) pastRows(v StripState) int {
	room := int((s.At.H - v.Below - stripNowY - 36 - 28 - 3*nextRow) / stripRow)
	most := max(4, min(room, StripPast))
	have := 0
	for _, l := range v.Past {
		if l.Title != "" {
			have++
		}
	}
	return min(most, have)
}

func tail(lines []StripLine, n int) []StripLine {
	kept := make([]StripLine, 0, n)
	for i := len(lines) - 1; i >= 0 && len(kept) < n; i-- {
		if lines[i].Title != "" {
			kept = append(kept, lines[i])
		}
	}
	for i, j := 0, len(kept)-1; i < j; i, j = i+1, j-1 {
		kept[i], kept[j] = kept[j], kept[i]
	}
	return kept
}

// line draws one row centred on y.
func (s Strip) line(p *Pen, l StripLine, y float64, ink color.NRGBA, t Type) {
	x := s.At.X + 24
	switch l.Mark {
	case MarkDone:
		p.Tick(x, y, 10, p.OK)
	case MarkLate:
		p.Triangle(x, y, 12, p.Caution)
	case MarkOpen:
		p.Triangle(x, y, 13, p.Caution)
		p.Triangle(x, y+0.8, 6, p.Panel)
	case MarkMiss:
		p.Cross(x, y, 11, p.Warn)
	case MarkUnsafe:
		p.Square(x, y, 11, p.Warn)
	default:
		p.Disc(x-3, y, 1.8, p.Ink3)
	}
	room := s.At.W - 42 - 18
	if l.Note != "" {
		note := Body.Weighted(0)
		w := p.Text(l.Note, s.At.X+s.At.W-18, y+5, End, note, p.Ink2)
		room -= w + 8
	}
	t = p.Fit(l.Title, t, room, 12)
	title := p.Clip(l.Title, t, room)
	p.Text(title, s.At.X+42, y+5, Start, t, ink)
}

func (s Strip) now(p *Pen, n StripNow, y float64) float64 {
	r := s.At
	p.Fill(Rect{r.X, y, r.W, stripNowY}, p.Raised)
	p.Fill(Rect{r.X, y, 5, stripNowY}, p.Now)
	x := r.X + 18
	p.Text(n.Over, x, y+26, Start, Group.Sized(12.5), p.Now)
	kx := r.X + r.W - 14
	for i := len(n.Keys) - 1; i >= 0; i-- {
		if n.Keys[i] != "" {
			w := max(24, p.Measure(n.Keys[i], Label.Sized(12))+14)
			p.Key(n.Keys[i], kx-w/2, y+21)
			kx -= w + 5
		}
	}
	t := p.Fit(n.Title, Head.Sized(29), r.W-36, 23)
	if p.Measure(n.Title, t) <= r.W-36 {
		p.Text(n.Title, x, y+60, Start, t, p.Ink)
	} else {
		p.Paragraph(n.Title, x, y+49, r.W-36, 23, 2, Start, Head.Sized(20), p.Ink)
	}
	p.Paragraph(n.Text, x, y+96, r.W-34, 21, 2, Start, Type{Size: 15}, p.Ink)
	ink := p.Ink2
	if n.Late {
		p.Triangle(x+7, y+stripNowY-21, 12, p.Caution)
		x += 21
		ink = p.Ink
	}
	room := s.At.X + s.At.W - 12 - x // late, with the key to press, it is longer than ever
	p.Text(n.Window, x, y+stripNowY-16, Start, p.Fit(n.Window, Label, room, 11), ink)
	return y + stripNowY
}

// Clip shortens a line to a width, ending it in an ellipsis.
func (p *Pen) Clip(s string, t Type, w float64) string {
	if p.Measure(s, t) <= w {
		return s
	}
	runes := []rune(s)
	for len(runes) > 0 && p.Measure(string(runes)+"…", t) > w {
		runes = runes[:len(runes)-1]
	}
	return string(runes) + "…"
}
