package timer

import (
	"image"
	"sync"

	"fyne.io/fyne/v2/driver/desktop"
	"golang.org/x/image/vector"

	"kickover/ui/theme"
)

// dimPointer is night's arrow: the desktop's own is as bright as its screen can be.
type dimPointer struct{}

var _ desktop.Cursor = dimPointer{}

// Image is an arrow whose tip is the spot that is meant.
func (dimPointer) Image() (arrow image.Image, x, y int) { return dimArrow(), 0, 0 }

var dimArrow = sync.OnceValue(func() image.Image {
	const w, h = 22, 32
	var r vector.Rasterizer
	r.Reset(w, h)
	r.MoveTo(0, 0)
	for _, p := range [...][2]float32{{0, 26}, {6.5, 20.5}, {11, 31}, {15.5, 29}, {11, 19}, {19.5, 19}} {
		r.LineTo(p[0], p[1])
	}
	r.ClosePath()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	r.Draw(img, img.Bounds(), image.NewUniform(theme.Night.Ink2), image.Point{})
	return img
})
