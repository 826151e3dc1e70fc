package rehearse

import (
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"kickover/procedure"
)

// surface is the one widget of the screen: everything is drawn on it, and it
// has the keyboard, so that no other widget can take a key away.
type surface struct {
	widget.BaseWidget
	screen  *Screen
	pointer fyne.Position
	drag    float64 // units between the pointer and the edge of the lever in hand
	// other is set once a button beside the first came up: the toolkit then ends a
	// drag that the first still makes.
	other bool
}

var (
	_ desktop.Keyable    = (*surface)(nil)
	_ desktop.Mouseable  = (*surface)(nil)
	_ desktop.Hoverable  = (*surface)(nil)
	_ desktop.Cursorable = (*surface)(nil)
	_ fyne.Draggable     = (*surface)(nil)
	_ fyne.Scrollable    = (*surface)(nil)
)

func newSurface(s *Screen) *surface {
	f := &surface{screen: s}
	f.ExtendBaseWidget(f)
	return f
}

// adopt shows the screen's new view in place of any before it.
func (f *surface) adopt() {
	f.fit()
	f.Refresh()
}

func (f *surface) CreateRenderer() fyne.WidgetRenderer { return surfaceRenderer{f} }

// MinSize leaves the window free to be small; the board scales.
func (f *surface) MinSize() fyne.Size { return fyne.NewSize(640, 400) }

func (f *surface) Resize(size fyne.Size) {
	f.BaseWidget.Resize(size)
	f.fit()
}

// Free lets go of all pictures while another screen is in the window.
func (f *surface) Free() {
	if f.screen.view != nil {
		f.screen.view.board.Free()
	}
}

func (f *surface) fit() {
	if f.screen.view == nil {
		return
	}
	ratio := 1.0
	if c := fyne.CurrentApp().Driver().CanvasForObject(f); c != nil {
		x, _ := c.PixelCoordinateForPosition(fyne.NewPos(1000, 0))
		ratio = float64(x) / 1000
	}
	f.screen.view.board.Resize(f.Size(), ratio)
}

type surfaceRenderer struct{ f *surface }

func (r surfaceRenderer) Layout(fyne.Size)   {}
func (r surfaceRenderer) MinSize() fyne.Size { return r.f.MinSize() }
func (r surfaceRenderer) Refresh()           {}

func (r surfaceRenderer) Objects() []fyne.CanvasObject {
	if r.f.screen.view == nil {
		return nil
	}
	return r.f.screen.view.board.Objects()
}
func (r surfaceRenderer) Destroy() {}

// FocusGained finds everything that is sprung at rest.
func (f *surface) FocusGained() { f.screen.focused.Store(true) }

// FocusLost is called when the window loses the foreground too.
func (f *surface) FocusLost() {
	f.screen.focused.Store(false)
	f.screen.hands.letGoAll(f.screen.opts.Now())
}

// TypedRune and TypedKey leave to the window what no hand in the cockpit does.
func (f *surface) TypedRune(r rune) {
	if c := fyne.CurrentApp().Driver().CanvasForObject(f); c != nil && c.OnTypedRune() != nil {
		c.OnTypedRune()(r)
	}
}

func (f *surface) TypedKey(e *fyne.KeyEvent) {
	if _, ours := keymap[e.Name]; ours {
		return
	}
	if c := fyne.CurrentApp().Driver().CanvasForObject(f); c != nil && c.OnTypedKey() != nil {
		c.OnTypedKey()(e)
	}
}

func (f *surface) MouseIn(*desktop.MouseEvent) {}
func (f *surface) MouseOut()                   {}

func (f *surface) KeyDown(e *fyne.KeyEvent) {
	if at := f.screen.opts.Now(); !f.fromServer(e.Name) {
		f.screen.keyDown(e.Name, at)
	}
}

func (f *surface) KeyUp(e *fyne.KeyEvent) {
	if at := f.screen.opts.Now(); !f.fromServer(e.Name) {
		f.screen.keyUp(e.Name, at)
	}
}

func (f *surface) fromServer(k fyne.KeyName) bool {
	told := f.screen.stamped.Load()
	return told != nil && (*told)[k] && !f.screen.turns(k)
}

func (f *surface) MouseMoved(e *desktop.MouseEvent) { f.pointer = e.Position }

// Cursor is a hand over what can be moved or pressed.
func (f *surface) Cursor() desktop.Cursor {
	if f.screen.view == nil {
		return desktop.DefaultCursor
	}
	x, y := f.screen.view.board.Units(f.pointer)
	if f.screen.view.hit(x, y, f.screen.hands).kind != zoneNone {
		return desktop.PointerCursor
	}
	return desktop.DefaultCursor
}

