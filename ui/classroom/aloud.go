package classroom

import (
	"fmt"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// AloudOptions are what the drill with one machine needs from outside.
type AloudOptions struct {
	Theme theme.Tokens
	Flow  *procedure.Flow
	Now   func() time.Duration
	Keep  func(*classroom.Aloud) // after each tap; nil keeps nothing
	Back  func()
}

// Aloud is the drill with one machine: the class calls, the instructor taps.
type Aloud struct {
	o       AloudOptions
	model   *classroom.Aloud
	window  fyne.Window // that has the keyboard
	shown   bool        // the next step's words
	step    *canvas.Text
	count   *canvas.Text
	hint    *canvas.Text
	taps    [3]*control.Button
	reveal  *control.Button
	past    *fyne.Container
	content *fyne.Container
}

// NewAloud makes the screen and begins.
func NewAloud(o AloudOptions) *Aloud {
	t := o.Theme
	s := &Aloud{o: o, model: classroom.NewAloud(o.Flow, o.Now()),
		step: control.Text("", 44, fonts.WeightBold, t.Ink), count: control.Text("", control.Body, fonts.WeightRegular, t.Ink2),
		hint: control.Text("", control.Body, fonts.WeightRegular, t.Ink2), past: container.NewVBox()}
	title := control.Text(o.Flow.Title+", aloud", control.Title, fonts.WeightBold, t.Ink)
	caution := control.Text(o.Flow.Caution, control.Small, fonts.WeightRegular, t.Ink3)
	tap := func(k classroom.Tap) func() { return func() { s.tap(k) } }
	s.taps = [3]*control.Button{
		control.NewButton(t, "Called", "1", control.Primary, tap(classroom.Called)),
		control.NewButton(t, "Hesitated", "2", control.Plain, tap(classroom.Hesitated)),
		control.NewButton(t, "Wrong", "3", control.Plain, tap(classroom.Wrong)),
	}
	undo := control.NewButton(t, "Take the last tap back", "", control.Quiet, func() { s.model.Undo(); s.keep() })
	s.reveal = control.NewButton(t, "Show the step", "", control.Quiet, func() { s.shown = !s.shown; s.show() })
	again := control.NewButton(t, "From the beginning", "", control.Quiet, func() { s.model = classroom.NewAloud(o.Flow, o.Now()); s.show() })
	back := control.NewButton(t, "Back", "", control.Quiet, o.Back)
	list := container.NewVScroll(s.past)
	s.content = control.Placed(fyne.NewSize(640, 560), func(z fyne.Size) {
		const edge = 40
		side, foot := min(z.Width*0.36, 460), float32(48)
		w := z.Width - side - 3*edge
		control.PutText(title, edge, 18)
		control.PutText(caution, edge, 60)
		control.PutText(s.count, edge, 104)
		control.PutText(s.step, edge, 136)
		control.PutText(s.hint, edge, 206)
		third := (w - 24) / 3
		for i, b := range s.taps {
			control.Put(b, edge+float32(i)*(third+12), z.Height-240, third, 130)
		}
		if z.Width < 900 { // the taps below each other, and the list above the last row
			foot = 120
			for i, b := range s.taps {
				control.Put(b, edge, z.Height-268+float32(i)*58, w, 52)
			}
		}
		x := float32(edge)
		for _, b := range []*control.Button{s.reveal, undo, again, back} {
			bw := b.MinSize().Width
			control.Put(b, x, z.Height-84, bw, 46)
			x += bw + 8
		}
		control.Put(list, z.Width-side-edge, 24, side, z.Height-foot)
	}, title, caution, s.count, s.step, s.hint, s.taps[0], s.taps[1], s.taps[2], s.reveal, undo, again, back, list)
	s.show()
	return s
}

// Content is what goes below the window's header.
func (s *Aloud) Content() fyne.CanvasObject { return s.content }

// Focus makes 1, 2 and 3 the taps. No button has the keyboard: it would keep
// the digits to itself.
func (s *Aloud) Focus(w fyne.Window) {
	s.window = w
	c := w.Canvas()
	c.Unfocus()
	others := c.OnTypedRune()
	c.SetOnTypedRune(func(r rune) {
		switch i := int(r - '1'); {
		case i >= 0 && i < 3:
			s.tap([3]classroom.Tap{classroom.Called, classroom.Hesitated, classroom.Wrong}[i])
		case others != nil:
			others(r)
		}
	})
}

// Warn puts a sentence where the person looks next.
func (s *Aloud) Warn(sentence string) { s.hint.Text = sentence }

func (s *Aloud) tap(k classroom.Tap) {
	if s.model.Tap(k, s.o.Now()) == nil {
		s.shown = false
		s.keep()
	}
}

func (s *Aloud) keep() {
	if s.o.Keep != nil {
		s.o.Keep(s.model)
	}
	s.show()
}

func (s *Aloud) show() {
	due, ok := s.model.Due()
	steps := s.model.Steps()
	done := 0
	s.past.Objects = nil
	for _, st := range slices.Backward(steps) { // the last one on top, where it is seen
		if st.Done {
			done++
			s.past.Add(control.NewRow(s.o.Theme, st.Step.Title, aloudNote(st), aloudSign(st), func() {}))
		}
	}
	s.count.Text = fmt.Sprintf("Step %d of %d", min(done+1, len(steps)), len(steps))
	s.hint.Text = "The class calls the next step aloud. Tap what you hear."
	if ok && steps[done].Wrong > 0 { // the step stands on, and the tap was taken
		s.hint.Text = fmt.Sprintf("Noted: %d wrong. The class calls this step again.", steps[done].Wrong)
	}
	switch {
	case !ok:
		s.step.Text, s.hint.Text = "All called", aloudSum(steps)
	case s.shown:
		s.step.Text = due.Title
	default:
		s.step.Text = "?"
	}
	s.reveal.SetText(map[bool]string{true: "Hide the step", false: "Show the step"}[s.shown])
	for _, b := range s.taps {
		b.Disable(!ok)
	}
	s.content.Refresh()
	if s.window != nil {
		s.window.Canvas().Unfocus()
	}
}

func aloudNote(st classroom.AloudStep) string {
	text := fmt.Sprintf("%.1f s", st.Elapsed.Seconds())
	if st.Wrong > 0 {
		text += fmt.Sprintf(", %d wrong", st.Wrong)
	}
	if st.Slow {
		text += ", hesitated"
	}
	return text
}

func aloudSign(st classroom.AloudStep) string {
	switch st.Verdict {
	case procedure.OnTime:
		return "✓"
	case procedure.Late:
		return "▲ slow"
	}
	return "✗ wrong first"
}

func aloudSum(steps []classroom.AloudStep) string {
	var good, slow, wrong int
	for _, st := range steps {
		if !st.Done {
			continue
		}
		switch st.Verdict {
		case procedure.OnTime:
			good++
		case procedure.Late:
			slow++
		default:
			wrong++
		}
	}
	return fmt.Sprintf("%d called at once, %d slowly, %d wrong first.", good, slow, wrong)
}

// CalledOptions are what the look back at a drill with one machine needs.
type CalledOptions struct {
	Theme theme.Tokens
	Title string // "Cold start, 3 March, 10:00"
	Drill *classroom.Aloud
	Back  func()
}

// NewCalled makes the screen that shows what a class called aloud. The button
// that is to have the keyboard comes with it.
func NewCalled(o CalledOptions) (content fyne.CanvasObject, first *control.Button) {
	steps := o.Drill.Steps()
	title := control.Text(o.Title, control.Title, fonts.WeightBold, o.Theme.Ink)
	sum := control.Text(aloudSum(steps), control.Body, fonts.WeightRegular, o.Theme.Ink2)
	var rows []fyne.CanvasObject
	for _, st := range steps {
		note, sign := "not called", ""
		if st.Done {
			note, sign = aloudNote(st), aloudSign(st)
		}
		rows = append(rows, control.NewRow(o.Theme, st.Step.Title, note, sign, func() {}))
	}
	list := container.NewVScroll(container.NewVBox(rows...))
	back := control.NewButton(o.Theme, "Back", "", control.Primary, o.Back)
	return control.Placed(fyne.NewSize(640, 560), func(z fyne.Size) {
		control.PutText(title, 40, 18)
		control.PutText(sum, 40, 64)
		control.Put(list, 40, 100, min(z.Width-80, 860), z.Height-100-84)
		control.Put(back, 40, z.Height-66, 130, 48)
	}, title, sum, list, back), back
}
