// Package welcome asks, at the first start, who somebody is today.
//
// Call [New] with what to do with the answer. It asks for nothing else: whatever
// can be asked later is. Whoever would rather look first is shown a start.
package welcome

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/procedure/settings"
	"kickover/ui/control"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// answers are the users, each with what the program does for them.
var answers = []struct {
	who         settings.Who
	picture     func(*panel.Pen)
	title, line string
}{
	{settings.Student, stopwatch, "Student", "Learn to start an engine: in order, on time, and what to do when it does not fire."},
	{settings.Instructor, board, "Instructor", "Hold a class: set a day and a fault that nobody sees, and see who hesitates where."},
	{settings.Pilot, button, "Pilot", "At the aeroplane: time the prime and the crank with one button, eyes outside."},
}

// Screen is the question.
type Screen struct {
	title, sub, note *canvas.Text
	cards            []*control.Card
	watch            *control.Button
	content          fyne.CanvasObject
}

// New makes the screen. chosen takes the answer; watch shows a start to whoever
// wants to see one first.
func New(t theme.Tokens, chosen func(settings.Who), watch func()) *Screen {
	s := &Screen{
		title: control.Text("Who are you today?", control.Title, fonts.WeightBold, t.Ink),
		sub:   control.Text("You can change this in Settings whenever you like.", control.Body, fonts.WeightRegular, t.Ink2),
		watch: control.NewButton(t, "Watch a start first", "", control.Plain, watch),
		note:  control.Text("Under a minute, with sound.", control.Body, fonts.WeightRegular, t.Ink2),
	}
	children := []fyne.CanvasObject{s.title, s.sub}
	for i, a := range answers {
		c := control.NewCard(t, panel.Sketch(t, wide, high, a.picture), a.title, a.line, []string{"1", "2", "3"}[i], func() { chosen(a.who) })
		s.cards = append(s.cards, c)
		children = append(children, c)
	}
	control.Cards(s.cards)
	s.content = control.Placed(fyne.NewSize(560, 530), s.place, append(children, s.watch, s.note)...)
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the first answer.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.cards[0]) }

// place sets the answers side by side, or below each other where that is too
// narrow to be read.
func (s *Screen) place(size fyne.Size) {
	const head, foot, gap, tallest, low = 92, 74, 20, 420, 100
	side := size.Width >= 900
	edge, tall := float32(48), min(tallest, size.Height-head-foot-40)
	cards := tall
	if !side {
		edge, cards = 24, 3*low+2*12
	}
	width := min(size.Width-2*edge, 1360)
	x := (size.Width - width) / 2
	y := max(20, (size.Height-head-cards-foot)*0.4)
	control.PutText(s.title, x, y)
	control.PutText(s.sub, x, y+44)
	y += head
	for i, c := range s.cards {
		if side {
			w := (width - 2*gap) / 3
			control.Put(c, x+float32(i)*(w+gap), y, w, tall)
		} else {
			control.Put(c, x, y+float32(i)*(low+12), width, low)
		}
	}
	y += cards + 24
	control.Put(s.watch, x, y, s.watch.MinSize().Width, 50)
	control.PutText(s.note, x+s.watch.MinSize().Width+18, y+(50-s.note.MinSize().Height)/2)
}
