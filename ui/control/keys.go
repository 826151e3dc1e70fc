package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

// pass hands a key that a control has no use for to the window, which would
// otherwise hear keys only while nothing has the focus.
func pass(from fyne.CanvasObject, e *fyne.KeyEvent) {
	if c := canvasOf(from); c != nil && c.OnTypedKey() != nil {
		c.OnTypedKey()(e)
	}
}

// passRune does the same for a letter.
func passRune(from fyne.CanvasObject, r rune) {
	if c := canvasOf(from); c != nil && c.OnTypedRune() != nil {
		c.OnTypedRune()(r)
	}
}

func canvasOf(o fyne.CanvasObject) fyne.Canvas {
	if o == nil {
		return nil
	}
	return fyne.CurrentApp().Driver().CanvasForObject(o)
}

// reveal scrolls what has the focus into sight.
func reveal(o fyne.CanvasObject) {
	for _, s := range scrollers(o) {
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(o).Y
		top := fyne.CurrentApp().Driver().AbsolutePositionForObject(s).Y
		const margin = 12
		move := float32(0)
		switch high := o.Size().Height; {
		case at < top+margin:
			move = at - top - margin
		case at+high > top+s.Size().Height-margin:
			move = at + high - top - s.Size().Height + margin
		}
		if move != 0 {
			s.ScrollToOffset(fyne.NewPos(s.Offset.X, max(0, s.Offset.Y+move)))
		}
	}
}

// scrollers are those that an object on the screen is in, the innermost first.
func scrollers(o fyne.CanvasObject) []*container.Scroll {
	c := canvasOf(o)
	if c == nil {
		return nil
	}
	for _, over := range c.Overlays().List() {
		if found := around(over, o); found != nil {
			return found
		}
	}
	return around(c.Content(), o)
}

// around finds the scrollers that an object is in, the innermost first.
func around(in, o fyne.CanvasObject) []*container.Scroll {
	switch in := in.(type) {
	case *fyne.Container:
		for _, child := range in.Objects {
			if child == o {
				return []*container.Scroll{}
			}
			if found := around(child, o); found != nil {
				return found
			}
		}
	case *container.Scroll:
		if in.Content == o {
			return []*container.Scroll{in}
		}
		if found := around(in.Content, o); found != nil {
			return append(found, in)
		}
	}
	return nil
}

// walked is a control that the arrow keys lead to and from.
type walked interface {
	fyne.CanvasObject
	fyne.Focusable
	parts() *pressable
}

func (p *pressable) parts() *pressable { return p }

// Column lets the keys up and down go from one to another; arrived, if any, is
// told where.
func Column[T walked](all []T, arrived func(int)) {
	for i, w := range all {
		w.parts().list = func(by int) { walk(all, i+by, arrived) }
	}
}

// Line lets the keys left and right go from one to another.
func Line[T walked](all []T) {
	for i, w := range all {
		w.parts().step = func(by int) { walk(all, i+by, nil) }
	}
}

// Cards lets all arrow keys go from card to card, and each card's digit press it.
func Cards(cards []*Card) {
	Column(cards, nil)
	Line(cards)
	for _, c := range cards {
		c.digit = func(n int) {
			if n < len(cards) {
				cards[n].press()
			}
		}
	}
}

func walk[T walked](all []T, to int, arrived func(int)) {
	if to < 0 || to >= len(all) {
		return
	}
	if c := canvasOf(all[to]); c != nil {
		c.Focus(all[to])
	}
	if arrived != nil {
		arrived(to)
	}
}

// Entry is a line to write in. Keys that it has no use for go to the window.
type Entry struct {
	widget.Entry
}

// NewEntry makes an entry with what stands in it while it is empty.
func NewEntry(placeholder string) *Entry {
	e := &Entry{}
	e.PlaceHolder = placeholder
	e.ExtendBaseWidget(e)
	return e
}

// NewTextEntry makes one for several lines.
func NewTextEntry(placeholder string) *Entry {
	e := NewEntry(placeholder)
	e.MultiLine, e.Wrapping = true, fyne.TextWrapWord
	return e
}

// TypedKey writes, or passes on what is no writing.
func (e *Entry) TypedKey(k *fyne.KeyEvent) {
	switch k.Name {
	case fyne.KeyEscape, fyne.KeyF1, fyne.KeyF2, fyne.KeyF3, fyne.KeyF4, fyne.KeyF5, fyne.KeyF6, fyne.KeyF7, fyne.KeyF8, fyne.KeyF9, fyne.KeyF10:
		pass(e, k)
	default:
		e.Entry.TypedKey(k)
	}
}

// FocusGained shows where writing goes.
func (e *Entry) FocusGained() {
	e.Entry.FocusGained()
	reveal(e)
}

// TypedShortcut does what writing needs; a key held with Control that means
// nothing to writing is the window's.
func (e *Entry) TypedShortcut(s fyne.Shortcut) {
	if _, custom := s.(*desktop.CustomShortcut); custom {
		if c, ok := canvasOf(e).(fyne.Shortcutable); ok {
			c.TypedShortcut(s)
		}
		return
	}
	e.Entry.TypedShortcut(s)
}
