package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

// Choice is one of a few, side by side. The chosen one is filled and carries a
// bar at its foot.
type Choice struct {
	pressable
	options  []string
	selected int
	onChange func(int)
	frame    *canvas.Rectangle
	fills    []*canvas.Rectangle
	bars     []*canvas.Rectangle
	labels   []*canvas.Text
	size     fyne.Size
}

// NewChoice makes a choice with one selected.
func NewChoice(t theme.Tokens, options []string, selected int, onChange func(int)) *Choice {
	c := &Choice{options: options, selected: selected, onChange: onChange}
	c.tokens = t
	c.frame = &canvas.Rectangle{CornerRadius: 10, StrokeWidth: 1.5}
	for _, o := range options {
		c.fills = append(c.fills, &canvas.Rectangle{CornerRadius: 8})
		c.bars = append(c.bars, &canvas.Rectangle{CornerRadius: 1.5})
		c.labels = append(c.labels, Text(o, Body, fonts.WeightMedium, t.Ink2))
	}
	c.redraw = c.paint
	c.step = func(by int) { c.Select(c.selected + by) }
	c.press = func() { c.Select((c.selected + 1) % len(c.options)) }
	c.adopt(c)
	c.paint()
	return c
}

// Selected is the index of the chosen one.
func (c *Choice) Selected() int { return c.selected }

// Select chooses one; an index outside is ignored.
func (c *Choice) Select(i int) {
	if i < 0 || i >= len(c.options) || i == c.selected {
		return
	}
	c.selected = i
	c.paint()
	if c.onChange != nil {
		c.onChange(i)
	}
}

// Tapped chooses what was pointed at.
func (c *Choice) Tapped(e *fyne.PointEvent) {
	if c.size.Width > 0 {
		c.Select(int(e.Position.X / (c.size.Width / float32(len(c.options)))))
	}
}

func (c *Choice) paint() {
	t := c.tokens
	c.frame.FillColor, c.frame.StrokeColor, c.frame.StrokeWidth = t.Panel, t.Line, 1.5
	if c.focused {
		c.frame.StrokeColor, c.frame.StrokeWidth = t.Now, 3
	}
	for i := range c.options {
		on := i == c.selected
		c.fills[i].FillColor, c.bars[i].FillColor = t.Panel, t.Panel
		c.labels[i].Color, c.labels[i].FontSource = t.Ink2, theme.Font(fonts.WeightMedium)
		if on {
			c.fills[i].FillColor, c.bars[i].FillColor = t.Raised, t.Now
			c.labels[i].Color, c.labels[i].FontSource = t.Ink, theme.Font(fonts.WeightSemiBold)
		}
		c.labels[i].Refresh()
		c.fills[i].Refresh()
		c.bars[i].Refresh()
	}
	c.frame.Refresh()
}

// CreateRenderer lays the options out in equal cells.
func (c *Choice) CreateRenderer() fyne.WidgetRenderer {
	objects := []fyne.CanvasObject{c.frame}
	for i := range c.options {
		objects = append(objects, c.fills[i], c.bars[i], c.labels[i])
	}
	return &layoutRenderer{objects: objects,
		min: func() fyne.Size {
			var w float32
			for _, l := range c.labels {
				w = max(w, l.MinSize().Width)
			}
			return fyne.NewSize((w+28)*float32(len(c.options)), 44)
		},
		layout: func(s fyne.Size) {
			c.size = s
			c.frame.Resize(s)
			w := s.Width / float32(len(c.options))
			for i := range c.options {
				x := w * float32(i)
				c.fills[i].Move(fyne.NewPos(x+4, 4))
				c.fills[i].Resize(fyne.NewSize(w-8, s.Height-8))
				c.bars[i].Move(fyne.NewPos(x+16, s.Height-9))
				c.bars[i].Resize(fyne.NewSize(w-32, 3))
				m := c.labels[i].MinSize()
				c.labels[i].Move(fyne.NewPos(x+(w-m.Width)/2, (s.Height-m.Height)/2-1))
			}
		}}
}

