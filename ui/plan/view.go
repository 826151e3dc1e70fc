package plan

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure/chart"
	"kickover/procedure/planner"
	"kickover/ui/control"
	picturing "kickover/ui/picture"
	"kickover/ui/theme"
)

// labels are the words of the page that never change.
type labels struct {
	title, aircraft, show, day *canvas.Text
	notice                     *fyne.Container
}

// arrange lays the screen out: the day on the left, what comes of it on the right;
// in a narrow window the answer between the question's two halves.
func (s *Screen) arrange() fyne.CanvasObject {
	t := s.o.Theme
	notice, noticed := control.Paragraph(s.notice, control.Label, fonts.WeightMedium, t.Caution, leftWide)
	l := labels{
		title:    control.Text("How long to prime?", control.Title, fonts.WeightBold, t.Ink),
		aircraft: control.Heading("THE AIRCRAFT", t), show: control.Heading("SHOW", t), day: control.Heading("THE DAY", t),
		notice: notice,
	}
	children := []fyne.CanvasObject{l.title, l.aircraft, s.aircraft, l.show, s.view, l.day, s.begin, s.progress.box, s.picture.box, s.advice.box, notice}
	for _, st := range s.steppers {
		children = append(children, st)
	}
	if s.learn != nil {
		children = append(children, s.learn)
	}
	s.page = control.Flow(560, func(width float32) float32 {
		if width < narrow {
			return s.placeNarrow(l, width, noticed)
		}
		return s.placeWide(l, s.page.Size())
	}, children...)
	return container.NewVScroll(s.page)
}

const (
	narrow   = 900 // where the day and the chart no longer fit beside each other
	leftWide = 348
	rowHigh  = 54 // of a stepper, with the room below it
)

// day is what is asked of the day, as it is shown.
func (s *Screen) day() []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for _, st := range s.steppers {
		if st.Visible() {
			out = append(out, st)
		}
	}
	if s.learn != nil {
		out = append(out, s.learn)
	}
	return out
}

// placeWide uses the whole of the window's height, if that is enough.
func (s *Screen) placeWide(l labels, size fyne.Size) float32 {
	const edge, gap, top = 48, 24, 74
	control.PutText(l.title, edge, 18)
	control.PutText(l.aircraft, edge, top)
	control.Put(s.aircraft, edge, top+22, leftWide, 46)
	control.PutText(l.show, edge, top+84)
	control.Put(s.view, edge, top+106, leftWide, 46)
	control.PutText(l.day, edge, top+168)
	y := float32(top + 190)
	for _, o := range s.day() {
		control.Put(o, edge, y, leftWide, 46)
		y += rowHigh
	}
	control.Put(s.begin, edge, y+8, leftWide, 50)
	s.progress.place(edge, y+70, leftWide)
	l.notice.Move(fyne.NewPos(edge, y+116))
	least := float32(606)
	if s.learn != nil {
		least += rowHigh
	}
	x := float32(edge + leftWide + gap)
	w, high := size.Width-x-edge, max(size.Height, least)
	words := max(leastWords, s.advice.height(w))
	s.picture.place(x, 20, w, high-20-16-words-20)
	s.advice.place(x, high-words-20, w, words)
	return least
}

func (s *Screen) placeNarrow(l labels, width, noticed float32) float32 {
	const edge, gap, top, drawn = 24, 16, 62, 300
	w := width - 2*edge
	half := (w - gap) / 2
	right := edge + half + gap
	control.PutText(l.title, edge, 14)
	control.PutText(l.aircraft, edge, top)
	control.Put(s.aircraft, edge, top+22, half, 46)
	control.PutText(l.show, right, top)
	control.Put(s.view, right, top+22, half, 46)
	control.Put(s.begin, edge, top+80, half, 46)
	s.progress.place(right, top+86, half)
	y := float32(top + 142)
	s.picture.place(edge, y, w, drawn)
	y += drawn + 12
	words := max(leastWords, s.advice.height(w))
	s.advice.place(edge, y, w, words)
	y += words + 18
	control.PutText(l.day, edge, y)
	y += 22
	for i, o := range s.day() {
		x := float32(edge)
		if i%2 == 1 {
			x = right
		}
		control.Put(o, x, y+float32(i/2)*rowHigh, half, 46)
	}
	y += float32((len(s.day())+1)/2) * rowHigh
	l.notice.Move(fyne.NewPos(edge, y))
	return y + noticed + 12
}

