package classroom

import (
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"kickover/ui/panel"
)

// sheet is a widget that is a panel's board, and can be pressed.
type sheet struct {
	widget.BaseWidget
	board  *panel.Board
	tapped func(x, y float64)
}

func newSheet(b *panel.Board, tapped func(x, y float64)) *sheet {
	s := &sheet{board: b, tapped: tapped}
	s.ExtendBaseWidget(s)
	return s
}

// Tapped tells where, in the board's units.
func (s *sheet) Tapped(e *fyne.PointEvent) {
	if s.tapped != nil {
		s.tapped(s.board.Units(e.Position))
	}
}

func (s *sheet) CreateRenderer() fyne.WidgetRenderer { return sheetRenderer{s} }

// MinSize leaves the window free to be small; the board scales.
func (s *sheet) MinSize() fyne.Size { return fyne.NewSize(640, 300) }

func (s *sheet) Resize(size fyne.Size) {
	s.BaseWidget.Resize(size)
	ratio := 1.0
	if c := fyne.CurrentApp().Driver().CanvasForObject(s); c != nil {
		x, _ := c.PixelCoordinateForPosition(fyne.NewPos(1000, 0))
		ratio = float64(x) / 1000
	}
	s.board.Resize(size, ratio)
}

// Free lets go of all pictures while another screen is in the window.
func (s *sheet) Free() { s.board.Free() }

type sheetRenderer struct{ s *sheet }

func (r sheetRenderer) Layout(fyne.Size)   {}
func (r sheetRenderer) MinSize() fyne.Size { return r.s.MinSize() }

// Refresh has the window painted: tiles that came new are in no window yet, and
// cannot ask for it themselves.
func (r sheetRenderer) Refresh() { canvas.Refresh(r.s) }

func (r sheetRenderer) Objects() []fyne.CanvasObject { return r.s.board.Objects() }
func (r sheetRenderer) Destroy()                     {}

// Every calls refresh on the window's goroutine, at most once at a time, until
// the returned function is called, on that goroutine too.
func Every(interval time.Duration, refresh func()) (stop func()) {
	done := make(chan struct{})
	stopped := false // owned by the window's goroutine
	var pending atomic.Bool
	go func() {
		tick := time.NewTicker(interval)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				if pending.CompareAndSwap(false, true) {
					fyne.Do(func() {
						pending.Store(false)
						if !stopped {
							refresh()
						}
					})
				}
			case <-done:
				return
			}
		}
	}()
	return func() {
		if !stopped {
			stopped = true
			close(done)
		}
	}
}
