// Package review is the debrief screen: what became of one run, and why.
//
// Call [New] with the run's report. The screen is light, since it is read at a
// desk. What it says comes from package debrief, its drawings from package
// chart; nothing is worked out here.
package review

import (
	"fmt"
	"image/color"
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
	Theme  theme.Tokens // of the header's neighbours; the page itself is light
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
	first   fyne.Focusable
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
	ground := canvas.NewRectangle(t.Ground)
	title := control.Text(d.Report.Title(), control.Title, fonts.WeightBold, t.Ink)
	caption := control.Text(o.Units.Words(d.Caption), control.Label, fonts.WeightRegular, t.Ink2)
	why := control.Text("", control.Body, fonts.WeightMedium, t.Ink)
	buttons := s.buttons(t, o)
	cylinders := newPicture(t, "What was in the cylinders", chart.Vapour(d.Report))
	timeline := newPicture(t, "When you did it, and when it was due", chart.Timeline(d.Report))
	prime := newPicture(t, "The prime, and what the flow did", chart.Prime(d.Report).Read(o.Units))
	reasons := newReasons(t, d.Report, o.Units)
	foot := control.Text("Training aid. The aircraft's own handbook, local rules and your instructor come first.  "+d.Notice, control.Small, fonts.WeightRegular, t.Ink3)

	said := control.Text("", control.Label, fonts.WeightSemiBold, t.Ink)
	signed := func(words string) {
		said.Text = control.Cut(words, control.Label, fonts.WeightSemiBold, 640)
		said.Resize(said.MinSize())
		said.Refresh()
	}
	if o.Sign != nil {
		signed(o.Sign.Signed)
	}
	s.signed = signed
	children := []fyne.CanvasObject{title, caption, why, said}
	for _, b := range buttons {
		children = append(children, b)
	}
	children = append(children, cylinders.box, reasons.box, timeline.box, prime.box, foot)
	const edge, gap, top, foothold = 32, 20, 98, 44
	upper := float32(276)
	rows := 0
	for _, st := range d.Report.Steps {
		if st.Reached {
			rows++
		}
	}
	lower := max(276, float32(rows)*rowHeight+timelineFrame)
	page := control.Placed(fyne.NewSize(980, top+upper+gap+lower+foothold), func(size fyne.Size) {
		control.PutText(title, edge, 14)
		control.PutText(caption, edge+title.MinSize().Width+24, 29)
		x := size.Width - edge
		for i := len(buttons) - 1; i >= 0; i-- {
			w := buttons[i].MinSize().Width
			x -= w
			control.Put(buttons[i], x, 12, w, 44)
			x -= 10
		}
		why.Text = control.Cut(o.Units.Words(d.Report.Why), control.Body, fonts.WeightMedium, size.Width-2*edge)
		control.PutText(why, edge, 62)
		full := size.Width - 2*edge
		side := max(300, full*0.34)
		// What is left over on a tall screen goes to the drawings.
		spare := max(0, size.Height-top-upper-gap-lower-foothold)
		upper := upper + spare*0.6
		lower := lower + spare*0.4
		cylinders.place(edge, top, full-side-gap, upper)
		reasons.place(edge+full-side, top, side, upper)
		timeline.place(edge, top+upper+gap, full-side-gap, lower)
		prime.place(edge+full-side, top+upper+gap, side, min(lower, upper+60))
		control.PutText(foot, edge, size.Height-28)
		control.PutText(said, size.Width-edge-said.MinSize().Width, size.Height-30)
	}, children...)
	return container.NewStack(ground, container.NewVScroll(page))
}

// Height of a line of the timeline, and of what frames its lines.
const rowHeight, timelineFrame = 25, 130

func (s *Screen) buttons(t theme.Tokens, o Options) []*control.Button {
	var out []*control.Button
	add := func(text string, e control.Emphasis, do func()) {
		if do != nil {
			out = append(out, control.NewButton(t, text, "", e, do))
		}
	}
	if o.Sign != nil {
		add("Sign", control.Quiet, func() { s.sign(t, o.Sign, func(words string) { s.signed(words) }) })
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

// picture is a chart in a card, drawn anew for each size.
type picture struct {
	box   *fyne.Container
	card  *canvas.Rectangle
	title *canvas.Text
	image *canvas.Image
	chart *chart.Chart
	size  fyne.Size
}

func newPicture(t theme.Tokens, title string, c *chart.Chart) *picture {
	p := &picture{
		card:  &canvas.Rectangle{FillColor: t.Panel, StrokeColor: t.Line, StrokeWidth: 1, CornerRadius: 14},
		title: control.Text(title, control.Body, fonts.WeightSemiBold, t.Ink),
		image: &canvas.Image{FillMode: canvas.ImageFillStretch},
		chart: c,
	}
	c.Title = ""
	p.box = fyne.NewContainerWithoutLayout(p.card, p.title, p.image)
	return p
}

func (p *picture) place(x, y, w, h float32) {
	control.Put(p.box, x, y, w, h)
	control.Put(p.card, 0, 0, w, h)
	control.PutText(p.title, 24, 16)
	inner := fyne.NewSize(w-32, h-60)
	control.Put(p.image, 16, 48, inner.Width, inner.Height)
	if inner != p.size && inner.Width > 40 && inner.Height > 40 {
		p.size = inner
		scale := float64(1)
		if c := fyne.CurrentApp().Driver().CanvasForObject(p.image); c != nil {
			scale = float64(c.Scale())
		}
		p.image.Image = p.chart.Image(float64(inner.Width), float64(inner.Height), scale)
		p.image.Refresh()
	}
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
		text:  fyne.NewContainerWithoutLayout(), t: t,
	}
	for _, item := range r.Reasons {
		x.items = append(x.items, debrief.Reason{Head: u.Words(item.Head), Body: u.Words(item.Body)})
	}
	if len(x.items) == 0 {
		x.title.Text = "Nothing to do differently"
		x.items = []debrief.Reason{{Head: "Every step was on time and in order.", Body: "Do it again tomorrow: what is not repeated fades."}}
	}
	x.box = fyne.NewContainerWithoutLayout(x.card, x.title, x.text)
	return x
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
		number := control.Text(fmt.Sprint(i+1), control.Label, fonts.WeightBold, color.White)
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
