package chart

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure/planner"
)

// Odds shows how likely each length of prime is to start the engine and how
// likely to flood it, each with its 95 % interval, over the handbook's window.
// The points rise in their prime; those with no trials are only given room. An
// advice that is not given is not drawn.
func Odds(h planner.Handbook, points []planner.Point, a planner.Advice) *Chart {
	return &Chart{
		Title: "How long to prime",
		Alt:   oddsAlt(h, points, a),
		Width: 760, Height: 400,
		draw: func(c draw.Canvas) { drawOdds(c, h, points, a) },
	}
}

func oddsAlt(h planner.Handbook, points []planner.Point, a planner.Advice) string {
	s := fmt.Sprintf("The handbook's window: %s.", h)
	for _, p := range flown(points) {
		s += fmt.Sprintf(" %.3g %s starts in %.0f %%, floods in %.0f %%.", p.Prime, h.Unit, 100*p.Start.Value(), 100*p.Flood.Value())
	}
	if a.Given {
		s += fmt.Sprintf(" The aim is %.3g %s.", a.Point.Prime, h.Unit)
	}
	return s
}

func drawOdds(c draw.Canvas, h planner.Handbook, points []planner.Point, a planner.Advice) {
	if len(points) == 0 {
		c.FillText(aligned(regular(13, ink2), -0.5, -0.5), c.Center(), "Nothing has been flown yet.")
		return
	}
	p := bare()
	p.X.Min, p.X.Max = 0, max(points[len(points)-1].Prime, h.Max)
	p.Y.Min, p.Y.Max = 0, 1
	points = flown(points)
	step := stepFor(p.X.Max, c.Size().X-40, 42)
	if h.Unit == planner.Strokes {
		step = max(1, step) // nobody primes half a stroke
	}
	p.X.Tick.Marker = ticksEvery(step, 0, p.X.Max, unitOf(h.Unit))
	p.Y.Tick.Marker = percents()
	p.Add(plotterFunc(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		drawHandbook(&c, h, x)
		for _, v := range []float64{0.25, 0.5, 0.75, 1} {
			c.StrokeLine2(line(0.7, faint), c.Min.X, y(v), c.Max.X, y(v))
		}
		c.StrokeLine2(line(1, hair), c.Min.X, y(0), c.Max.X, y(0))
		drawShare(&c, points, func(p planner.Point) planner.Share { return p.Flood }, warn, floods, x, y)
		drawShare(&c, points, func(p planner.Point) planner.Share { return p.Start }, ink, starts, x, y)
		nameShares(&c, points, x, y)
		if a.Given {
			drawAim(&c, a.Point, h.Unit, x, y)
		}
	}))
	c.FillText(aligned(regular(11, ink3), 0, -1), vg.Point{X: c.Min.X, Y: c.Max.Y}, "of 100 starts, with 95 % interval")
	c.FillText(aligned(regular(11, ink3), -1, 0), vg.Point{X: c.Max.X, Y: c.Min.Y}, "prime")
	p.Draw(draw.Crop(c, 0, -22, 16, -32))
}

// flown are the points that have trials.
func flown(points []planner.Point) []planner.Point {
	var out []planner.Point
	for _, p := range points {
		if p.Trials > 0 {
			out = append(out, p)
		}
	}
	return out
}

// Whatever colour says, the stroke and the mark say too: starts are a full line
// with discs, floods a dashed one with hollow squares.
func starts(c *draw.Canvas, at vg.Point, clr color.Color) { disc(c, at, 3.4, clr) }

func floods(c *draw.Canvas, at vg.Point, clr color.Color) {
	square(c, at, 4.4, paper)
	hollowSquare(c, at, 4.4, clr)
}

func unitOf(u planner.Unit) string {
	if u == planner.Seconds {
		return " s"
	}
	return ""
}

func percents() plot.ConstantTicks {
	var t plot.ConstantTicks
	for _, v := range []float64{0, 0.25, 0.5, 0.75, 1} {
		t = append(t, plot.Tick{Value: v, Label: fmt.Sprintf("%.0f", 100*v)})
	}
	return t
}

