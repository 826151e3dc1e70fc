// Package help is the page that says, for one screen, where one is, what the
// screen is for, which keys it has and how to leave it, with the keys on a picture
// of the keyboard.
//
// Call [New] with a [Page]; show [Screen.Content] over the screen that it is
// about, so that nothing of that screen is lost. What a page says is its screen's:
// package ui gathers it.
package help

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Page is what the help of a screen says.
type Page struct {
	Where string // the screen's name, as the header has it
	For   string // what it is for
	Leave string // how to leave it
	Keys  []Key
	Notes []string // what no key does: the mouse, what is kept
	// Cautions stand where the hazard is: what could hurt somebody.
	Cautions []string
}

// Key is one key of the page's screen.
type Key struct {
	Key  fyne.KeyName
	Does string
	Hand procedure.Hand // whose control it works; empty is neither's
	Held bool           // it works as long as it is down
}

// Screen is the help page.
type Screen struct {
	t       theme.Tokens
	page    Page
	close   *control.Button
	content fyne.CanvasObject
}

// New makes the page; done is called when it is to be closed.
func New(t theme.Tokens, p Page, done func()) *Screen {
	s := &Screen{t: t, page: p, close: control.NewButton(t, "Close", "Esc", control.Primary, done)}
	ground := canvas.NewRectangle(t.Ground)
	s.content = container.NewStack(ground, control.NewShield(), control.Scrolling(s.build()))
	return s
}

// Content is what goes over the window.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the way out.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.close) }

// edge is the margin at the sides.
func edge(width float32) float32 {
	if width < 900 {
		return 24
	}
	return 48
}

func (s *Screen) build() fyne.CanvasObject {
	t := s.t
	over := control.Heading("HELP", t)
	title := control.Text(s.page.Where, control.Title, fonts.WeightBold, t.Ink)
	keyboard := newKeyboard(t, s.page.Keys)
	body := container.NewWithoutLayout()
	return control.Flow(620, func(width float32) float32 {
		e := edge(width)
		w := width - 2*e
		control.PutText(over, e, 22)
		control.PutText(title, e, 40)
		b := s.close.MinSize()
		control.Put(s.close, width-e-b.Width, 24, b.Width, 44)
		body.RemoveAll()
		y := float32(88)
		say := func(x, w float32, text string, size float32, weight fonts.Weight, dim bool) float32 {
			ink := t.Ink
			if dim {
				ink = t.Ink2
			}
			p, h := control.Paragraph(text, size, weight, ink, w)
			p.Move(fyne.NewPos(x, y))
			body.Add(p)
			return h
		}
		y += say(e, min(w, 860), s.page.For, control.Body, fonts.WeightRegular, false) + 6
		y += say(e, min(w, 860), s.page.Leave, control.Body, fonts.WeightMedium, true) + 14
		h := keyboard.high(w)
		control.Put(keyboard.box, e, y, w, h)
		y += h + 14
		for _, n := range s.page.Notes {
			y += say(e, min(w, 860), n, 15, fonts.WeightRegular, true) + 6
		}
		for _, c := range s.page.Cautions {
			mark := control.Text("▲", control.Label, fonts.WeightBold, t.Caution)
			control.PutText(mark, e, y+2)
			body.Add(mark)
			y += say(e+26, min(w, 860)-26, c, 15, fonts.WeightMedium, false) + 6
		}
		body.Resize(fyne.NewSize(width, y))
		return y + 24
	}, over, title, s.close, body, keyboard.box)
}
