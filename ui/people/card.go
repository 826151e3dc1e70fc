package people

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// show fills the side with the chosen person.
func (s *Screen) show() {
	p := s.person()
	if s.file.Text == "" || s.traces == "" && s.said == "" {
		s.file.SetText(s.o.FileFor(p.Name))
	}
	c := &card{
		t: s.o.Theme, person: p, flying: p.ID == s.o.Flying().ID, traces: s.traces, said: s.said, wrong: s.wrong,
		back: &canvas.Rectangle{FillColor: s.o.Theme.Panel, StrokeColor: s.o.Theme.Line, StrokeWidth: 1, CornerRadius: 14},
		name: control.Text(p.Name, 22, fonts.WeightBold, s.o.Theme.Ink), text: container.NewWithoutLayout(), file: s.file,
	}
	s.side.Objects = []fyne.CanvasObject{c.build(s)}
	s.side.Refresh()
	if c.keep != nil && s.window != nil {
		s.window.Canvas().Focus(c.keep)
	}
}

// card shows what can be done about somebody, one thing below the other. Buttons
// are nil where there is nothing to press.
type card struct {
	t            theme.Tokens
	person       Person
	flying       bool
	traces, said string
	wrong        bool

	back              *canvas.Rectangle
	name              *canvas.Text
	text              *fyne.Container
	file              *control.Entry
	flies, export     *control.Button
	erase, sure, keep *control.Button
}

func (c *card) build(s *Screen) *fyne.Container {
	children := []fyne.CanvasObject{c.back, c.name, c.text}
	button := func(text string, e control.Emphasis, do func()) *control.Button {
		b := control.NewButton(c.t, text, "", e, do)
		children = append(children, b)
		return b
	}
	if !c.flying {
		c.flies = button("Flies from now on", control.Primary, s.fly)
	}
	if c.person.ID != "" {
		children = append(children, c.file)
		c.export = button("Export", control.Plain, s.export)
		if c.traces == "" {
			c.erase = button("Delete for good…", control.Plain, s.ask)
		} else {
			c.sure = button("Delete for good", control.Plain, s.erase)
			c.keep = button("Keep", control.Primary, s.keep)
		}
	}
	return control.Placed(fyne.NewSize(360, 380), c.place, children...)
}

const cardEdge = 24

func (c *card) place(size fyne.Size) {
	w := size.Width - 2*cardEdge
	control.PutText(c.name, cardEdge, 18)
	c.text.RemoveAll()
	y := float32(56)
	if c.flies != nil {
		control.Put(c.flies, cardEdge, y, w, 48)
		y += 62
	} else {
		y = c.say(flyingWords(c.person), false, y, w)
	}
	if c.person.ID != "" {
		y = c.placeExport(y+8, w)
		y = c.placeErase(y, w)
	}
	if c.said != "" {
		y = c.say(c.said, c.wrong, y, w)
	}
	control.Put(c.back, 0, 0, size.Width, y+12)
}

func (c *card) placeExport(y, w float32) float32 {
	y = c.say("All that names them, as a file of JSON Lines:", false, y, w)
	button := c.export.MinSize().Width
	control.Put(c.file, cardEdge, y, w-button-12, 44)
	control.Put(c.export, cardEdge+w-button, y, button, 44)
	return y + 64
}

func (c *card) placeErase(y, w float32) float32 {
	if c.erase != nil {
		control.Put(c.erase, cardEdge, y, c.erase.MinSize().Width, 44)
		return y + 58
	}
	y = c.say(fmt.Sprintf("This deletes %s with %s, for good. Files you exported or backed up before still hold what they hold.", c.person.Name, c.traces), false, y, w)
	half := (w - 12) / 2
	control.Put(c.sure, cardEdge, y, half, 48)
	control.Put(c.keep, cardEdge+half+12, y, half, 48)
	return y + 62
}

// say writes a paragraph at a height and gives the one below it.
func (c *card) say(words string, wrong bool, y, w float32) float32 {
	ink := c.t.Ink2
	if wrong {
		ink = c.t.Caution
	}
	p, h := control.Paragraph(words, 16, fonts.WeightRegular, ink, w)
	p.Move(fyne.NewPos(cardEdge, y))
	c.text.Add(p)
	return y + h + 6
}

func flyingWords(p Person) string {
	if p.ID == "" {
		return "Runs from now on are kept without a name."
	}
	return "Flying now: runs from now on are kept as theirs."
}
