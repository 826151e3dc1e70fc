package panel

import (
	"image"
	"image/color"
	"math"

	"git.sr.ht/~sbinet/gg"

	"kickover/ui/theme"
)

// Rect is a place on a board, in units.
type Rect struct{ X, Y, W, H float64 }

// Contains reports whether a point lies in the rectangle.
func (r Rect) Contains(x, y float64) bool {
	return x >= r.X && x < r.X+r.W && y >= r.Y && y < r.Y+r.H
}

// Inset gives the rectangle with d taken off every side.
func (r Rect) Inset(d float64) Rect { return Rect{r.X + d, r.Y + d, r.W - 2*d, r.H - 2*d} }

// Point is a place in units.
type Point struct{ X, Y float64 }

// Pen draws into an image in a board's units, antialiased.
type Pen struct {
	theme.Tokens
	gc    *gg.Context
	img   *image.RGBA
	scale float64 // pixels a unit
	ox    float64 // pixel of the board that is the image's left edge
	oy    float64
}

func newPen(img *image.RGBA, scale float64, at image.Point, t theme.Tokens) *Pen {
	return &Pen{Tokens: t, gc: gg.NewContextForRGBA(img), img: img, scale: scale, ox: float64(at.X), oy: float64(at.Y)}
}

func (p *Pen) px(x float64) float64 { return x*p.scale - p.ox }
func (p *Pen) py(y float64) float64 { return y*p.scale - p.oy }

// snap puts a coordinate on a pixel's edge, so that a hairline is one pixel and
// not two half ones.
func (p *Pen) snapX(x float64) float64 { return math.Round(p.px(x)) }
func (p *Pen) snapY(y float64) float64 { return math.Round(p.py(y)) }

// width of a stroke in pixels; never thinner than one.
func (p *Pen) width(w float64) float64 { return math.Max(1, w*p.scale) }

// Box fills a rounded rectangle and outlines it; a zero colour does neither.
func (p *Pen) Box(r Rect, radius float64, fill, line color.NRGBA, lineWidth float64) {
	x0, y0, x1, y1 := p.snapX(r.X), p.snapY(r.Y), p.snapX(r.X+r.W), p.snapY(r.Y+r.H)
	rad := radius * p.scale
	if fill.A != 0 {
		p.gc.SetColor(fill)
		p.roundRect(x0, y0, x1, y1, rad)
		p.gc.Fill()
	}
	if line.A != 0 {
		w := math.Max(1, math.Round(lineWidth*p.scale))
		p.gc.SetColor(line)
		p.gc.SetLineWidth(w)
		p.roundRect(x0+w/2, y0+w/2, x1-w/2, y1-w/2, rad)
		p.gc.Stroke()
	}
}

// roundRect adds a rounded rectangle with circular corners, in pixels.
func (p *Pen) roundRect(x0, y0, x1, y1, r float64) {
	r = math.Min(r, math.Min(x1-x0, y1-y0)/2)
	if r <= 0 {
		p.gc.DrawRectangle(x0, y0, x1-x0, y1-y0)
		return
	}
	g := p.gc
	g.NewSubPath()
	g.DrawArc(x0+r, y0+r, r, math.Pi, 1.5*math.Pi)
	g.DrawArc(x1-r, y0+r, r, -math.Pi/2, 0)
	g.DrawArc(x1-r, y1-r, r, 0, math.Pi/2)
	g.DrawArc(x0+r, y1-r, r, math.Pi/2, math.Pi)
	g.ClosePath()
}

// Fill paints a plain rectangle, its edges on whole pixels.
func (p *Pen) Fill(r Rect, c color.NRGBA) { p.Box(r, 0, c, color.NRGBA{}, 0) }

// Segment draws a straight line with flat ends; dashes alternate on and off.
func (p *Pen) Segment(x0, y0, x1, y1, w float64, c color.NRGBA, dashes ...float64) {
	p.stroke(w, c, false, dashes)
	p.gc.DrawLine(p.px(x0), p.py(y0), p.px(x1), p.py(y1))
	p.gc.Stroke()
	p.gc.SetDash()
}

func (p *Pen) stroke(w float64, c color.NRGBA, round bool, dashes []float64) {
	p.gc.SetColor(c)
	p.gc.SetLineWidth(p.width(w))
	if round {
		p.gc.SetLineCapRound()
	} else {
		p.gc.SetLineCapButt()
	}
	scaled := make([]float64, len(dashes))
	for i, d := range dashes {
		scaled[i] = d * p.scale
	}
	p.gc.SetDash(scaled...)
}

// Rule draws a level or upright hairline on whole pixels.
func (p *Pen) Rule(x0, y0, x1, y1 float64, c color.NRGBA) {
	a, b := Rect{x0, y0, x1 - x0, 0}, math.Max(1, math.Round(p.scale))
	if x0 == x1 {
		p.gc.SetColor(c)
		p.gc.DrawRectangle(p.snapX(x0), p.snapY(y0), b, p.snapY(y1)-p.snapY(y0))
	} else {
		p.gc.SetColor(c)
		p.gc.DrawRectangle(p.snapX(a.X), p.snapY(a.Y), p.snapX(x1)-p.snapX(x0), b)
	}
	p.gc.Fill()
}

// Disc fills a circle.
func (p *Pen) Disc(x, y, r float64, c color.NRGBA) {
	p.gc.SetColor(c)
	p.gc.DrawCircle(p.px(x), p.py(y), r*p.scale)
	p.gc.Fill()
}

