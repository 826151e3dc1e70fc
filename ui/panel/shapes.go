package panel

import (
	"image"
	"image/color"
	"image/draw"
)

// drawMask lays a colour through a glyph's mask.
func drawMask(dst *image.RGBA, r image.Rectangle, src image.Image, mask image.Image, mp image.Point) {
	draw.DrawMask(dst, r, src, image.Point{}, mask, mp, draw.Over)
}

// Tick marks what is done. Size is the height of its box; x, y its centre.
func (p *Pen) Tick(x, y, size float64, c color.NRGBA) {
	k := size / 10
	p.Polyline(size/5, c, Point{x - 4*k, y + 0.4*k}, Point{x - 1.2*k, y + 3.2*k}, Point{x + 4.2*k, y - 3.2*k})
}

// Triangle marks a caution.
func (p *Pen) Triangle(x, y, size float64, c color.NRGBA) {
	h := size / 2
	p.Polygon(c, Point{x, y - h}, Point{x + h*1.12, y + h*0.86}, Point{x - h*1.12, y + h*0.86})
}

// Square marks a warning.
func (p *Pen) Square(x, y, size float64, c color.NRGBA) {
	p.Box(Rect{x - size/2, y - size/2, size, size}, size/8, c, color.NRGBA{}, 0)
}

// Cross marks what was passed over.
func (p *Pen) Cross(x, y, size float64, c color.NRGBA) {
	h := size / 2 * 0.8
	p.Polyline(size/5, c, Point{x - h, y - h}, Point{x + h, y + h})
	p.Polyline(size/5, c, Point{x - h, y + h}, Point{x + h, y - h})
}

// Key draws a key's cap with its legend, centred on x, y, and gives its width.
func (p *Pen) Key(legend string, x, y float64) float64 {
	t := Label.Sized(12)
	w := p.Measure(legend, t) + 14
	if w < 24 {
		w = 24
	}
	p.Box(Rect{x - w/2, y - 10, w, 20}, 4, p.Raised, p.Line, 1)
	p.Text(legend, x, y+4.3, Middle, t, p.Ink2)
	return w
}

// Speaker is the sign of a spoken line, its centre at x, y.
func (p *Pen) Speaker(x, y, size float64, c color.NRGBA) {
	k := size / 40
	p.Polygon(c, Point{x - 20*k, y - 8*k}, Point{x - 12*k, y - 8*k}, Point{x, y - 19*k}, Point{x, y + 19*k}, Point{x - 12*k, y + 8*k}, Point{x - 20*k, y + 8*k})
	p.Arc(x, y, 9*k, 3*k, 50, 130, c, true)
	p.Arc(x, y, 16*k, 3*k, 50, 130, c, true)
	p.Arc(x, y, 23*k, 3*k, 50, 130, c, true)
}
