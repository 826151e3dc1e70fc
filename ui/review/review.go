// Package review is the debrief screen: what became of one run, and why.
//
// Call [New] with the run's report. The screen is light but at night, since it is read at a
// desk. What it says comes from package debrief, its drawings from package
// chart; nothing is worked out here.
package review

import (
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
	page    *fyne.Container
	t       theme.Tokens

	title, caption *canvas.Text
	lines          []*line
	signed         *line
	buttons        []*control.Button
	first          *control.Button // has the keyboard; nil where there is no button
	drawn          bool
	reasons        *reasons
	cylinders      *picture.Picture
	prime          *picture.Picture
	steps          *picture.Picture
	stepsHigh      float32
}

// line is a sentence below the title; an empty one takes no room.
type line struct {
	box    *fyne.Container
	words  string
	size   float32
	weight fonts.Weight
	ink    color.Color
}

// New makes the screen.
func New(d Debriefing, o Options) *Screen {
	t := o.Theme // at night paper would undo what eyes have got used to
	if t.Name == theme.Dusk.Name {
		t = theme.Day
	}
	steps := chart.Timeline(d.Report)
	s := &Screen{
		t:         t,
		title:     control.Text(d.Report.Title(), control.Title, fonts.WeightBold, t.Ink),
		caption:   control.Text(o.Units.Words(d.Caption), control.Label, fonts.WeightRegular, t.Ink2),
		signed:    newLine("", 15, fonts.WeightSemiBold, t.Ink2),
		reasons:   newReasons(t, d, o.Units),
		cylinders: picture.New(t, "What was in the cylinders", chart.Vapour(d.Report)),
		prime:     picture.New(t, "The prime, and what the flow did", chart.Prime(d.Report).Read(o.Units)),
		steps:     picture.New(t, stepsTitle(d.Phase), steps),
		stepsHigh: picture.HeightFor(steps.Height - 12),
	}
	if o.Sign != nil {
		s.signed.words = o.Sign.Signed
	}
	s.lines = []*line{
		newLine(o.Units.Words(d.Report.Why), control.Body, fonts.WeightMedium, t.Ink),
		s.signed,
		newLine(d.Notice, 15, fonts.WeightSemiBold, t.Caution),
	}
	s.drawn = d.Report.Outcome != procedure.Read // else nothing was flown that could be drawn
	s.addButtons(d, o)
	s.content = container.NewStack(canvas.NewRectangle(t.Ground), s.arrange())
	return s
}

func newLine(words string, size float32, weight fonts.Weight, ink color.Color) *line {
	return &line{box: container.NewWithoutLayout(), words: words, size: size, weight: weight, ink: ink}
}

// stepsTitle says whose hands it was.
func stepsTitle(p procedure.Phase) string {
	if p == procedure.Demonstrate {
		return "When it was done, and when it was due"
	}
	return "When you did it, and when it was due"
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the way on.
func (s *Screen) Focus(w fyne.Window) {
	if s.first != nil {
		w.Canvas().Focus(s.first)
	}
}

// sign shows what was signed.
func (s *Screen) sign(words string) {
	s.signed.words = words
	s.page.Refresh()
}

// addButtons makes the ways on. The one that stands out is the next phase, and to
// do it again where it went wrong.
func (s *Screen) addButtons(d Debriefing, o Options) {
	add := func(text string, e control.Emphasis, do func()) {
		if do == nil {
			return
		}
		b := control.NewButton(s.t, text, "", e, do)
		s.buttons = append(s.buttons, b)
		if e == control.Primary {
			s.first = b
		}
	}
	again, next := control.Plain, control.Primary
	if o.Again != nil && flownBadly(d) {
		again, next = control.Primary, control.Plain
	}
	if o.Sign != nil {
		add("Sign", control.Plain, func() { s.askToSign(o.Theme, o.Sign) })
	}
	add("Print", control.Plain, o.Print)
	add("Replay", control.Plain, o.Replay)
	add("Again", again, o.Again)
	add(o.NextIs, next, o.Next)
}

// flownBadly reports whether a student's own run is better flown again than left
// behind.
func flownBadly(d Debriefing) bool {
	own := d.Phase == procedure.Perform || d.Phase == procedure.Evaluate
	r := d.Report
	return own && (r.Unsafe || !r.Started && r.Outcome != procedure.Stopped)
}
