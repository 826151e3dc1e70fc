package control

import (
	"image"
	"image/color"
	"image/draw"

	"fyne.io/fyne/v2/canvas"
)

// Hairline is a straight line of any thickness, or any area, in one colour. It is a
// picture, and not one of the toolkit's rectangles: for each kind of thing on a
// first frame software OpenGL makes machine code, 20 to 60 ms of it, and has made
// that for pictures already, since text is painted as one. A picture of another
// kind to it is one whose width or height is a power of two: hence three pixels.
func Hairline(c color.Color) *canvas.Image {
	const side = 3
	dots := image.NewRGBA(image.Rect(0, 0, side, side))
	draw.Draw(dots, dots.Rect, image.NewUniform(c), image.Point{}, draw.Src)
	return &canvas.Image{Image: dots, FillMode: canvas.ImageFillStretch, ScaleMode: canvas.ImageScaleFastest}
}
