// Package review is the debrief screen: what became of one run, and why.
//
// Call [New] with the run's report. The screen is light but at night, since it is read at a
// desk. What it says comes from package debrief, its drawings from package
// chart; nothing is worked out here.
package review

import (
	"fmt"
	"image/color"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/chart"
	"kickover/procedure/debrief"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/picture"
	"kickover/ui/theme"
)

// Debriefing is one run as the screen shows it.
type Debriefing struct {
	ID      string
	Began   time.Time
	Caption string // "Brindle 180 · cold start · 10 °C · Evaluate"
	Phase   procedure.Phase
	Report  *debrief.Report
	Notice  string // about the record, when something is the matter with it
}

// Options are what the screen needs from outside. A nil func takes its button
// off the screen.
type Options struct {
	Theme  theme.Tokens // of the window; the page itself is light, but at night
	Units  units.Units
	Again  func()
	Next   func() // the next phase, or home
	Replay func()
	NextIs string
	Print  func()   // leads to its training record
	Sign   *Signing // nil where there is nothing to sign
}

// Screen is the debrief screen.
type Screen struct {
	content *fyne.Container
	signed  func(words string) // shows what was signed

	signedWords string
	first       fyne.Focusable
}

// New makes the screen.
func New(d Debriefing, o Options) *Screen {
	s := &Screen{}
	s.content = s.build(d, o)
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the way on.
func (s *Screen) Focus(w fyne.Window) {
	if s.first != nil {
		w.Canvas().Focus(s.first)
	}
}

func (s *Screen) build(d Debriefing, o Options) *fyne.Container {
	t := theme.Day
	if o.Theme.Name == theme.Night.Name {
		t = o.Theme // paper would undo what eyes have got used to
	}
	ground := canvas.NewRectangle(t.Ground)
	title := control.Text(d.Report.Title(), control.Title, fonts.WeightBold, t.Ink)
	caption := control.Text(o.Units.Words(d.Caption), control.Label, fonts.WeightRegular, t.Ink2)
	why, signed := container.NewWithoutLayout(), container.NewWithoutLayout()
	buttons := s.buttons(t, o)
	cylinders := picture.New(t, "What was in the cylinders", chart.Vapour(d.Report))
	line := chart.Timeline(d.Report)
	timeline := picture.New(t, "When you did it, and when it was due", line)
	prime := picture.New(t, "The prime, and what the flow did", chart.Prime(d.Report).Read(o.Units))
	reasons := newReasons(t, d.Report, o.Units)
	foot := control.Text("Training aid. The aircraft's own handbook, local rules and your instructor come first.  "+d.Notice, control.Small, fonts.WeightRegular, t.Ink3)

	if o.Sign != nil {
		s.signedWords = o.Sign.Signed
	}
	children := []fyne.CanvasObject{title, caption, why, signed}
	for _, b := range buttons {
		children = append(children, b)
	}
	children = append(children, cylinders.Box, reasons.box, timeline.Box, prime.Box, foot)
	const edge, gap, foothold, tallest = 32, 20, 44, 220
	upper := float32(300)
	lower := max(276, picture.HeightFor(line.Height-12))
	page := control.Placed(fyne.NewSize(980, tallest+upper+gap+lower+foothold), func(size fyne.Size) {
		x := placeButtons(buttons, size.Width-edge)
		control.PutText(title, edge, 14)
		beside := edge + title.MinSize().Width + 24
		y := float32(60)
		if beside+caption.MinSize().Width < x {
			control.PutText(caption, beside, 29)
		} else {
			control.PutText(caption, edge, y)
			y += 24
		}
		full := size.Width - 2*edge
		for i, l := range []struct {
			box   *fyne.Container
			words string
			size  float32
			ink   color.Color
		}{{why, o.Units.Words(d.Report.Why), control.Body, t.Ink}, {signed, s.signedWords, 15, t.Ink2}} {
			weight := fonts.WeightMedium
			if i > 0 {
				weight = fonts.WeightSemiBold
			}
			l.box.RemoveAll()
			words, h := control.Paragraph(l.words, l.size, weight, l.ink, full)
			l.box.Add(words)
			control.Put(l.box, edge, y, full, h)
			y += h
		}
		top := y + 10
		side := max(300, full*0.34)
		upper := max(upper, reasons.height(side))
		// What is left over on a tall screen goes to the drawings.
		spare := max(0, size.Height-top-upper-gap-lower-foothold)
		upper += spare * 0.6
		lower := lower + spare*0.4
		cylinders.Place(edge, top, full-side-gap, upper)
		reasons.place(edge+full-side, top, side, upper)
		timeline.Place(edge, top+upper+gap, full-side-gap, lower)
		prime.Place(edge+full-side, top+upper+gap, side, min(lower, upper+60))
		control.PutText(foot, edge, size.Height-28)
	}, children...)
	s.signed = func(words string) {
		s.signedWords = words
		page.Refresh()
	}
	return container.NewStack(ground, container.NewVScroll(page))
}

// placeButtons lines buttons up from the right and says where they begin.
func placeButtons(buttons []*control.Button, x float32) float32 {
	for _, b := range slices.Backward(buttons) {
		w := b.MinSize().Width
		x -= w
		control.Put(b, x, 12, w, 44)
		x -= 10
	}
	return x
}

func (s *Screen) buttons(t theme.Tokens, o Options) []*control.Button {
	var out []*control.Button
	add := func(text string, e control.Emphasis, do func()) {
		if do != nil {
			out = append(out, control.NewButton(t, text, "", e, do))
		}
	}
	if o.Sign != nil {
		add("Sign", control.Quiet, func() { s.sign(o.Theme, o.Sign, func(words string) { s.signed(words) }) })
	}
	add("Print", control.Quiet, o.Print)
	add("Replay", control.Quiet, o.Replay)
	add("Again", control.Plain, o.Again)
	add(o.NextIs, control.Primary, o.Next)
	if len(out) > 0 {
		s.first = out[len(out)-1]
	}
	return out
}

// reasons lists what to do differently, each with its number.
type reasons struct {
	box   *fyne.Container
	card  *canvas.Rectangle
	title *canvas.Text
	text  *fyne.Container
	t     theme.Tokens
	items []debrief.Reason
}

func newReasons(t theme.Tokens, r *debrief.Report, u units.Units) *reasons {
	x := &reasons{
		card:  &canvas.Rectangle{FillColor: t.Panel, StrokeColor: t.Line, StrokeWidth: 1, CornerRadius: 14},
		title: control.Text("What to do differently", control.Body, fonts.WeightSemiBold, t.Ink),
		text:  container.NewWithoutLayout(), t: t,
	}
	for _, item := range r.Reasons {
		x.items = append(x.items, debrief.Reason{Head: u.Words(item.Head), Body: u.Words(item.Body)})
	}
	if len(x.items) == 0 {
		x.title.Text = "Nothing to do differently"
		x.items = []debrief.Reason{{Head: "Every step was on time and in order.", Body: "Do it again tomorrow: what is not repeated fades."}}
	}
	x.box = container.NewWithoutLayout(x.card, x.title, x.text)
	return x
}

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
