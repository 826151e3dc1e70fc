package control

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

// Shield lies over what must not be touched: a picture, or the screen below.
type Shield struct{ widget.BaseWidget }

var _ desktop.Mouseable = (*Shield)(nil)

// NewShield makes a shield.
func NewShield() *Shield {
	s := &Shield{}
	s.ExtendBaseWidget(s)
	return s
}

// CreateRenderer shows nothing.
func (s *Shield) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Transparent))
}

// What the pointer does goes no further.

func (s *Shield) MouseDown(*desktop.MouseEvent)  {}
func (s *Shield) MouseUp(*desktop.MouseEvent)    {}
func (s *Shield) MouseIn(*desktop.MouseEvent)    {}
func (s *Shield) MouseMoved(*desktop.MouseEvent) {}
func (s *Shield) MouseOut()                      {}
func (s *Shield) Dragged(*fyne.DragEvent)        {}
func (s *Shield) DragEnd()                       {}
func (s *Shield) Tapped(*fyne.PointEvent)        {}
