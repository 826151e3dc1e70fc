package timer

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

// surface is the one widget of the screen: all of it is the button, and it has
// the keyboard.
type surface struct {
	widget.BaseWidget
	screen *Screen
	mouse  bool // a mouse button holds the button
	space  bool
	over   bool                  // the pointer is over a plate
	chord  map[fyne.KeyName]bool // keys that are held so that another means something else
}

var (
	_ desktop.Keyable    = (*surface)(nil)
	_ desktop.Mouseable  = (*surface)(nil)
	_ fyne.Draggable     = (*surface)(nil)
	_ desktop.Hoverable  = (*surface)(nil)
	_ desktop.Cursorable = (*surface)(nil)
)

func newSurface(s *Screen) *surface {
	f := &surface{screen: s, chord: map[fyne.KeyName]bool{}}
	f.ExtendBaseWidget(f)
	return f
}

func (f *surface) CreateRenderer() fyne.WidgetRenderer { return renderer{f} }

// MinSize leaves the window free to be small; the board scales.
func (f *surface) MinSize() fyne.Size { return fyne.NewSize(512, 300) }

func (f *surface) Resize(size fyne.Size) {
	f.BaseWidget.Resize(size)
	ratio := 1.0
	if c := fyne.CurrentApp().Driver().CanvasForObject(f); c != nil {
		x, _ := c.PixelCoordinateForPosition(fyne.NewPos(1000, 0))
		ratio = float64(x) / 1000
	}
	f.screen.view.fit(size, ratio)
}

// Free lets go of all pictures while another screen is in the window.
func (f *surface) Free() { f.screen.view.board.Free() }

type renderer struct{ f *surface }

func (r renderer) Layout(fyne.Size)             {}
func (r renderer) MinSize() fyne.Size           { return r.f.MinSize() }
func (r renderer) Refresh()                     {}
func (r renderer) Objects() []fyne.CanvasObject { return r.f.screen.view.objects() }
func (r renderer) Destroy()                     {}

func (f *surface) FocusGained() { f.screen.focused.Store(true) }

// FocusLost is called when the window loses the foreground too: the end of a
// hold can no longer be seen, so it has ended.
func (f *surface) FocusLost() {
	f.screen.focused.Store(false)
	if f.mouse || f.space || f.screen.direct.Load() {
		f.screen.driver.lost()
	}
	f.mouse, f.space = false, false
	clear(f.chord)
}

// chords are the keys with which a digit or a letter is not the timer's own.
var chords = []fyne.KeyName{desktop.KeyControlLeft, desktop.KeyControlRight, desktop.KeyAltLeft, desktop.KeySuperLeft, desktop.KeySuperRight}

func (f *surface) TypedRune(r rune)          { f.screen.typedRune(r) }
func (f *surface) TypedKey(e *fyne.KeyEvent) { f.screen.typedKey(e.Name) }

func (f *surface) KeyDown(e *fyne.KeyEvent) {
	switch {
	case slices.Contains(chords, e.Name):
		f.chord[e.Name] = true
		return
	case f.screen.entry != nil:
		return
	case e.Name != fyne.KeySpace:
		if len(f.chord) == 0 {
			f.screen.key(e.Name)
		}
		return
	}
	// A press that came before the display server was listened to is the toolkit's
	// alone to tell, and so is its release.
	if !f.screen.direct.Load() || !f.screen.heard.Load() {
		f.space = true
		f.screen.driver.button(true, f.screen.driver.now())
	}
}

func (f *surface) KeyUp(e *fyne.KeyEvent) {
	delete(f.chord, e.Name)
	if e.Name == fyne.KeySpace && f.space {
		f.space = false
		f.screen.driver.button(false, f.screen.driver.now())
	}
}

func (f *surface) MouseDown(e *desktop.MouseEvent) {
	at := f.screen.driver.now()
	if c := fyne.CurrentApp().Driver().CanvasForObject(f); c != nil {
		c.Focus(f)
	}
	switch p, hit := f.screen.view.under(e.Position); {
	case f.screen.entry != nil:
		switch {
		case !hit:
			f.screen.finishTyping()
		case p.does == doesEscape:
			f.screen.escape()
		}
		return
	case hit:
		f.screen.act(p)
		return
	}
	f.mouse = true
	f.screen.driver.button(true, at)
}

// Cursor hides the pointer at night, when it needs no aim, and has a dim one over
// what must be hit.
func (f *surface) Cursor() desktop.Cursor {
	switch {
	case !f.screen.night():
		return desktop.DefaultCursor
	case f.over:
		return dimPointer{}
	}
	return desktop.HiddenCursor
}

func (f *surface) MouseIn(e *desktop.MouseEvent) { f.MouseMoved(e) }
func (f *surface) MouseOut()                     {}

func (f *surface) MouseMoved(e *desktop.MouseEvent) {
	p, hit := f.screen.view.under(e.Position)
	f.over = hit && p.does != ""
}

func (f *surface) MouseUp(*desktop.MouseEvent) { f.letGo() }

// DragEnd is the release of a button after the pointer moved; the toolkit then
// may send no MouseUp.
func (f *surface) DragEnd()                { f.letGo() }
func (f *surface) Dragged(*fyne.DragEvent) {}

func (f *surface) letGo() {
	if f.mouse {
		f.mouse = false
		f.screen.driver.button(false, f.screen.driver.now())
	}
}