// drawHandbook draws the window that rules.
func drawHandbook(c *draw.Canvas, h planner.Handbook, x func(float64) vg.Length) {
	words := "the handbook primes not at all"
	at := vg.Point{X: (c.Min.X + c.Max.X) / 2, Y: c.Max.Y + 24}
	if h.Primes() {
		from, to, ideal := x(h.Min), x(h.Max), x(h.Ideal)
		if h.Min == h.Max { // so many strokes and no other number
			from, to = from-8, to+8
		}
		window(c, box(from, c.Min.Y, to, c.Max.Y))
		for _, at := range []vg.Length{from, to} {
			c.StrokeLine2(line(1.2, ok, 4, 3), at, c.Min.Y, at, c.Max.Y)
		}
		c.StrokeLine2(line(2, ok), ideal, c.Min.Y, ideal, c.Max.Y)
		words = "handbook's window " + h.String()
		at.X = (from + to) / 2
	}
	s := aligned(bold(12, ok), -0.5, -1)
	half := s.Width(words) / 2
	at.X = min(max(at.X, c.Min.X+half), c.Max.X-half)
	// The axis' name stands at the left of this line.
	at.X = max(at.X, c.Min.X+half+170)
	c.FillText(s, at, words)
}

// drawShare draws a probability against the prime, each point with its interval.
func drawShare(c *draw.Canvas, points []planner.Point, of func(planner.Point) planner.Share, clr color.NRGBA,
	mark func(*draw.Canvas, vg.Point, color.Color), x, y func(float64) vg.Length) {
	var path []vg.Point
	pale := blend(clr, paper, 0.55)
	for _, p := range points {
		s := of(p)
		at := x(p.Prime)
		c.StrokeLine2(line(1.4, pale), at, y(s.Low), at, y(s.High))
		for _, end := range []float64{s.Low, s.High} {
			c.StrokeLine2(line(1.4, pale), at-3, y(end), at+3, y(end))
		}
		path = append(path, vg.Point{X: at, Y: y(s.Value())})
	}
	style := line(2.4, clr)
	if clr == warn {
		style = line(1.8, clr, 6, 4)
	}
	if len(path) > 1 {
		c.StrokeLines(style, path)
	}
	for _, at := range path {
		mark(c, at, clr)
	}
}

// nameShares writes each line's name beside it, where it crosses one half.
func nameShares(c *draw.Canvas, points []planner.Point, x, y func(float64) vg.Length) {
	name := func(words string, clr color.Color, of func(planner.Point) planner.Share) {
		for i := 1; i < len(points); i++ {
			a, b := of(points[i-1]).Value(), of(points[i]).Value()
			if a >= 0.5 || b < 0.5 {
				continue
			}
			part := (0.5 - a) / (b - a)
			at := vg.Point{X: x(points[i-1].Prime + part*(points[i].Prime-points[i-1].Prime)), Y: y(0.5)}
			s := aligned(bold(13, clr), -1, -0.4)
			at.X -= 14
			if at.X-s.Width(words) < c.Min.X {
				s, at.X = aligned(s, 0, -0.4), at.X+28
			}
			labelled(c, s, at, words)
			return
		}
	}
	name("it starts", ink, func(p planner.Point) planner.Share { return p.Start })
	name("it floods", warn, func(p planner.Point) planner.Share { return p.Flood })
}

// drawAim marks what is advised.
func drawAim(c *draw.Canvas, p planner.Point, unit planner.Unit, x, y func(float64) vg.Length) {
	at := vg.Point{X: x(p.Prime), Y: y(p.Start.Value())}
	disc(c, at, 8, paper)
	disc(c, at, 6, now)
	words := fmt.Sprintf("aim: %.3g %s", p.Prime, unit)
	s := aligned(bold(13, now), -0.5, -1)
	labelled(c, s, vg.Point{X: at.X, Y: at.Y - 12}, words)
}
