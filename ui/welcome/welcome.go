// Package welcome asks, at the first start, who somebody is today.
//
// Call [New] with what to do with the answer. It asks for nothing else: whatever
// can be asked later is.
package welcome

import (
	"fyne.io/fyne/v2"

	"kickover/assets/fonts"
	"kickover/procedure/settings"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// answers are the users, each with what the program does for them.
var answers = []struct {
	who         settings.Who
	title, line string
}{
	{settings.Student, "Student", "Learn to start an engine: in order, on time, and what to do when it does not fire."},
	{settings.Instructor, "Instructor", "Hold a class: set a day and a fault that nobody sees, and see who hesitates where."},
	{settings.Pilot, "Pilot", "At the aeroplane: time the prime and the crank with one button, eyes outside."},
}

// Screen is the question.
type Screen struct {
	cards   []*control.Card
	content fyne.CanvasObject
}

// New makes the screen.
func New(t theme.Tokens, chosen func(settings.Who)) *Screen {
	s := &Screen{}
	title := control.Text("Who are you today?", control.Title, fonts.WeightBold, t.Ink)
	sub := control.Text("You can change this in Settings whenever you like.", control.Body, fonts.WeightRegular, t.Ink2)
	children := []fyne.CanvasObject{title, sub}
	for i, a := range answers {
		c := control.NewCard(t, a.title, a.line, []string{"1", "2", "3"}[i], func() { chosen(a.who) })
		s.cards = append(s.cards, c)
		children = append(children, c)
	}
	control.Cards(s.cards)
	s.content = control.Placed(fyne.NewSize(560, 420), func(size fyne.Size) { s.place(size, title, sub) }, children...)
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the first answer.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.cards[0]) }

// place sets the answers side by side, or below each other where that is too
// narrow to be read.
func (s *Screen) place(size fyne.Size, title, sub fyne.CanvasObject) {
	const gap, high, low = 24, 250, 118
	width := min(size.Width-96, 1160)
	x := (size.Width - width) / 2
	side := size.Width >= 900
	all := float32(96 + high)
	if !side {
		all = 96 + 3*low + 2*12
	}
	y := max(16, (size.Height-all)*0.4)
	control.PutText(title, x, y)
	control.PutText(sub, x, y+46)
	y += 96
	for i, c := range s.cards {
		if side {
			w := (width - 2*gap) / 3
			control.Put(c, x+float32(i)*(w+gap), y, w, high)
		} else {
			control.Put(c, x, y+float32(i)*(low+12), width, low)
		}
	}
}
