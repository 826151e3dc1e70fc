package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// Placed is a container whose children are placed by a function of its size.
func Placed(least fyne.Size, place func(fyne.Size), children ...fyne.CanvasObject) *fyne.Container {
	return container.New(&placed{least, place}, children...)
}

type placed struct {
	least fyne.Size
	place func(fyne.Size)
}

func (p *placed) Layout(_ []fyne.CanvasObject, s fyne.Size) { p.place(s) }
func (p *placed) MinSize(_ []fyne.CanvasObject) fyne.Size   { return p.least }

// Put moves and sizes an object in one line.
func Put(o fyne.CanvasObject, x, y, w, h float32) {
	o.Move(fyne.NewPos(x, y))
	o.Resize(fyne.NewSize(w, h))
}

// PutText moves a line of text; its size is its own.
func PutText(o fyne.CanvasObject, x, y float32) {
	o.Move(fyne.NewPos(x, y))
	o.Resize(o.MinSize())
}
