package progress

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/chart"
	"kickover/procedure/proficiency"
	"kickover/ui/control"
	"kickover/ui/picture"
)

// glance answers the two questions: what next, and is it working.
func (s *Screen) glance() part {
	next := s.next()
	if s.look.Report.Runs == 0 {
		place := next.place
		next.place = func(w float32) float32 { return place(min(w, 620)) }
		return next
	}
	working := s.working()
	box := container.NewWithoutLayout(next.box, working.box)
	return part{box, func(w float32) float32 {
		if w < stacked {
			s.glanceHigh = 0
			h := next.place(w)
			low := working.place(w)
			control.Put(next.box, 0, 0, w, h)
			control.Put(working.box, 0, h+gap, w, low)
			return h + gap + low
		}
		left := max(360, w*.38)
		h := max(next.place(left), working.place(w-left-gap), 300)
		s.glanceHigh = h
		next.place(left) // both cards are as high as the higher one
		working.place(w - left - gap)
		control.Put(next.box, 0, 0, left, h)
		control.Put(working.box, left+gap, 0, w-left-gap, h)
		return h
	}}
}

// words is a column of paragraphs.
type words struct {
	box *fyne.Container
	y   float32
	w   float32
}

func (c *words) say(text string, size float32, weight fonts.Weight, ink canvasColor) {
	if text == "" {
		return
	}
	p, h := control.Paragraph(text, size, weight, ink, c.w)
	p.Move(fyne.NewPos(20, c.y))
	c.box.Add(p)
	c.y += h + 4
}

// next is the card with what to practise next and the button that begins it.
func (s *Screen) next() part {
	t := s.o.Theme
	card, text := picture.Card(t), container.NewWithoutLayout()
	box := container.NewWithoutLayout(card, text)
	s.begin = nil
	if len(s.look.Next) > 0 {
		first := s.look.Next[0]
		s.begin = control.NewButton(t, "Begin: "+phaseWord(first.Phase), "↵", control.Primary, func() { s.o.Begin(first) })
		box.Add(s.begin)
	}
	return part{box, func(w float32) float32 {
		text.RemoveAll()
		c := &words{text, 16, w - 40}
		c.say("What next", control.Label, fonts.WeightSemiBold, t.Ink2)
		for i, n := range s.look.Next {
			if i == 0 {
				c.say(n.Head, 22, fonts.WeightBold, t.Ink)
				c.say(n.Body, 16, fonts.WeightRegular, t.Ink)
				c.y += 4
				continue
			}
			if i == 1 {
				c.say("Then "+lowerFirst(n.Head), 15, fonts.WeightRegular, t.Ink2)
			}
		}
		if len(s.look.Next) == 0 {
			c.say("Fly any flow, and what to practise next is worked out from it.", 16, fonts.WeightRegular, t.Ink)
		}
		h := c.y + 12
		if s.begin != nil {
			h += 60
			s.placeBegin(w, max(h, s.glanceHigh))
		}
		control.Put(card, 0, 0, w, max(h, s.glanceHigh))
		return h
	}}
}

func (s *Screen) placeBegin(w, h float32) { control.Put(s.begin, 20, h-66, w-40, 50) }

// working is the card that says whether practice shows, with each run as a whole.
func (s *Screen) working() part {
	t := s.o.Theme
	r := s.look.Report
	card, text := picture.Card(t), container.NewWithoutLayout()
	course := picture.NewBare(t, chart.Course(r))
	box := container.NewWithoutLayout(card, text, course.Box)
	return part{box, func(w float32) float32 {
		text.RemoveAll()
		c := &words{text, 16, w - 40}
		word, because := r.Working()
		c.say("Is it working?", control.Label, fonts.WeightSemiBold, t.Ink2)
		c.say(word+".", 22, fonts.WeightBold, t.Ink)
		c.say(because, 15, fonts.WeightRegular, t.Ink2)
		top := c.y + 4
		high := float32(190)
		control.Put(card, 0, 0, w, max(top+high+12, s.glanceHigh))
		course.Place(8, top, w-16, max(high, s.glanceHigh-top-12))
		return top + high + 12
	}}
}

