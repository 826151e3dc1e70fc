package chart

import (
	"math"
	"sort"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure/debrief"
)

// fold is an axis of time that leaves out long waits, so that a rest of a minute
// does not squeeze the seconds that matter.
type fold struct {
	spans []span
	gap   float64 // how wide a cut is drawn, in seconds of the axis
}

type span struct{ from, to float64 } // s since the run began

// Waits longer than longWait are cut, but for margin seconds at their ends.
const (
	longWait = 20.0
	margin   = 2.0
)

// foldAround keeps what lies around stretches in which something happened.
func foldAround(busy []span) fold {
	sort.Slice(busy, func(i, j int) bool { return busy[i].from < busy[j].from })
	var f fold
	for _, b := range busy {
		b.from, b.to = max(0, b.from-margin), b.to+margin
		if n := len(f.spans); n > 0 && b.from-f.spans[n-1].to < longWait-2*margin {
			f.spans[n-1].to = max(f.spans[n-1].to, b.to)
			continue
		}
		f.spans = append(f.spans, b)
	}
	total := 0.0
	for _, s := range f.spans {
		total += s.to - s.from
	}
	f.gap = total / 20
	return f
}

// at is where a moment lies on the axis; one that was cut lies at the cut's edge.
func (f fold) at(t float64) float64 {
	x := 0.0
	for i, s := range f.spans {
		if t <= s.to || i == len(f.spans)-1 {
			return x + min(max(t-s.from, 0), s.to-s.from)
		}
		x += s.to - s.from + f.gap
	}
	return x
}

func (f fold) of(d time.Duration) float64 { return f.at(d.Seconds()) }

func (f fold) length() float64 {
	if len(f.spans) == 0 {
		return 1
	}
	return f.at(f.spans[len(f.spans)-1].to)
}

func (f fold) ticks(width vg.Length) plot.ConstantTicks {
	step := stepFor(f.length(), width, 52)
	var out plot.ConstantTicks
	for _, s := range f.spans {
		for _, t := range ticksEvery(step, s.from, s.to, " s") {
			t.Value = f.at(t.Value)
			out = append(out, t)
		}
	}
	return out
}

// drawCuts marks where the axis was cut and how much was left out.
func (f fold) drawCuts(c *draw.Canvas, x func(float64) vg.Length) {
	for i := 1; i < len(f.spans); i++ {
		left, right := x(f.at(f.spans[i-1].to)), x(f.at(f.spans[i].from))
		fillBox(c, box(left, c.Min.Y-1, right, c.Max.Y), 0, paper)
		for _, at := range []vg.Length{left, right} {
			var zigzag []vg.Point
			for y, k := c.Min.Y, 0; y <= c.Max.Y; y, k = y+6, k+1 {
				zigzag = append(zigzag, vg.Point{X: at + vg.Length(k%2*4-2), Y: y})
			}
			c.StrokeLines(line(1, hair), zigzag)
		}
		middle := vg.Point{X: (left + right) / 2, Y: (c.Min.Y + c.Max.Y) / 2}
		s := aligned(regular(11, ink3), -0.5, -0.5)
		s.Rotation = math.Pi / 2
		c.FillText(s, middle, secs(f.spans[i].from-f.spans[i-1].to)+" left out")
	}
}

// curve gives the lines of a trace on a folded axis, broken where it is cut or
// where there is no value. A value that was not recorded again had not changed,
// so it is held until shortly before the next.
func (f fold) curve(t debrief.Trace, end time.Duration, x, y func(float64) vg.Length) [][]vg.Point {
	const sampling = 100 * time.Millisecond
	var lines [][]vg.Point
	for _, s := range f.spans {
		from, to := time.Duration(s.from*1e9), min(time.Duration(s.to*1e9), end)
		var now []vg.Point
		add := func(at time.Duration, v float64) {
			if math.IsNaN(v) {
				lines = append(lines, now)
				now = nil
				return
			}
			now = append(now, vg.Point{X: x(f.of(at)), Y: y(v)})
		}
		add(from, t.At(from))
		before := from
		for _, p := range t {
			if p.At <= from || p.At > to {
				continue
			}
			if p.At-before > sampling {
				add(p.At-sampling, t.At(p.At-sampling))
			}
			add(p.At, p.Value)
			before = p.At
		}
		add(to, t.At(to))
		lines = append(lines, now)
	}
	return lines
}
