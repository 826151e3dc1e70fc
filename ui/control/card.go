package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

// Card is a large choice: a picture, a title with a few lines on what it leads to,
// and the digit that does the same.
type Card struct {
	pressable
	picture fyne.CanvasObject
	line    string
	box     *canvas.Rectangle
	bar     *canvas.Rectangle
	title   *canvas.Text
	key     *canvas.Text
	text    *fyne.Container
}

// NewCard makes a card. Its picture is shown where there is room for it.
func NewCard(t theme.Tokens, picture fyne.CanvasObject, title, line, key string, do func()) *Card {
	c := &Card{
		picture: picture, line: line,
		box: &canvas.Rectangle{CornerRadius: 14}, bar: &canvas.Rectangle{CornerRadius: 2},
		title: Text(title, Title, fonts.WeightBold, t.Ink), key: Text(key, Label, fonts.WeightMedium, t.Ink3),
		text: container.NewWithoutLayout(),
	}
	c.tokens, c.press, c.redraw = t, do, c.paint
	c.adopt(c)
	c.paint()
	return c
}

// Tapped presses it.
func (c *Card) Tapped(*fyne.PointEvent) { c.press() }

func (c *Card) paint() {
	t := c.tokens
	c.box.FillColor, c.box.StrokeColor, c.box.StrokeWidth = t.Panel, t.Line, 1.5
	c.bar.FillColor = t.Panel
	if c.hovered || c.focused {
		c.box.FillColor = theme.Mix(t.Panel, t.Raised, 0.45) // what is raised in a picture is still seen
		c.bar.FillColor = c.box.FillColor
	}
	if c.focused {
		c.box.StrokeColor, c.box.StrokeWidth = t.Now, 3
		c.bar.FillColor = t.Now
	}
	c.box.Refresh()
	c.bar.Refresh()
}

// CreateRenderer lays the picture over the title over the lines.
func (c *Card) CreateRenderer() fyne.WidgetRenderer {
	return &layoutRenderer{objects: []fyne.CanvasObject{c.box, c.bar, c.picture, c.title, c.key, c.text},
		min: func() fyne.Size { return fyne.NewSize(240, 100) }, layout: c.lay}
}

func (c *Card) lay(s fyne.Size) {
	const edge, title, leading = 26, 48, Body * 1.45
	c.box.Resize(s)
	Put(c.bar, 9, 18, 4, s.Height-36)
	p, words := Paragraph(c.line, Body, fonts.WeightRegular, c.tokens.Ink2, s.Width-2*edge)
	y := float32(14)
	// All cards of a row have their titles at one height: three lines are the most.
	if room := s.Height - 2*22 - title - max(words, 3*leading); room > 100 {
		Put(c.picture, edge, 26, s.Width-2*edge, room-12)
		c.picture.Show()
		y = 26 + room
	} else {
		c.picture.Hide()
	}
	PutText(c.title, edge, y)
	PutText(c.key, s.Width-edge-c.key.MinSize().Width, y+10)
	c.text.Objects = []fyne.CanvasObject{p}
	c.text.Move(fyne.NewPos(edge, y+title))
}
