package classroom

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

// shield lies over a picture that must not be touched.
type shield struct{ widget.BaseWidget }

var _ desktop.Mouseable = (*shield)(nil)

func newShield() *shield {
	s := &shield{}
	s.ExtendBaseWidget(s)
	return s
}

func (s *shield) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Transparent))
}
func (s *shield) MouseDown(*desktop.MouseEvent)  {}
func (s *shield) MouseUp(*desktop.MouseEvent)    {}
func (s *shield) MouseIn(*desktop.MouseEvent)    {}
func (s *shield) MouseMoved(*desktop.MouseEvent) {}
func (s *shield) MouseOut()                      {}
func (s *shield) Dragged(*fyne.DragEvent)        {}
func (s *shield) DragEnd()                       {}
func (s *shield) Tapped(*fyne.PointEvent)        {}