// figures is a row of numbers that say the most.
func (s *Screen) figures() part {
	var cells []*figure
	for _, f := range figuresOf(s.look) {
		cells = append(cells, newFigure(s, f))
	}
	box := container.NewWithoutLayout()
	for _, c := range cells {
		box.Add(c.box)
	}
	return part{box, func(w float32) float32 {
		columns := len(cells)
		if w < stacked {
			columns = 2
		}
		each := (w - float32(columns-1)*gap) / float32(columns)
		h := float32(0)
		for _, c := range cells {
			h = max(h, c.need(each))
		}
		for i, c := range cells {
			control.Put(c.box, float32(i%columns)*(each+gap), float32(i/columns)*(h+gap), each, h)
			c.place(each, h)
		}
		rows := float32((len(cells) + columns - 1) / columns)
		return rows*h + (rows-1)*gap
	}}
}

// number is a figure with what it is and what it rests on.
type number struct{ value, name, rests string }

func figuresOf(l Look) []number {
	r := l.Report
	runs := number{fmt.Sprint(r.Runs), "runs", fmt.Sprintf("%s to %s", day(r.From), day(r.To))}
	if r.Runs == 1 {
		runs.name = "run"
	}
	if day(r.From) == day(r.To) {
		runs.rests = day(r.From)
	}
	if r.Prompted > 0 {
		runs.rests += fmt.Sprintf("; %d with prompts", r.Prompted)
	}
	if l.Invented > 0 {
		runs.name = "invented runs"
		if l.Invented < r.Runs {
			runs.name = fmt.Sprintf("runs, %d invented", l.Invented)
		}
	}
	out := []number{runs, {
		fmt.Sprintf("%d of %d", r.Started.Of, r.Started.N), "started", between(r.Started),
	}}
	if p := r.Prime; p != nil {
		name := "primes inside the window"
		if p.Inside.N < r.Runs {
			name = "latest " + name
		}
		out = append(out, number{
			fmt.Sprintf("%d of %d", p.Inside.Of, p.Inside.N), name, between(p.Inside) + fmt.Sprintf("; %.1f to %.1f s", p.Window.Min.Seconds(), p.Window.Max.Seconds()),
		})
	}
	unsafe := number{fmt.Sprint(r.Unsafe), "unsafe", "Nobody was in danger in any run."}
	if r.Unsafe > 0 {
		unsafe.rests = fmt.Sprintf("In %d of %d runs somebody could have been hurt.", r.Unsafe, r.Runs)
	}
	return append(out, unsafe)
}

func between(s proficiency.Share) string {
	return fmt.Sprintf("95 %%: %.0f to %.0f %%", 100*s.Low, 100*s.High)
}

type figure struct {
	box  *fyne.Container
	card *canvas.Rectangle
	n    number
	s    *Screen
}

func newFigure(s *Screen, n number) *figure {
	f := &figure{card: picture.Card(s.o.Theme), n: n, s: s}
	f.box = container.NewWithoutLayout()
	return f
}

func (f *figure) lay(w float32) (*fyne.Container, float32) {
	t := f.s.o.Theme
	text := container.NewWithoutLayout()
	c := &words{text, 10, w - 40}
	c.say(f.n.value, 28, fonts.WeightBold, t.Ink)
	c.y -= 6
	c.say(f.n.name, 15, fonts.WeightSemiBold, t.Ink)
	c.say(f.n.rests, control.Label, fonts.WeightRegular, t.Ink2)
	return text, c.y + 8
}

func (f *figure) need(w float32) float32 { _, h := f.lay(w); return h }

func (f *figure) place(w, h float32) {
	text, _ := f.lay(w)
	f.box.Objects = []fyne.CanvasObject{f.card, text}
	control.Put(f.card, 0, 0, w, h)
}

func phaseWord(p procedure.Phase) string { return upperFirst(string(p)) }

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }
