package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// Flow is a page that is laid out for a width and is as high as that needs. Place
// puts the children for a width and says how high they came.
func Flow(least float32, place func(width float32) (height float32), children ...fyne.CanvasObject) *fyne.Container {
	f := &flow{least: least, place: place}
	f.box = container.NewWithoutLayout(children...)
	f.box.Layout = f
	return f.box
}

type flow struct {
	box    *fyne.Container
	least  float32
	place  func(width float32) (height float32)
	height float32
}

// Layout implements fyne.Layout.
func (f *flow) Layout(_ []fyne.CanvasObject, s fyne.Size) {
	if h := f.place(s.Width); h != f.height {
		f.height = h
		for _, scroll := range scrollers(f.box) {
			scroll.Refresh() // it has another height to show
		}
	}
}

// MinSize implements fyne.Layout.
func (f *flow) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(f.least, f.height) }

// Scrolling lets a page that needs more room than there is be scrolled.
func Scrolling(page fyne.CanvasObject) fyne.CanvasObject {
	scroll := container.NewScroll(page)
	return Placed(fyne.NewSize(100, 100), func(size fyne.Size) {
		Put(scroll, 0, 0, size.Width, size.Height)
		scroll.Refresh() // a page learns its height by being laid out
	}, scroll)
}
