package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

// Picker is one of many, shown in a list while it is being chosen.
type Picker struct {
	pressable
	name     string
	values   []string
	selected int
	onChange func(int)
	frame    *canvas.Rectangle
	label    *canvas.Text
	value    *canvas.Text
	mark     *canvas.Text
	size     fyne.Size
	popup    *widget.PopUp
}

// NewPicker makes a picker with one selected.
func NewPicker(t theme.Tokens, name string, values []string, selected int, onChange func(int)) *Picker {
	p := &Picker{name: name, values: values, selected: selected, onChange: onChange}
	p.tokens = t
	p.frame = &canvas.Rectangle{CornerRadius: 10}
	p.label = Text(name, Label, fonts.WeightRegular, t.Ink2)
	p.value = Text("", Body, fonts.WeightSemiBold, t.Ink)
	p.mark = Text("▾", Label, fonts.WeightRegular, t.Ink2)
	p.redraw, p.press = p.paint, p.open
	p.step = func(by int) { p.Select(p.selected - by) } // down the list is the next one
	p.adopt(p)
	p.paint()
	return p
}

// Selected is the index of the chosen one.
func (p *Picker) Selected() int { return p.selected }

// Select chooses one; an index outside is ignored.
func (p *Picker) Select(i int) {
	if i < 0 || i >= len(p.values) || i == p.selected {
		return
	}
	p.selected = i
	p.paint()
	if p.onChange != nil {
		p.onChange(i)
	}
}

// Tapped opens the list.
func (p *Picker) Tapped(*fyne.PointEvent) { p.open() }

func (p *Picker) open() {
	c := fyne.CurrentApp().Driver().CanvasForObject(p)
	if c == nil || len(p.values) == 0 {
		return
	}
	rows := container.NewVBox()
	var items []*item
	for i, v := range p.values {
		it := newItem(p.tokens, v, i == p.selected)
		it.press = func() { p.popup.Hide(); c.Focus(p); p.Select(i) }
		it.leave = func() { p.popup.Hide(); c.Focus(p) }
		it.step = func(by int) {
			if next := i - by; next >= 0 && next < len(items) {
				c.Focus(items[next])
			}
		}
		items = append(items, it)
		rows.Add(it)
	}
	list := container.NewVScroll(rows)
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(p)
	room := c.Size().Height - at.Y - p.size.Height - 24
	list.SetMinSize(fyne.NewSize(p.size.Width-8, min(rows.MinSize().Height, max(room, 160))))
	p.popup = widget.NewPopUp(list, c)
	p.popup.ShowAtPosition(at.AddXY(0, p.size.Height+4))
	c.Focus(items[p.selected])
}

func (p *Picker) paint() {
	t := p.tokens
	p.frame.FillColor, p.frame.StrokeColor, p.frame.StrokeWidth = t.Panel, t.Line, 1.5
	if p.hovered {
		p.frame.FillColor = t.Raised
	}
	if p.focused {
		p.frame.StrokeColor, p.frame.StrokeWidth = t.Now, 3
	}
	p.write()
	for _, o := range []fyne.CanvasObject{p.frame, p.value, p.mark} {
		o.Refresh()
	}
}

// chosen is the value that is selected, or nothing.
func (p *Picker) chosen() string {
	if p.selected < 0 || p.selected >= len(p.values) {
		return ""
	}
	return p.values[p.selected]
}

// around is the room that a picker takes beside its value.
func (p *Picker) around() float32 { return p.label.MinSize().Width + 66 }

// Whole is how wide it must be for its value not to be cut.
func (p *Picker) Whole() float32 {
	return Width(p.chosen(), Body, fonts.WeightSemiBold) + p.around()
}

// write shows the value, cut to the room there is.
func (p *Picker) write() {
	p.value.Text = p.chosen()
	if p.size.Width > 0 {
		p.value.Text = Cut(p.value.Text, Body, fonts.WeightSemiBold, p.size.Width-p.around())
	}
}

// CreateRenderer lays out name, value and mark.
func (p *Picker) CreateRenderer() fyne.WidgetRenderer {
	return &layoutRenderer{objects: []fyne.CanvasObject{p.frame, p.label, p.value, p.mark},
		min: func() fyne.Size { return fyne.NewSize(p.label.MinSize().Width+150, 44) },
		layout: func(s fyne.Size) {
			p.size = s
			p.frame.Resize(s)
			p.write()
			l, v, m := p.label.MinSize(), p.value.MinSize(), p.mark.MinSize()
			p.label.Move(fyne.NewPos(16, (s.Height-l.Height)/2))
			p.value.Move(fyne.NewPos(16+l.Width+12, (s.Height-v.Height)/2))
			p.mark.Move(fyne.NewPos(s.Width-m.Width-16, (s.Height-m.Height)/2))
		}}
}

// item is a line of an open list.
type item struct {
	pressable
	box   *canvas.Rectangle
	text  *canvas.Text
	on    bool
	leave func()
}

func newItem(t theme.Tokens, text string, on bool) *item {
	i := &item{on: on, box: &canvas.Rectangle{CornerRadius: 8}, text: Text(text, Body, fonts.WeightMedium, t.Ink)}
	i.tokens, i.redraw = t, i.paint
	i.adopt(i)
	i.paint()
	return i
}

// TypedKey closes the list with Escape, besides what every control does.
func (i *item) TypedKey(e *fyne.KeyEvent) {
	if e.Name == fyne.KeyEscape {
		i.leave()
		return
	}
	i.pressable.TypedKey(e)
}

// Tapped chooses it.
func (i *item) Tapped(*fyne.PointEvent) { i.press() }

// Cursor is the pointing hand.
func (i *item) Cursor() desktop.Cursor { return desktop.PointerCursor }

func (i *item) paint() {
	t := i.tokens
	i.box.FillColor, i.box.StrokeWidth, i.box.StrokeColor = t.Panel, 0, t.Panel
	if i.on || i.hovered {
		i.box.FillColor = t.Raised
	}
	if i.focused {
		i.box.StrokeWidth, i.box.StrokeColor = 3, t.Now
	}
	i.box.Refresh()
	i.text.Refresh()
}

// CreateRenderer lays out the line.
func (i *item) CreateRenderer() fyne.WidgetRenderer {
	return &layoutRenderer{objects: []fyne.CanvasObject{i.box, i.text},
		min: func() fyne.Size { return fyne.NewSize(i.text.MinSize().Width+40, 42) },
		layout: func(s fyne.Size) {
			i.box.Resize(s)
			i.text.Move(fyne.NewPos(16, (s.Height-i.text.MinSize().Height)/2))
		}}
}

// SetValues offers other values.
func (p *Picker) SetValues(values []string, selected int, onChange func(int)) {
	p.values, p.selected, p.onChange = values, selected, onChange
	p.paint()
}
