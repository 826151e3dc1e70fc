package classroom

import "fyne.io/fyne/v2"

// region is a part of a screen: what is in it, and how it is laid out from its
// upper left corner; the window is foot high.
type region struct {
	children []fyne.CanvasObject
	place    func(x, y, w, foot float32)
}
