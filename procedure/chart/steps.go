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

// rows is a plot with one row a step: its name at the left, a scale below.
type rows struct {
	titles []string
	max    float64
	ticks  plot.ConstantTicks
	right  vg.Length // room for words at the right
	row    func(c *draw.Canvas, i int, at vg.Length, x func(float64) vg.Length)
}

func (r rows) draw(c draw.Canvas) {
	title := regular(13, ink2)
	left := vg.Length(60)
	for _, t := range r.titles {
		left = max(left, title.Width(t))
	}
	left = min(left+18, c.Size().X*0.42)
	p := bare()
	p.X.Min, p.X.Max = 0, r.max
	p.Y.Min, p.Y.Max = 0, float64(max(len(r.titles), 1))
	p.HideY()
	p.X.Tick.Marker = r.ticks
	p.Add(plotterFunc(func(dc draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&dc)
		for _, t := range r.ticks {
			dc.StrokeLine2(line(1, faint), x(t.Value), dc.Min.Y, x(t.Value), dc.Max.Y)
		}
		for i, t := range r.titles {
			at := y(float64(len(r.titles)) - float64(i) - 0.5)
			dc.FillText(aligned(title, 0, -0.4), vg.Point{X: c.Min.X, Y: at}, fitted(title, t, left-14))
			r.row(&dc, i, at, x)
		}
	}))
	p.Draw(draw.Crop(c, left, -r.right, 16, 0))
}

// Share shows how often each step was as it should be: a disc for the share of
// all runs with its 95 % interval, a ring for the last ten.
func Share(r *proficiency.Report) *Chart {
	c := rows{max: 1, right: 78}
	for v := range 5 {
		c.ticks = append(c.ticks, plot.Tick{Value: float64(v) / 4, Label: strconv.Itoa(25*v) + " %"})
	}
	alt := "Share of runs in which each step was as it should be."
	for _, s := range r.Steps {
		c.titles = append(c.titles, s.Title)
		alt += " " + s.Title + ": " + s.Inside.Words() + "."
	}
	c.row = func(dc *draw.Canvas, i int, at vg.Length, x func(float64) vg.Length) {
		s := r.Steps[i]
		if s.Inside.N == 0 {
			return
		}
		interval := box(x(s.Inside.Low), at-5, x(s.Inside.High), at+5)
		fillBox(dc, interval, 3, okTint)
		strokeBox(dc, interval, 3, line(1, ok))
		if s.Recent.N > 0 && s.Inside.N > s.Recent.N {
			ring := vg.Point{X: x(s.Recent.Value()), Y: at}
			disc(dc, ring, 5.2, ink)
			disc(dc, ring, 3.6, paper)
		}
		disc(dc, vg.Point{X: x(s.Inside.Value()), Y: at}, 3.4, ink)
		dc.FillText(aligned(medium(12, ink), 0, -0.4), vg.Point{X: dc.Max.X + 14, Y: at}, fmt.Sprintf("%d of %d", s.Inside.Of, s.Inside.N))
	}
	return &Chart{
		Title: "How often each step is as it should be", Alt: alt, Width: 640, Height: float64(len(r.Steps))*rowHeight + 54,
		draw: func(dc draw.Canvas) {
			c.draw(dc)
			shareKey(dc)
		},
	}
}

func shareKey(c draw.Canvas) {
	s := aligned(regular(11, ink3), 0, -0.38)
	at := vg.Point{X: c.Min.X + 6, Y: c.Min.Y + 5}
	entry := func(words string, show func()) {
		show()
		c.FillText(s, vg.Point{X: at.X + 10, Y: at.Y}, words)
		at.X += 30 + s.Width(words)
	}
	entry("all runs", func() { disc(&c, at, 3.4, ink) })
	entry("last ten", func() {
		disc(&c, at, 5.2, ink)
		disc(&c, at, 3.6, paper)
	})
	at.X += 14
	entry("95 % interval of all", func() {
		r := box(at.X-14, at.Y-4, at.X+4, at.Y+4)
		fillBox(&c, r, 3, okTint)
		strokeBox(&c, r, 3, line(1, ok))
	})
}

// Hesitation shows where the time of each step goes: hatched before the first
// act, solid from there until it was done. Medians, in seconds.
func Hesitation(r *proficiency.Report) *Chart {
	var steps []proficiency.StepReport
	most := 1.0
	alt := "Median time before acting and of acting, by step."
	c := rows{right: 96}
	for _, s := range r.Steps {
		if s.Hesitation.N == 0 {
			continue
		}
		steps = append(steps, s)
		c.titles = append(c.titles, s.Title)
		most = max(most, s.Hesitation.Median+s.Acting.Median)
		alt += fmt.Sprintf(" %s: %s before, %s acting.", s.Title, secs(s.Hesitation.Median), secs(s.Acting.Median))
	}
	c.max = math.Ceil(most)
	c.ticks = ticksEvery(stepFor(c.max, 300, 48), 0, c.max, " s")
	c.row = func(dc *draw.Canvas, i int, at vg.Length, x func(float64) vg.Length) {
		before, acting := steps[i].Hesitation.Median, steps[i].Acting.Median
		waiting := box(x(0), at-6, x(before), at+6)
		fillBox(dc, waiting, 0, paper)
		hatch(dc, waiting, 5, line(1.1, caution))
		strokeBox(dc, waiting, 0, line(1, caution))
		fillBox(dc, box(x(before), at-6, max(x(before)+1.5, x(before+acting)), at+6), 0, ink)
		dc.FillText(aligned(medium(12, ink), 0, -0.4), vg.Point{X: dc.Max.X + 14, Y: at}, fmt.Sprintf("%.1f + %s", before, secs(acting)))
	}
	return &Chart{
		Title: "Where the time goes", Alt: alt, Width: 640, Height: float64(len(steps))*rowHeight + 54,
		draw: func(dc draw.Canvas) {
			if len(steps) == 0 {
				noRuns(dc)
				return
			}
			c.draw(dc)
			s := aligned(regular(11, ink3), 0, -0.38)
			y := dc.Min.Y + 5
			waiting := box(dc.Min.X, y-4, dc.Min.X+22, y+4)
			hatch(&dc, waiting, 5, line(1.1, caution))
			strokeBox(&dc, waiting, 0, line(1, caution))
			dc.FillText(s, vg.Point{X: dc.Min.X + 28, Y: y}, "before acting")
			fillBox(&dc, box(dc.Min.X+120, y-4, dc.Min.X+142, y+4), 0, ink)
			dc.FillText(s, vg.Point{X: dc.Min.X + 148, Y: y}, "acting")
		},
	}
}
