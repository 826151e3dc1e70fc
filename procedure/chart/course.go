package chart

import (
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure/proficiency"
)

// Course shows each run as a whole: the share of its steps that were as they
// should be, with the mean of the ten up to it; a ring for a run with prompts, a
// square for one with an unsafe act, a triangle for one that did not start.
func Course(r *proficiency.Report) *Chart {
	return &Chart{
		Title: "Each run as a whole", Alt: courseAlt(r), Width: 640, Height: 230,
		draw: func(c draw.Canvas) { drawCourse(c, r.Each) },
	}
}

func courseAlt(r *proficiency.Report) string {
	word, because := r.Working()
	return fmt.Sprintf("Share of steps as they should be in each of %d runs. %s: %s", len(r.Each), word, because)
}

// shown is how many runs are drawn at most: the latest.
const shown = 100

func drawCourse(c draw.Canvas, runs []proficiency.Flown) {
	if len(runs) == 0 {
		c.FillText(aligned(regular(13, ink2), -0.5, -0.5), c.Center(), "No runs yet.")
		return
	}
	from := max(0, len(runs)-shown)
	p := bare()
	least := 1.0
	for _, f := range runs[from:] {
		least = min(least, f.Steps.Value())
	}
	p.Y.Min, p.Y.Max = math.Floor(least*5)/5, 1.02
	for v := p.Y.Min; v < 1.001; v += .2 {
		p.Y.Tick.Marker = append(asTicks(p.Y.Tick.Marker), plot.Tick{Value: v, Label: strconv.Itoa(int(math.Round(100*v))) + " %"})
	}
	p.X.Min, p.X.Max = float64(runs[from].Number)-.5, float64(runs[len(runs)-1].Number)+.5
	p.X.Tick.Marker = ticksEvery(max(1, stepFor(p.X.Max-p.X.Min, c.Size().X-60, 34)), p.X.Min, p.X.Max, "")
	p.Add(plotterFunc(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
			c.StrokeLine2(line(1, faint), c.Min.X, y(t.Value), c.Max.X, y(t.Value))
		}
		var mean []vg.Point
		for i := from; i < len(runs); i++ {
			if v, ok := meanUpTo(runs, i); ok {
				mean = append(mean, vg.Point{X: x(float64(runs[i].Number)), Y: y(v)})
			}
		}
		c.StrokeLines(line(2.4, ok), mean)
		for _, f := range runs[from:] {
			if f.Steps.N > 0 {
				drawFlown(&c, vg.Point{X: x(float64(f.Number)), Y: y(f.Steps.Value())}, f)
			}
		}
	}))
	axisNames(c, "steps as they should be", "run")
	p.Draw(draw.Crop(c, 0, -8, 14, -20))
	courseKey(c, runs[from:])
}

func asTicks(t plot.Ticker) plot.ConstantTicks {
	ticks, _ := t.(plot.ConstantTicks)
	return ticks
}

// meanUpTo is the mean share of ten runs, a given one the last; false before the
// fifth.
func meanUpTo(runs []proficiency.Flown, i int) (float64, bool) {
	const least, most = 5, 10
	from := max(0, i+1-most)
	if i+1-from < least {
		return 0, false
	}
	sum, n := 0.0, 0.0
	for _, f := range runs[from : i+1] {
		if f.Steps.N > 0 {
			sum, n = sum+f.Steps.Value(), n+1
		}
	}
	return sum / n, n > 0
}

func drawFlown(c *draw.Canvas, at vg.Point, f proficiency.Flown) {
	switch {
	case f.Unsafe:
		square(c, at, 5, warn)
	case !f.Started:
		triangle(c, at, 5, caution)
	case f.Prompted:
		disc(c, at, 4, ink)
		disc(c, at, 2.6, paper)
	default:
		disc(c, at, 3.2, ink)
	}
}

// courseKey explains the signs that are there, at the foot on the left.
func courseKey(c draw.Canvas, runs []proficiency.Flown) {
	s := aligned(regular(11, ink3), 0, -0.38)
	at := vg.Point{X: c.Min.X + 6, Y: c.Min.Y + 5}
	entry := func(words string, show func()) {
		show()
		c.FillText(s, vg.Point{X: at.X + 10, Y: at.Y}, words)
		at.X += 26 + s.Width(words)
	}
	any := func(is func(proficiency.Flown) bool) bool {
		for _, f := range runs {
			if is(f) {
				return true
			}
		}
		return false
	}
	if any(func(f proficiency.Flown) bool { return f.Prompted }) {
		entry("with prompts", func() { drawFlown(&c, at, proficiency.Flown{Started: true, Prompted: true}) })
	}
	if any(func(f proficiency.Flown) bool { return !f.Started }) {
		entry("not started", func() { drawFlown(&c, at, proficiency.Flown{}) })
	}
	if any(func(f proficiency.Flown) bool { return f.Unsafe }) {
		entry("unsafe", func() { drawFlown(&c, at, proficiency.Flown{Unsafe: true}) })
	}
	if len(runs) >= 5 {
		at.X += 12
		entry("mean of ten", func() { c.StrokeLine2(line(2.4, ok), at.X-14, at.Y, at.X+6, at.Y) })
	}
}
