package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

// Card is a large choice: a title with a few lines on what it leads to, and the
// digit that does the same.
type Card struct {
	pressable
	line  string
	box   *canvas.Rectangle
	bar   *canvas.Rectangle
	title *canvas.Text
	key   *canvas.Text
	text  *fyne.Container
}

// NewCard makes a card.
func NewCard(t theme.Tokens, title, line, key string, do func()) *Card {
	c := &Card{
		line: line,
		box:  &canvas.Rectangle{CornerRadius: 14}, bar: &canvas.Rectangle{CornerRadius: 2},
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
		c.box.FillColor = t.Raised
		c.bar.FillColor = t.Raised
	}
	if c.focused {
		c.box.StrokeColor, c.box.StrokeWidth = t.Now, 3
		c.bar.FillColor = t.Now
	}
	c.box.Refresh()
	c.bar.Refresh()
}

// CreateRenderer lays the title over the lines.
func (c *Card) CreateRenderer() fyne.WidgetRenderer {
	return &layoutRenderer{objects: []fyne.CanvasObject{c.box, c.bar, c.title, c.key, c.text},
		min: func() fyne.Size { return fyne.NewSize(240, 110) },
		layout: func(s fyne.Size) {
			c.box.Resize(s)
			const edge = 26
			Put(c.bar, 9, 18, 4, s.Height-36)
			high := s.Height > 180
			y := float32(16)
			if high {
				y = 34
			}
			PutText(c.title, edge, y)
			PutText(c.key, s.Width-edge-c.key.MinSize().Width, y+8)
			p, _ := Paragraph(c.line, Body, fonts.WeightRegular, c.tokens.Ink2, s.Width-2*edge)
			c.text.Objects = []fyne.CanvasObject{p}
			c.text.Move(fyne.NewPos(edge, y+52))
		}}
}