// leastWords is the height of an ordinary advice, so that the chart does not jump
// when it comes.
const leastWords = 164

// show brings everything in line with the flight.
func (s *Screen) show() {
	f := s.flight
	switch {
	case f.state == flying:
		s.begin.SetText("Call it off")
	case f.whole && f.state == waiting:
		s.begin.SetText("Fly the map")
	case f.state == calledOff:
		s.begin.SetText("Fly it after all")
	default:
		s.begin.SetText("Fly it again")
	}
	if f.survey == nil {
		s.advice.say("No plan", f.err.Error())
		s.page.Refresh()
		return
	}
	s.progress.set(f.done, f.of, f.words())
	s.picture.title.Text = f.title(s.aeroplane)
	s.picture.title.Refresh()
	s.picture.draw(f.chart())
	s.advice.show(f)
	s.page.Refresh() // the advice may need another height
}

func (f *flight) title(a *planner.Aeroplane) string {
	c := f.survey.Rows[0].Conditions
	name := a.Library.Aircraft.Name
	if f.whole {
		return fmt.Sprintf("%s · %s since shutdown · %s", name, sinceWords(c.SinceShutdown), f.units.Metres(c.PressureAltitudeM))
	}
	return fmt.Sprintf("%s · %s · %s · %s since shutdown · %s", name, f.survey.Rows[0].Handbook.Title,
		f.units.Celsius(c.OATCelsius), sinceWords(c.SinceShutdown), f.units.Metres(c.PressureAltitudeM))
}

// advice is the card with the aim and why it is that.
type advice struct {
	t     theme.Tokens
	box   *fyne.Container
	card  *canvas.Rectangle
	head  string
	lines []string
}

func newAdvice(t theme.Tokens) *advice {
	a := &advice{t: t, card: card(t)}
	a.box = container.NewWithoutLayout(a.card)
	return a
}

func (a *advice) say(head string, lines ...string) {
	a.head, a.lines = head, lines
}

// show says what comes of a flight.
func (a *advice) show(f *flight) {
	switch {
	case f.err != nil:
		a.say("It could not be flown", f.err.Error())
	case f.whole:
		a.say("The prime over the temperature", "Numbers in the box lie inside the handbook's window of that temperature. Aim inside it, whatever the rest of the map says.",
			planner.HandbookRules)
	case f.state == flying:
		a.say("Working it out…", planner.HandbookRules)
	default:
		h := f.survey.Rows[0].Handbook
		got := planner.Advise(h, f.row(0))
		head := "No aim"
		if got.Given {
			head = fmt.Sprintf("Aim at %.3g %s", got.Point.Prime, h.Unit)
		}
		lines := []string{got.Why}
		if got.Beyond != "" {
			lines = append(lines, got.Beyond)
		}
		a.say(head, append(lines, learnt(f), planner.HandbookRules)...)
	}
}

// learnt says what real starts have taught, or why they teach nothing, in a line.
func learnt(f *flight) string {
	b := f.belief
	if b == nil || b.Starts == 0 {
		return f.survey.Aeroplane.WhyNotLearn()
	}
	var parts []string
	for _, t := range b.Traits() {
		parts = append(parts, fmt.Sprintf("%s %.2f ± %.2f", t.Name, t.Mean, t.SD))
	}
	return fmt.Sprintf("Learnt from %s, as factors of the model: %s.", counted(b.Starts), strings.Join(parts, ", "))
}

const wordsSize = 15

// height is what the words need in a width.
func (a *advice) height(w float32) float32 {
	h := float32(58)
	for _, l := range a.lines {
		if l != "" {
			h += float32(len(control.Lines(l, wordsSize, fonts.WeightRegular, w-48)))*wordsSize*1.45 + 4
		}
	}
	return h + 10
}