// Stepper is a value that goes up and down through a list.
type Stepper struct {
	pressable
	name     string
	values   []string
	selected int
	onChange func(int)
	veiled   bool
	frame    *canvas.Rectangle
	label    *canvas.Text
	value    *canvas.Text
	less     *canvas.Text
	more     *canvas.Text
	size     fyne.Size
}

// NewStepper makes a stepper over values in rising order.
func NewStepper(t theme.Tokens, name string, values []string, selected int, onChange func(int)) *Stepper {
	s := &Stepper{name: name, values: values, selected: selected, onChange: onChange}
	s.tokens = t
	s.frame = &canvas.Rectangle{CornerRadius: 10}
	s.label = Text(name, Label, fonts.WeightRegular, t.Ink2)
	s.value = Text(values[selected], Body, fonts.WeightSemiBold, t.Ink)
	s.less = Text("−", 22, fonts.WeightMedium, t.Ink2)
	s.more = Text("+", 22, fonts.WeightMedium, t.Ink2)
	s.redraw = s.paint
	s.step = func(by int) { s.Select(s.selected + by) }
	s.adopt(s)
	s.paint()
	return s
}

// Selected is the index of the present value.
func (s *Stepper) Selected() int { return s.selected }

// Veil hides the value without taking the stepper away, or shows it again.
func (s *Stepper) Veil(on bool) {
	s.veiled = on
	s.paint()
	s.Refresh()
}

// Select goes to a value; an index outside is ignored.
func (s *Stepper) Select(i int) {
	if i < 0 || i >= len(s.values) || i == s.selected || s.veiled {
		return
	}
	s.selected = i
	s.paint()
	s.Refresh()
	if s.onChange != nil {
		s.onChange(i)
	}
}

// Tapped steps down on the left part and up on the right.
func (s *Stepper) Tapped(e *fyne.PointEvent) {
	less := s.lessAt()
	switch {
	case e.Position.X > s.size.Width-48:
		s.Select(s.selected + 1)
	case e.Position.X > less-24 && e.Position.X < less+24:
		s.Select(s.selected - 1)
	}
}

func (s *Stepper) paint() {
	t := s.tokens
	s.frame.FillColor, s.frame.StrokeColor, s.frame.StrokeWidth = t.Panel, t.Line, 1.5
	if s.focused {
		s.frame.StrokeColor, s.frame.StrokeWidth = t.Now, 3
	}
	s.value.Text, s.value.Color = s.values[s.selected], t.Ink
	if s.veiled {
		s.value.Text, s.value.Color = "hidden", t.Ink3
	}
	s.less.Color, s.more.Color = t.Ink2, t.Ink2
	if s.selected == 0 || s.veiled {
		s.less.Color = t.Line
	}
	if s.selected == len(s.values)-1 || s.veiled {
		s.more.Color = t.Line
	}
	for _, o := range []fyne.CanvasObject{s.frame, s.value, s.less, s.more} {
		o.Refresh()
	}
	s.place()
}

func (s *Stepper) place() {
	if s.size.Width == 0 {
		return
	}
	middle := func(t *canvas.Text, x float32) {
		m := t.MinSize()
		t.Move(fyne.NewPos(x-m.Width/2, (s.size.Height-m.Height)/2))
	}
	s.label.Move(fyne.NewPos(16, (s.size.Height-s.label.MinSize().Height)/2))
	middle(s.less, s.lessAt())
	middle(s.value, (s.lessAt()+s.size.Width-24)/2)
	middle(s.more, s.size.Width-24)
}

// lessAt is where the sign for less stands: beside the value, or opposite the sign
// for more where no name needs the room.
func (s *Stepper) lessAt() float32 {
	if s.name == "" {
		return 24
	}
	return s.size.Width - 176
}

// CreateRenderer lays out name, less, value, more.
func (s *Stepper) CreateRenderer() fyne.WidgetRenderer {
	return &layoutRenderer{objects: []fyne.CanvasObject{s.frame, s.label, s.less, s.value, s.more},
		min: func() fyne.Size { return fyne.NewSize(s.label.MinSize().Width+230, 44) },
		layout: func(size fyne.Size) {
			s.size = size
			s.frame.Resize(size)
			s.place()
		}}
}
