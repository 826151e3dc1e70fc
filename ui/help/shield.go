package help

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

// shield keeps the pointer away from the screen below.
type shield struct{ widget.BaseWidget }

var _ desktop.Hoverable = (*shield)(nil)

func newShield() *shield {
	s := &shield{}
	s.ExtendBaseWidget(s)
	return s
}

func (s *shield) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Transparent))
}
func (s *shield) Tapped(*fyne.PointEvent)        {}
func (s *shield) MouseIn(*desktop.MouseEvent)    {}
func (s *shield) MouseMoved(*desktop.MouseEvent) {}
func (s *shield) MouseOut()                      {}
