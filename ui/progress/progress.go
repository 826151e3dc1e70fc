package progress

import (
	"context"
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/practice"
	"kickover/procedure/proficiency"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Person is somebody whose progress can be looked at; the empty id is nobody in
// particular.
type Person struct{ ID, Name string }

// Flow is a flow of an aircraft that somebody has flown.
type Flow struct {
	Aircraft procedure.AircraftID
	Flow     procedure.FlowID
	Title    string
	Runs     int
}

// Look is what many runs of one flow came to.
type Look struct {
	Report   *proficiency.Report
	Next     []practice.Suggestion // of all flows that were flown
	Invented int                   // of the runs: flown by nobody
}

// Options are what the screen needs from outside.
type Options struct {
	Theme  theme.Tokens
	People []Person
	Person string // whose progress is shown first
	// Flown and Look may wait and take long, and are called from another goroutine
	// than the window's. Flown lists what somebody has flown, the latest first.
	Flown func(person string) ([]Flow, error)
	// Look looks at a person's runs of a flow; with a zero flow only Next is filled.
	// It is called off by its context, and says in news how far it is.
	Look  func(ctx context.Context, person string, f Flow, news func(string)) (Look, error)
	Begin func(practice.Suggestion)   // flies what is suggested
	Print func(person string, f Flow) // leads to paper
}

// Screen is the Progress screen.
type Screen struct {
	o       Options
	work    control.Work
	window  fyne.Window // nil until the screen has the keyboard
	person  *control.Picker
	flow    *control.Picker // nil when nothing was flown
	flows   []Flow
	look    Look
	trouble string
	begin   *control.Button
	stop    *control.Button // one while the screen is shown: what counts meanwhile takes nobody's click
	content *fyne.Container

	glanceHigh float32 // of the two cards that answer at a glance
}

// New makes the screen.
func New(o Options) *Screen {
	s := &Screen{o: o, content: container.NewStack()}
	names, at := []string{}, 0
	for i, p := range o.People {
		names = append(names, p.Name)
		if p.ID == o.Person {
			at = i
		}
	}
	s.person = control.NewPicker(o.Theme, "Whose", names, at, func(int) { s.turn() })
	s.turn()
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on what to do next.
func (s *Screen) Focus(w fyne.Window) {
	s.window = w
	if s.begin != nil {
		w.Canvas().Focus(s.begin)
		return
	}
	w.Canvas().Focus(s.person)
}

// Close ends what the screen waits for.
func (s *Screen) Close() { s.work.Stop() }

func (s *Screen) who() string {
	if i := s.person.Selected(); i < len(s.o.People) {
		return s.o.People[i].ID
	}
	return ""
}

// turn shows another person.
func (s *Screen) turn() {
	s.flow, s.flows, s.trouble = nil, nil, ""
	who := s.who()
	s.work.Start(func(context.Context, func(string)) func() {
		flows, err := s.o.Flown(who)
		return func() {
			s.offer(flows, err)
			s.show()
		}
	}, s.wait)
}

// offer lets one choose among the flows that somebody has flown.
func (s *Screen) offer(flows []Flow, err error) {
	if err != nil {
		s.trouble = "The runs cannot be read: " + err.Error()
	}
	s.flows = flows
	var names []string
	for _, f := range flows {
		names = append(names, fmt.Sprintf("%s (%d)", f.Title, f.Runs))
	}
	if len(flows) > 0 {
		s.flow = control.NewPicker(s.o.Theme, "Flow", names, 0, func(int) {
			s.trouble = ""
			s.show()
		})
	}
}

func (s *Screen) chosen() Flow {
	if s.flow == nil {
		return Flow{}
	}
	return s.flows[s.flow.Selected()]
}

// show looks at what is chosen and builds the page of it.
func (s *Screen) show() {
	s.look = Look{Report: &proficiency.Report{}}
	if s.trouble != "" {
		s.fill(s.parts())
		return
	}
	who, flow := s.who(), s.chosen()
	s.work.Start(func(ctx context.Context, news func(string)) func() {
		look, err := s.o.Look(ctx, who, flow, news)
		return func() {
			if err != nil {
				s.trouble = "The runs cannot be looked at: " + err.Error()
			} else {
				s.look = look
			}
			s.fill(s.parts())
			if s.window != nil && s.begin != nil && s.window.Canvas().Focused() == nil {
				s.Focus(s.window)
			}
		}
	}, s.wait)
}

// wait says what is waited for, with a way out of it.
func (s *Screen) wait(news string) {
	if news == "" {
		news = "Reading the runs…"
	}
	if s.stop == nil {
		s.stop = control.NewButton(s.o.Theme, "Stop", "", control.Plain, func() {
			s.work.Stop()
			s.fill([]part{s.top(), s.message("Stopped. Choose a flow or a person to look again.")})
		})
	}
	box := container.NewWithoutLayout(s.stop)
	s.fill([]part{s.top(), s.message(news), {box, func(float32) float32 {
		control.Put(s.stop, 0, 0, s.stop.MinSize().Width, 44)
		return 44
	}}})
}

func (s *Screen) fill(parts []part) {
	s.glanceHigh = 0
	s.content.Objects = []fyne.CanvasObject{scrolled(parts)}
	s.content.Refresh()
}

const gap = 16

// edge is the margin at the sides.
func edge(width float32) float32 {
	if width < 900 {
		return 24
	}
	return 48
}

// stacked is a width in which cards have no room side by side.
const stacked = 800

// parts are everything on the page, one below the other.
func (s *Screen) parts() []part {
	parts := []part{s.top()}
	switch {
	case s.trouble != "":
		parts = append(parts, s.message(s.trouble))
	case s.look.Report.Runs == 0:
		parts = append(parts, s.message(s.nothingYet()), s.glance())
	default:
		parts = append(parts, s.glance(), s.figures(), s.steps(), s.habits())
	}
	return parts
}

// nothingYet says that there is nothing to look at, and where else there may be.
func (s *Screen) nothingYet() string {
	words := "No finished run yet. What is flown is kept, and looked at here: when to fly again, what goes well, and what does not."
	if s.who() == "" && len(s.o.People) > 1 {
		words = "Nobody in particular has no finished run. Choose above whose runs to look at; what is flown without a name is looked at here."
	}
	return words
}

// part is a stretch of the page: it places itself in a width and says how high
// it came out.
type part struct {
	box   *fyne.Container
	place func(w float32) float32
}

// stack lays parts one below the other. How high it is follows from its width.
type stack struct {
	parts  []part
	width  float32
	height float32
}

func (s *stack) fit(width float32) {
	if width == s.width {
		return
	}
	s.width = width
	y, e := float32(16), edge(width)
	for _, p := range s.parts {
		h := p.place(width - 2*e)
		control.Put(p.box, e, y, width-2*e, h)
		y += h + gap
	}
	s.height = y
}

// Layout fits the parts to a width.
func (s *stack) Layout(_ []fyne.CanvasObject, size fyne.Size) { s.fit(size.Width) }

// MinSize is what the parts came to, in the width they were last fitted to.
func (s *stack) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(560, s.height) }

// scrolled is a stack in a scroller, which asks how high the stack is before it
// gives it its width: so the width is told first.
func scrolled(parts []part) *fyne.Container {
	var boxes []fyne.CanvasObject
	for _, p := range parts {
		boxes = append(boxes, p.box)
	}
	s := &stack{parts: parts}
	scroll := container.NewVScroll(container.New(s, boxes...))
	return control.Placed(fyne.NewSize(560, 240), func(size fyne.Size) {
		s.fit(size.Width)
		control.Put(scroll, 0, 0, size.Width, size.Height)
		scroll.Refresh()
	}, scroll)
}

func (s *Screen) top() part {
	t := s.o.Theme
	title := control.Text("Progress", control.Title, fonts.WeightBold, t.Ink)
	children := []fyne.CanvasObject{title, s.person}
	if s.flow != nil {
		children = append(children, s.flow)
	}
	var print *control.Button
	if s.flow != nil && s.o.Print != nil {
		print = control.NewButton(t, "Print a record", "", control.Plain, func() { s.o.Print(s.who(), s.chosen()) })
		children = append(children, print)
	}
	box := container.NewWithoutLayout(children...)
	return part{box, func(w float32) float32 {
		control.PutText(title, 0, 0)
		if w < stacked {
			return s.placeTopNarrow(print, w)
		}
		x := title.MinSize().Width + 28
		if print != nil {
			pw := print.MinSize().Width
			control.Put(print, w-pw, 0, pw, 44)
			w -= pw + 12
		}
		room := w - x
		if s.flow == nil {
			control.Put(s.person, x, 0, min(room, 360), 44)
			return 44
		}
		whose := min(room*.42, 320)
		control.Put(s.person, x, 0, whose, 44)
		control.Put(s.flow, x+whose+12, 0, min(room-whose-12, 460), 44)
		return 44
	}}
}

// placeTopNarrow has who and what below the title.
func (s *Screen) placeTopNarrow(print *control.Button, w float32) float32 {
	if print != nil {
		pw := print.MinSize().Width
		control.Put(print, w-pw, 0, pw, 44)
	}
	if s.flow == nil {
		control.Put(s.person, 0, 52, min(w, 360), 44)
		return 96
	}
	whose := (w - 12) * .42
	control.Put(s.person, 0, 52, whose, 44)
	control.Put(s.flow, whose+12, 52, w-whose-12, 44)
	return 96
}

func (s *Screen) message(words string) part {
	box := container.NewWithoutLayout()
	return part{box, func(w float32) float32 {
		p, h := control.Paragraph(words, control.Body, fonts.WeightRegular, s.o.Theme.Ink2, min(w, 820))
		box.Objects = []fyne.CanvasObject{p}
		return h + 8
	}}
}