const byMouse = "mouse"

func (f *surface) MouseDown(e *desktop.MouseEvent) {
	at := f.screen.opts.Now()
	if c := fyne.CurrentApp().Driver().CanvasForObject(f); c != nil {
		c.Focus(f)
	}
	f.other = false
	switch {
	case f.screen.view == nil:
		return
	case e.Button != desktop.MouseButtonPrimary:
		f.mixture(true, at)
		return
	}
	f.screen.hands.fly(true)
	x, y := f.screen.view.board.Units(e.Position)
	f.press(f.screen.view.hit(x, y, f.screen.hands), y, at)
}

func (f *surface) MouseUp(e *desktop.MouseEvent) {
	if f.other = e.Button != desktop.MouseButtonPrimary; !f.other {
		f.letGo(f.screen.opts.Now())
	}
}

func (f *surface) DragEnd() {
	if !f.other {
		f.letGo(f.screen.opts.Now())
	}
	f.other = false
}

// mixture throws it to an end while START is held, and reports whether it is: one
// hand has to do for two.
func (f *surface) mixture(up bool, at time.Duration) bool {
	if f.screen.paused() || !f.screen.hands.sprung(procedure.ControlIgnition) {
		return false
	}
	f.screen.leverEnd(procedure.ControlMixture, up, at)
	return true
}

// letGo takes the mouse's hand off whatever it held; doing it twice does no
// more than once.
func (f *surface) letGo(at time.Duration) {
	f.screen.hands.letGo(byMouse, at)
	f.screen.hands.grab("")
}

// Dragged moves the lever in hand; a sprung switch that the pointer was dragged
// off is let go.
func (f *surface) Dragged(e *fyne.DragEvent) {
	f.other = false
	at, v := f.screen.opts.Now(), f.screen.view
	if v == nil {
		return
	}
	x, y := v.board.Units(e.Position)
	id := f.screen.hands.grabbed()
	for _, l := range v.levers {
		if l.Control.ID == id {
			f.screen.hands.put(id, l.Position(y-f.drag), at)
			return
		}
	}
	if z := v.hit(x, y, f.screen.hands); z.kind != zoneDetent {
		f.screen.hands.letGo(byMouse, at)
	}
}

// Scrolled moves the lever under the pointer a little. While START is held it is
// the mixture, wherever the pointer is.
func (f *surface) Scrolled(e *fyne.ScrollEvent) {
	at, v := f.screen.opts.Now(), f.screen.view
	if v == nil || e.Scrolled.DY == 0 || f.screen.paused() {
		return
	}
	if f.mixture(e.Scrolled.DY > 0, at) {
		return
	}
	x, y := v.board.Units(e.Position)
	z := v.hit(x, y, f.screen.hands)
	if z.kind != zoneLever && z.kind != zoneKnob {
		return
	}
	step := procedure.Position(1)
	c, _ := f.screen.hands.find(z.control)
	if c.Unit != "mm" {
		step = c.Travel / 40
	}
	if e.Scrolled.DY < 0 {
		step = -step
	}
	p, _ := f.screen.hands.position(z.control)
	f.screen.hands.put(z.control, p+step, at)
}

// press does what a press on a zone does.
func (f *surface) press(z zone, y float64, at time.Duration) {
	s := f.screen
	if s.paused() && z.kind != zonePlate {
		return
	}
	switch z.kind {
	case zonePlate:
		s.perform(binding{z.act, z.index}, at)
	case zoneToggle:
		s.hands.toggle(z.control, at)
	case zoneDetent:
		f.pressDetent(z, at)
	case zoneKnob:
		p, _ := s.hands.position(z.control)
		f.drag = y - s.view.levers[z.index].Y(p)
		s.hands.grab(z.control)
	case zoneLever:
		s.hands.driveTo(z.control, s.view.levers[z.index].Position(y), snapRate, at)
		s.drive()
	case zoneThird:
		s.perform(binding{actLook, z.index}, at)
	case zoneGauge:
		s.report(z.instrument, at)
	}
}

func (f *surface) pressDetent(z zone, at time.Duration) {
	if f.screen.view.key.Sprung(z.index) {
		f.screen.hands.hold(byMouse, z.control, procedure.Position(z.index), at)
		return
	}
	f.screen.hands.put(z.control, procedure.Position(z.index), at)
}