func (a *advice) place(x, y, w, h float32) {
	control.Put(a.box, x, y, w, h)
	control.Put(a.card, 0, 0, w, h)
	a.box.Objects = []fyne.CanvasObject{a.card}
	head := control.Text(a.head, 22, fonts.WeightBold, a.t.Ink)
	control.PutText(head, 24, 14)
	a.box.Add(head)
	at := float32(52)
	for i, l := range a.lines {
		if l == "" {
			continue
		}
		ink := a.t.Ink2
		if i == 0 {
			ink = a.t.Ink
		}
		p, ph := control.Paragraph(l, wordsSize, fonts.WeightRegular, ink, w-48)
		p.Move(fyne.NewPos(24, at))
		a.box.Add(p)
		at += ph + 4
	}
}

func card(t theme.Tokens) *canvas.Rectangle {
	return &canvas.Rectangle{FillColor: t.Panel, StrokeColor: t.Line, StrokeWidth: 1, CornerRadius: 14}
}

// picture is the chart in its card, drawn anew for each size.
type picture struct {
	box   *fyne.Container
	card  *canvas.Rectangle
	title *canvas.Text
	image *canvas.Image
	t     theme.Tokens
	chart *chart.Chart
	size  fyne.Size
}

func newPicture(t theme.Tokens) *picture {
	p := &picture{
		t:     t,
		card:  card(t),
		title: control.Text("", control.Body, fonts.WeightSemiBold, t.Ink),
		image: &canvas.Image{FillMode: canvas.ImageFillStretch},
	}
	p.box = container.NewWithoutLayout(p.card, p.title, p.image)
	return p
}

// draw shows another chart.
func (p *picture) draw(c *chart.Chart) {
	c.Title = ""
	p.chart = c.In(picturing.Dress(p.t))
	p.paint()
}

func (p *picture) paint() {
	if p.chart == nil || p.size.Width < 40 || p.size.Height < 40 {
		return
	}
	scale := float64(1)
	if c := fyne.CurrentApp().Driver().CanvasForObject(p.image); c != nil {
		scale = float64(c.Scale())
	}
	p.image.Image = p.chart.Image(float64(p.size.Width), float64(p.size.Height), scale)
	p.image.Refresh()
}

func (p *picture) place(x, y, w, h float32) {
	control.Put(p.box, x, y, w, h)
	control.Put(p.card, 0, 0, w, h)
	control.PutText(p.title, 24, 14)
	inner := fyne.NewSize(w-40, h-60)
	control.Put(p.image, 20, 48, inner.Width, inner.Height)
	if inner != p.size {
		p.size = inner
		p.paint()
	}
}

// progress is a bar with words under it.
type progress struct {
	box   *fyne.Container
	track *canvas.Rectangle
	bar   *canvas.Rectangle
	words *canvas.Text
	part  float32
	width float32
}

func newProgress(t theme.Tokens) *progress {
	p := &progress{
		track: &canvas.Rectangle{FillColor: t.Raised, CornerRadius: 4},
		bar:   &canvas.Rectangle{FillColor: t.Now, CornerRadius: 4},
		words: control.Text("", control.Label, fonts.WeightRegular, t.Ink2),
	}
	p.box = container.NewWithoutLayout(p.track, p.bar, p.words)
	return p
}

func (p *progress) set(done, of int, words string) {
	p.part = float32(done) / float32(max(1, of))
	p.words.Text = words
	p.words.Refresh()
	p.bar.Resize(fyne.NewSize(p.width*p.part, 8))
	p.bar.Refresh()
}

func (p *progress) place(x, y, w float32) {
	p.width = w
	control.Put(p.box, x, y, w, 40)
	control.Put(p.track, 0, 0, w, 8)
	control.Put(p.bar, 0, 0, w*p.part, 8)
	control.PutText(p.words, 0, 14)
}

func sinceWords(d time.Duration) string {
	switch {
	case d < 2*time.Hour:
		return fmt.Sprintf("%g min", d.Minutes())
	case d >= 12*time.Hour:
		return "overnight"
	default:
		return fmt.Sprintf("%g h", d.Hours())
	}
}

func isCalledOff(err error) bool { return errors.Is(err, context.Canceled) }

func each[T any](values []T, words func(T) string) []string {
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = words(v)
	}
	return out
}

func counted(starts int) string {
	if starts == 1 {
		return "one real start"
	}
	return fmt.Sprintf("%d real starts", starts)
}
