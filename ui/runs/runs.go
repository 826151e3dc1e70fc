// Package runs is the list of past runs: newest first, each to be opened for its
// debrief.
package runs

import (
	"context"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Past is one run as the list shows it.
type Past struct {
	ID      string
	Began   time.Time
	Title   string // "Cold start"
	Note    string // "Evaluate · 10 °C · prime 4.2 s · 1 attempt"
	Outcome procedure.Outcome
}

// Options are what the screen needs from outside.
type Options struct {
	Theme theme.Tokens
	Units units.Units
	// Page and Real may wait for a disk or a network, and are called from another
	// goroutine than the window's. Page gives the runs that follow the run with the id after; the empty id
	// is the beginning of the list. Fewer than asked for is the end.
	Page func(after string, limit int) ([]Past, error)
	Open func(id string)
	Real func() ([]Real, error) // real starts, newest first; nil leaves them out
}

const pageSize = 50

// Screen is the list.
type Screen struct {
	o       Options
	work    control.Work
	window  fyne.Window // nil until the screen has the keyboard
	content *fyne.Container
	rows    *fyne.Container
	scroll  *container.Scroll
	kind    *control.Choice
	more    *control.Button
	list    []*control.Row
	empty   *canvas.Text
	first   fyne.Focusable
	last    string
}

// New makes the screen and reads the first page.
func New(o Options) *Screen {
	s := &Screen{o: o}
	t := o.Theme
	title := control.Text("Your runs", control.Title, fonts.WeightBold, t.Ink)
	s.kind = control.NewChoice(t, []string{"Rehearsed", "Real starts"}, 0, func(int) { s.turn() })
	if o.Real == nil {
		s.kind.Hide()
	}
	s.empty = control.Text("", control.Body, fonts.WeightRegular, t.Ink2)
	s.rows = container.New(&column{gap: 10})
	s.more = control.NewButton(t, "Older runs", "", control.Plain, s.read)
	s.scroll = container.NewVScroll(s.rows)
	s.content = control.Placed(fyne.NewSize(560, 320), func(size fyne.Size) {
		edge := float32(48)
		if size.Width < 900 {
			edge = 24
		}
		control.PutText(title, edge, 24)
		control.Put(s.kind, size.Width-edge-300, 24, 300, 44)
		control.PutText(s.empty, edge, 84)
		control.Put(s.scroll, edge, 84, size.Width-2*edge, size.Height-100)
	}, title, s.kind, s.empty, s.scroll)
	s.read()
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the newest run.
func (s *Screen) Focus(w fyne.Window) {
	s.window = w
	s.focusFirst()
}

func (s *Screen) focusFirst() {
	if s.first != nil && s.window != nil {
		s.window.Canvas().Focus(s.first)
	}
}

// Close ends what the screen waits for.
func (s *Screen) Close() { s.work.Stop() }

func (s *Screen) wait(string) { s.say("Reading the runs…") }

// turn lists the other kind anew.
func (s *Screen) turn() {
	s.rows.RemoveAll()
	s.first, s.last, s.list = nil, "", nil
	s.say("")
	s.scroll.ScrollToTop()
	if s.kind.Selected() == 1 {
		s.readReal()
		return
	}
	s.read()
}

// read adds the next page.
func (s *Screen) read() {
	after := s.last
	s.work.Start(func(context.Context, func(string)) func() {
		list, err := s.o.Page(after, pageSize)
		return func() { s.add(list, err) }
	}, s.wait)
}

func (s *Screen) add(list []Past, err error) {
	if err != nil {
		s.say("The runs cannot be read: " + err.Error())
		return
	}
	s.say("")
	begins := s.first == nil
	s.rows.Remove(s.more)
	for _, p := range list {
		row := control.NewRow(s.o.Theme, p.Title, when(p.Began)+"  ·  "+s.o.Units.Words(p.Note), Words(p.Outcome), func() { s.o.Open(p.ID) })
		if s.first == nil {
			s.first = row
		}
		s.rows.Add(row)
		s.list = append(s.list, row)
		s.last = p.ID
	}
	control.Column(s.list, nil)
	if len(list) == pageSize {
		s.rows.Add(s.more)
	}
	if s.first == nil {
		s.say("No run yet. What you fly is kept here, and every run can be looked at again.")
	}
	s.rows.Refresh()
	if begins {
		s.focusFirst()
	}
}

func (s *Screen) say(text string) {
	s.empty.Text = text
	s.empty.Refresh()
}

// Words is how a run ended, with a sign that does not need colour.
func Words(o procedure.Outcome) string {
	switch o {
	case procedure.Started:
		return "✓ started"
	case procedure.Stopped:
		return "✓ stopped rightly"
	case procedure.NotStarted:
		return "○ not started"
	case procedure.EndUnsafe:
		return "■ unsafe"
	case procedure.Abandoned:
		return "○ broken off"
	case procedure.Running:
		return "cut short"
	default:
		return string(o)
	}
}

func when(t time.Time) string {
	t = t.Local()
	return t.Format("2 Jan 2006, 15:04")
}

// column stacks rows at their own height over the full width.
type column struct{ gap float32 }

func (c *column) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	y := float32(2)
	for _, o := range objects {
		h := o.MinSize().Height
		control.Put(o, 2, y, size.Width-16, h)
		y += h + c.gap
	}
}

func (c *column) MinSize(objects []fyne.CanvasObject) fyne.Size {
	h := float32(4)
	for _, o := range objects {
		h += o.MinSize().Height + c.gap
	}
	return fyne.NewSize(400, h)
}
