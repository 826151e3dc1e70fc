package control

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

func fields(s string) []string { return strings.Fields(s) }

// pressable is what every control here shares: it can be pointed at, focused and
// pressed.
type pressable struct {
	widget.BaseWidget
	tokens  theme.Tokens
	hovered bool
	focused bool
	redraw  func()
	press   func()
	step    func(by int) // arrow keys, to less and to more; nil when they mean nothing
	digit   func(n int)  // 1 is 0; nil when digits mean nothing
	list    func(by int) // up and down, to what stands above or below; before step
	self    fyne.Widget
}

// adopt makes a control of the widget that has these parts.
func (p *pressable) adopt(w fyne.Widget) {
	p.self = w
	p.ExtendBaseWidget(w)
}

func (p *pressable) changed() {
	if p.redraw != nil {
		p.redraw()
	}
}

func (p *pressable) MouseIn(*desktop.MouseEvent)    { p.hovered = true; p.changed() }
func (p *pressable) MouseMoved(*desktop.MouseEvent) {}
func (p *pressable) MouseOut()                      { p.hovered = false; p.changed() }
func (p *pressable) FocusGained()                   { p.focused = true; p.changed(); reveal(p.self) }
func (p *pressable) FocusLost()                     { p.focused = false; p.changed() }
func (p *pressable) Cursor() desktop.Cursor         { return desktop.PointerCursor }

// TypedRune presses by a digit, where digits mean something.
func (p *pressable) TypedRune(r rune) {
	if p.digit != nil && r >= '1' && r <= '9' {
		p.digit(int(r - '1'))
		return
	}
	passRune(p.self, r)
}

// TypedKey presses with Space and Enter and steps with the arrows; what means
// nothing here goes to the window.
func (p *pressable) TypedKey(e *fyne.KeyEvent) {
	switch e.Name {
	case fyne.KeySpace, fyne.KeyReturn, fyne.KeyEnter:
		if p.press != nil {
			p.press()
			return
		}
	case fyne.KeyUp, fyne.KeyDown:
		if p.list != nil {
			p.list(map[fyne.KeyName]int{fyne.KeyUp: -1, fyne.KeyDown: 1}[e.Name])
			return
		}
	}
	switch {
	case p.step == nil:
		pass(p.self, e)
	case e.Name == fyne.KeyLeft || e.Name == fyne.KeyDown:
		p.step(-1)
	case e.Name == fyne.KeyRight || e.Name == fyne.KeyUp:
		p.step(1)
	default:
		pass(p.self, e)
	}
}

// Emphasis says how much a button asks for.
type Emphasis int

// The emphases: one primary on a screen, plain ones beside it, quiet ones in
// its margins.
const (
	Plain Emphasis = iota
	Primary
	Quiet
)

// Button does one thing.
type Button struct {
	pressable
	text     string
	key      string // printed on a small cap beside the text
	emphasis Emphasis
	size     float32
	disabled bool
	here     bool
	box      *canvas.Rectangle
	label    *canvas.Text
	cap      *canvas.Text
	under    *canvas.Image // marks a Quiet button as where one is
}

// NewButton makes a button; key is the key that does the same, empty for none.
func NewButton(t theme.Tokens, text, key string, e Emphasis, do func()) *Button {
	b := &Button{text: text, key: key, emphasis: e, size: Body}
	b.tokens, b.press = t, func() {
		if !b.disabled {
			do()
		}
	}
	b.box = &canvas.Rectangle{CornerRadius: 10}
	b.label = Text(text, b.size, fonts.WeightSemiBold, t.Ink)
	b.cap = Text(key, Small, fonts.WeightMedium, t.Ink3)
	b.under = Hairline(t.Now)
	b.under.Hide()
	b.redraw = b.paint
	b.adopt(b)
	b.paint()
	return b
}

// SetText changes what is written on it.
func (b *Button) SetText(s string) {
	b.label.Text = s
	b.paint()
	b.Refresh()
}

// Disable greys it out, or not.
func (b *Button) Disable(off bool) {
	b.disabled = off
	b.paint()
}

// Here marks it as leading to where one already is, or not.
func (b *Button) Here(is bool) {
	b.here = is
	b.under.Hidden = !is
	b.paint()
}

// Tapped presses it.
func (b *Button) Tapped(*fyne.PointEvent) { b.press() }

func (b *Button) paint() {
	t := b.tokens
	b.box.StrokeWidth, b.box.StrokeColor = 1.5, t.Line
	b.box.FillColor, b.label.Color, b.cap.Color = t.Panel, t.Ink, t.Ink3
	switch {
	case b.disabled:
		b.label.Color = t.Ink3
	case b.emphasis == Primary:
		b.box.FillColor, b.box.StrokeColor = t.Now, t.Now
		b.label.Color, b.cap.Color = t.Ground, t.Ground
		if b.hovered {
			b.box.FillColor = theme.Mix(t.Now, t.Ink, 0.18)
		}
	case b.emphasis == Quiet:
		b.box.FillColor, b.box.StrokeColor = t.Ground, t.Ground
		b.label.Color = t.Ink2
		if b.hovered {
			b.label.Color = t.Ink
			b.box.FillColor = t.Raised
		}
		if b.here {
			b.label.Color = t.Ink
		}
	case b.hovered:
		b.box.FillColor = t.Raised
	}
	if b.focused {
		b.box.StrokeWidth, b.box.StrokeColor = 3, t.Now
		if b.emphasis == Primary {
			b.box.StrokeColor = t.Ink
		}
	}
	canvas.Refresh(b.box)
	b.label.Refresh()
	b.cap.Refresh()
}

// CreateRenderer lays out box, text and key.
func (b *Button) CreateRenderer() fyne.WidgetRenderer {
	return &layoutRenderer{objects: []fyne.CanvasObject{b.box, b.label, b.cap, b.under},
		min: func() fyne.Size {
			w := b.label.MinSize().Width + 36
			if b.emphasis == Quiet {
				w -= 12 // no box is seen around it
			}
			if b.key != "" {
				w += b.cap.MinSize().Width + 10
			}
			return fyne.NewSize(w, 44)
		},
		layout: func(s fyne.Size) {
			b.box.Resize(s)
			l, k := b.label.MinSize(), fyne.NewSize(0, 0)
			gap := float32(0)
			if b.key != "" {
				k, gap = b.cap.MinSize(), 10
			}
			x := (s.Width - l.Width - gap - k.Width) / 2
			b.label.Move(fyne.NewPos(x, (s.Height-l.Height)/2))
			b.cap.Move(fyne.NewPos(x+l.Width+gap, (s.Height-k.Height)/2+1))
			Put(b.under, x, s.Height-5, l.Width, 3)
		}}
}

// layoutRenderer renders a fixed set of objects laid out by a function.
type layoutRenderer struct {
	objects []fyne.CanvasObject
	min     func() fyne.Size
	layout  func(fyne.Size)
}

func (r *layoutRenderer) Layout(s fyne.Size)           { r.layout(s) }
func (r *layoutRenderer) MinSize() fyne.Size           { return r.min() }
func (r *layoutRenderer) Refresh()                     {}
func (r *layoutRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *layoutRenderer) Destroy()                     {}
