package control

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"
)

// Grid is the keyboard's way into a picture of many things, over which it is
// laid: it shows nothing itself. Its owner draws where the keyboard is.
type Grid struct {
	widget.BaseWidget
	focus func(on bool)
	move  func(columns, rows int)
	press func()
	tap   func(*fyne.PointEvent)
}

var (
	_ fyne.Focusable = (*Grid)(nil)
	_ fyne.Tappable  = (*Grid)(nil)
)

// NewGrid makes a grid: focus is told whether the keyboard is in it, move of the
// arrow keys, press of Enter and Space, and tap of the pointer, which would not
// reach what lies below.
func NewGrid(focus func(on bool), move func(columns, rows int), press func(), tap func(*fyne.PointEvent)) *Grid {
	g := &Grid{focus: focus, move: move, press: press, tap: tap}
	g.ExtendBaseWidget(g)
	return g
}

// CreateRenderer shows nothing.
func (g *Grid) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Transparent))
}

// Tapped implements fyne.Tappable.
func (g *Grid) Tapped(e *fyne.PointEvent) { g.tap(e) }

// FocusGained implements fyne.Focusable.
func (g *Grid) FocusGained() { g.focus(true) }

// FocusLost implements fyne.Focusable.
func (g *Grid) FocusLost() { g.focus(false) }

// TypedRune passes letters on.
func (g *Grid) TypedRune(r rune) { passRune(g, r) }

// TypedKey moves and presses; what means nothing here goes to the window.
func (g *Grid) TypedKey(e *fyne.KeyEvent) {
	switch e.Name {
	case fyne.KeyLeft:
		g.move(-1, 0)
	case fyne.KeyRight:
		g.move(1, 0)
	case fyne.KeyUp:
		g.move(0, -1)
	case fyne.KeyDown:
		g.move(0, 1)
	case fyne.KeySpace, fyne.KeyReturn, fyne.KeyEnter:
		g.press()
	default:
		pass(g, e)
	}
}
