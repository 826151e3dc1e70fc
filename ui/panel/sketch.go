package panel

import (
	"image"
	"math"

	"fyne.io/fyne/v2/canvas"

	"kickover/ui/theme"
)

// Sketch is a still drawing of w by h units, as large as the place it is given
// and in its middle.
func Sketch(t theme.Tokens, w, h float64, draw func(*Pen)) *canvas.Raster {
	return canvas.NewRaster(func(wide, high int) image.Image {
		img := image.NewRGBA(image.Rect(0, 0, wide, high))
		scale := math.Min(float64(wide)/w, float64(high)/h)
		left, top := (float64(wide)-w*scale)/2, (float64(high)-h*scale)/2
		draw(newPen(img, scale, image.Pt(-int(left), -int(top)), t))
		return img
	})
}