// Ring outlines a circle, the line centred on its radius.
func (p *Pen) Ring(x, y, r, w float64, c color.NRGBA) {
	p.stroke(w, c, false, nil)
	p.gc.DrawCircle(p.px(x), p.py(y), r*p.scale)
	p.gc.Stroke()
}

// Arc strokes part of a circle. Angles are in degrees clockwise from twelve
// o'clock. Round says how the ends look.
func (p *Pen) Arc(x, y, r, w, from, to float64, c color.NRGBA, round bool, dashes ...float64) {
	if to <= from {
		return
	}
	p.stroke(w, c, round, dashes)
	p.gc.NewSubPath()
	p.gc.DrawArc(p.px(x), p.py(y), r*p.scale, rad(from), rad(to))
	p.gc.Stroke()
	p.gc.SetDash()
}

// rad turns degrees clockwise from twelve o'clock into the drawing library's
// angle, radians clockwise from three o'clock.
func rad(deg float64) float64 { return (deg - 90) * math.Pi / 180 }

// On gives the point at a radius and an angle clockwise from twelve o'clock.
func On(x, y, r, deg float64) (float64, float64) {
	s, c := math.Sincos(rad(deg))
	return x + r*c, y + r*s
}

// Sector fills and outlines a piece of a ring between two radii; an inner
// radius of zero is a piece of pie.
func (p *Pen) Sector(x, y, inner, outer, from, to float64, fill, line color.NRGBA, w float64, dashes ...float64) {
	path := func() {
		p.gc.NewSubPath()
		p.gc.DrawArc(p.px(x), p.py(y), outer*p.scale, rad(from), rad(to))
		if inner > 0 {
			p.gc.DrawArc(p.px(x), p.py(y), inner*p.scale, rad(to), rad(from))
		} else {
			p.gc.LineTo(p.px(x), p.py(y))
		}
		p.gc.ClosePath()
	}
	if fill.A != 0 {
		p.gc.SetColor(fill)
		path()
		p.gc.Fill()
	}
	if line.A != 0 {
		p.stroke(w, line, false, dashes)
		p.gc.SetLineJoinRound()
		path()
		p.gc.Stroke()
		p.gc.SetDash()
	}
}

// Polygon fills a closed outline.
func (p *Pen) Polygon(c color.NRGBA, pts ...Point) {
	p.gc.SetColor(c)
	p.gc.NewSubPath()
	for i, q := range pts {
		if i == 0 {
			p.gc.MoveTo(p.px(q.X), p.py(q.Y))
		} else {
			p.gc.LineTo(p.px(q.X), p.py(q.Y))
		}
	}
	p.gc.ClosePath()
	p.gc.Fill()
}

// Polyline strokes an open line through points, with round joints.
func (p *Pen) Polyline(w float64, c color.NRGBA, pts ...Point) {
	if len(pts) < 2 {
		return
	}
	p.stroke(w, c, true, nil)
	p.gc.SetLineJoinRound()
	p.gc.NewSubPath()
	p.gc.MoveTo(p.px(pts[0].X), p.py(pts[0].Y))
	for _, q := range pts[1:] {
		p.gc.LineTo(p.px(q.X), p.py(q.Y))
	}
	p.gc.Stroke()
}

// hatch draws slanting lines over what path encloses, which lies within part of
// bounds. Only lines that cross that part are drawn, and only inside it: the
// rasteriser's price grows faster than the lines do.
func (p *Pen) hatch(path func(), bounds, part Rect, c color.NRGBA, step, w float64) {
	p.gc.Push()
	path()
	p.gc.Clip()
	p.stroke(w, c, false, nil)
	foot := bounds.Y + bounds.H
	from, to := part.X+part.Y-bounds.X-foot, part.X+part.W+part.Y+part.H-bounds.X-foot
	for d := -bounds.H; d < bounds.W; d += step {
		if d < from-w || d > to+w {
			continue
		}
		low, high := part.Y+part.H, part.Y
		p.gc.DrawLine(p.px(bounds.X+d+foot-low), p.py(low), p.px(bounds.X+d+foot-high), p.py(high))
	}
	p.gc.Stroke()
	p.gc.ResetClip()
	p.gc.Pop()
}

// HatchSector hatches a piece of a ring.
func (p *Pen) HatchSector(x, y, inner, outer, from, to float64, c color.NRGBA, step, w float64) {
	p.hatch(func() {
		p.gc.NewSubPath()
		p.gc.DrawArc(p.px(x), p.py(y), outer*p.scale, rad(from), rad(to))
		p.gc.DrawArc(p.px(x), p.py(y), inner*p.scale, rad(to), rad(from))
		p.gc.ClosePath()
	}, Rect{x - outer, y - outer, 2 * outer, 2 * outer}, sectorBounds(x, y, inner, outer, from, to).Inset(-w), c, step, w)
}

// sectorBounds is the smallest rectangle that holds a piece of a ring.
func sectorBounds(x, y, inner, outer, from, to float64) Rect {
	x0, y0 := math.Inf(1), math.Inf(1)
	x1, y1 := math.Inf(-1), math.Inf(-1)
	hold := func(r, deg float64) {
		px, py := On(x, y, r, deg)
		x0, y0, x1, y1 = min(x0, px), min(y0, py), max(x1, px), max(y1, py)
	}
	for _, r := range []float64{inner, outer} {
		hold(r, from)
		hold(r, to)
	}
	for quarter := math.Ceil(from/90) * 90; quarter <= to; quarter += 90 {
		hold(outer, quarter)
	}
	return Rect{x0, y0, x1 - x0, y1 - y0}
}
