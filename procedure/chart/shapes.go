package chart

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// plotterFunc lets a function be part of a plot.
type plotterFunc func(c draw.Canvas, p *plot.Plot)

func (f plotterFunc) Plot(c draw.Canvas, p *plot.Plot) { f(c, p) }

func box(x0, y0, x1, y1 vg.Length) vg.Rectangle {
	return vg.Rectangle{
		Min: vg.Point{X: min(x0, x1), Y: min(y0, y1)},
		Max: vg.Point{X: max(x0, x1), Y: max(y0, y1)},
	}
}

// roundPath is a rectangle with rounded corners.
func roundPath(r vg.Rectangle, radius vg.Length) vg.Path {
	radius = min(radius, r.Size().X/2, r.Size().Y/2)
	const k = 0.4477 // of the radius: a cubic's handles for a quarter circle
	h := radius * k
	var p vg.Path
	p.Move(vg.Point{X: r.Min.X + radius, Y: r.Min.Y})
	p.Line(vg.Point{X: r.Max.X - radius, Y: r.Min.Y})
	p.CubeTo(vg.Point{X: r.Max.X - h, Y: r.Min.Y}, vg.Point{X: r.Max.X, Y: r.Min.Y + h}, vg.Point{X: r.Max.X, Y: r.Min.Y + radius})
	p.Line(vg.Point{X: r.Max.X, Y: r.Max.Y - radius})
	p.CubeTo(vg.Point{X: r.Max.X, Y: r.Max.Y - h}, vg.Point{X: r.Max.X - h, Y: r.Max.Y}, vg.Point{X: r.Max.X - radius, Y: r.Max.Y})
	p.Line(vg.Point{X: r.Min.X + radius, Y: r.Max.Y})
	p.CubeTo(vg.Point{X: r.Min.X + h, Y: r.Max.Y}, vg.Point{X: r.Min.X, Y: r.Max.Y - h}, vg.Point{X: r.Min.X, Y: r.Max.Y - radius})
	p.Line(vg.Point{X: r.Min.X, Y: r.Min.Y + radius})
	p.CubeTo(vg.Point{X: r.Min.X, Y: r.Min.Y + h}, vg.Point{X: r.Min.X + h, Y: r.Min.Y}, vg.Point{X: r.Min.X + radius, Y: r.Min.Y})
	p.Close()
	return p
}

func fillBox(c *draw.Canvas, r vg.Rectangle, radius vg.Length, clr color.Color) {
	c.SetColor(clr)
	c.Fill(roundPath(r, radius))
}

func strokeBox(c *draw.Canvas, r vg.Rectangle, radius vg.Length, s draw.LineStyle) {
	c.SetLineStyle(s)
	c.Stroke(roundPath(r, radius))
}

// hatch draws slanted lines across a rectangle, so far apart.
func hatch(c *draw.Canvas, r vg.Rectangle, apart vg.Length, s draw.LineStyle) {
	w, h := r.Size().X, r.Size().Y
	// Lines stand on a grid of the whole canvas, so that neighbours line up.
	first := vg.Length(math.Ceil(float64((r.Min.X-r.Min.Y-h)/apart))) * apart
	for at := first; at < r.Min.X-r.Min.Y+w; at += apart {
		// The line x - y = at, cut to the rectangle.
		x0, x1 := max(r.Min.X, at+r.Min.Y), min(r.Max.X, at+r.Max.Y)
		if x1 > x0 {
			c.StrokeLine2(s, x0, x0-at, x1, x1-at)
		}
	}
}

// window draws a stretch that is wanted: a tint, a hatch and its edges.
func window(c *draw.Canvas, r vg.Rectangle) {
	fillBox(c, r, 0, okTint)
	hatch(c, r, 7, line(0.7, okHatch))
}

// labelled writes text on a backing that keeps lines from crossing it.
func labelled(c *draw.Canvas, s draw.TextStyle, at vg.Point, txt string) vg.Rectangle {
	r := s.Rectangle(txt)
	r.Min, r.Max = r.Min.Add(at), r.Max.Add(at)
	back := vg.Rectangle{Min: vg.Point{X: r.Min.X - 3, Y: r.Min.Y}, Max: vg.Point{X: r.Max.X + 3, Y: r.Max.Y}}
	fillBox(c, back, 3, paper)
	c.FillText(s, at, txt)
	return r
}

// bar draws a stretch of time with its name in it, or above it when it is too
// short for its name.
func bar(c *draw.Canvas, r vg.Rectangle, clr color.Color, name string) {
	if r.Size().X < 3 {
		r.Max.X = r.Min.X + 3
	}
	fillBox(c, r, 3, clr)
	s := aligned(bold(11, paper), -0.5, -0.38)
	middle := (r.Min.Y + r.Max.Y) / 2
	if s.Width(name)+8 <= r.Size().X {
		c.FillText(s, vg.Point{X: (r.Min.X + r.Max.X) / 2, Y: middle}, name)
		return
	}
	s = aligned(bold(11, clr), 0, -0.38)
	at := vg.Point{X: r.Max.X + 5, Y: middle}
	if at.X+s.Width(name) > c.Max.X {
		s = aligned(s, -1, -0.38)
		at.X = r.Min.X - 5
	}
	c.FillText(s, at, name)
}

// tickMark, triangle, square and diamond are the shapes that stand for verdicts,
// each within half a size of a point.
func tickMark(c *draw.Canvas, at vg.Point, half vg.Length, clr color.Color) {
	s := line(2, clr)
	c.StrokeLines(s, []vg.Point{
		{X: at.X - half, Y: at.Y}, {X: at.X - half*0.25, Y: at.Y - half*0.75}, {X: at.X + half, Y: at.Y + half*0.75},
	})
}

func triangle(c *draw.Canvas, at vg.Point, half vg.Length, clr color.Color) {
	c.FillPolygon(clr, []vg.Point{
		{X: at.X - half, Y: at.Y - half*0.85}, {X: at.X + half, Y: at.Y - half*0.85}, {X: at.X, Y: at.Y + half},
	})
}

func square(c *draw.Canvas, at vg.Point, half vg.Length, clr color.Color) {
	half *= 0.9
	fillBox(c, box(at.X-half, at.Y-half, at.X+half, at.Y+half), 1, clr)
}

func hollowSquare(c *draw.Canvas, at vg.Point, half vg.Length, clr color.Color) {
	half *= 0.8
	strokeBox(c, box(at.X-half, at.Y-half, at.X+half, at.Y+half), 1, line(1.8, clr))
}

func diamond(c *draw.Canvas, at vg.Point, half vg.Length, clr color.Color) {
	half *= 1.1
	c.FillPolygon(clr, []vg.Point{
		{X: at.X - half, Y: at.Y}, {X: at.X, Y: at.Y - half}, {X: at.X + half, Y: at.Y}, {X: at.X, Y: at.Y + half},
	})
}

func disc(c *draw.Canvas, at vg.Point, radius vg.Length, clr color.Color) {
	fillBox(c, box(at.X-radius, at.Y-radius, at.X+radius, at.Y+radius), radius, clr)
}
