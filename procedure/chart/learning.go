package chart

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure/proficiency"
)

const (
	lookAhead = 10  // runs
	eightIn10 = 0.8 // of single runs
)

// Learning shows how a step's time falls with practice: the runs, the fitted
// curve with its 95 % band, and where eight of the next ten runs should fall.
func Learning(s *proficiency.StepReport) *Chart {
	return &Chart{
		Title: s.Title + ": with practice",
		Alt:   learningAlt(s),
		Width: 560, Height: 260,
		draw: func(c draw.Canvas) { drawLearning(c, s) },
	}
}

func learningAlt(s *proficiency.StepReport) string {
	l := s.Learning
	if l == nil {
		return fmt.Sprintf("Time of “%s” in %d runs; no learning curve, which needs %d.", s.Title, len(s.Seconds), proficiency.FewestForCurve)
	}
	low, _, high := l.Next(l.Runs+lookAhead/2, eightIn10)
	words := fmt.Sprintf("Eight of the next ten runs should take %.1f to %s.", low, secs(high))
	_, now, _ := l.At(l.Runs)
	return fmt.Sprintf("“%s” takes about %s now. ", s.Title, secs(now)) + words
}

func drawLearning(c draw.Canvas, s *proficiency.StepReport) {
	n := len(s.Seconds)
	if n == 0 {
		noRuns(c)
		return
	}
	last := s.Runs[n-1]
	low, high := extent(s.Seconds)
	end := last
	if s.Learning != nil {
		end = last + lookAhead
		for run := last + 1; run <= end; run++ {
			l, _, h := s.Learning.Next(run, eightIn10)
			low, high = min(low, l), max(high, h)
		}
	}
	p := timePlot(c, low, high, s.Runs[0], end)
	p.Add(plotterFunc(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		if s.Learning == nil {
			few := fmt.Sprintf("No curve: it needs %d runs.", proficiency.FewestForCurve)
			c.FillText(aligned(medium(12, ink2), -1, -1), vg.Point{X: c.Max.X - 4, Y: c.Max.Y}, few)
		} else {
			drawCurve(&c, s, last, end, x, y)
		}
		for i, v := range s.Seconds {
			disc(&c, vg.Point{X: x(float64(s.Runs[i])), Y: y(v)}, 2.6, ink)
		}
	}))
	axisNames(c, "time, s", "run")
	p.Draw(draw.Crop(c, 0, -8, 14, -20))
}

func drawCurve(c *draw.Canvas, s *proficiency.StepReport, last, end int, x, y func(float64) vg.Length) {
	var middle, past []vg.Point
	var upper, lower []vg.Point
	for run := s.Runs[0]; run <= end; run++ {
		l, m, h := s.Learning.At(run)
		at := x(float64(run))
		upper, lower = append(upper, vg.Point{X: at, Y: y(h)}), append(lower, vg.Point{X: at, Y: y(l)})
		if run <= last {
			middle = append(middle, vg.Point{X: at, Y: y(m)})
		}
		if run >= last {
			past = append(past, vg.Point{X: at, Y: y(m)})
		}
	}
	for i := range lower {
		upper = append(upper, lower[len(lower)-1-i])
	}
	c.FillPolygon(faint, upper)
	ahead(c, s.Learning, last, end, x, y)
	c.StrokeLines(line(2.2, ink), middle)
	c.StrokeLines(line(2.2, ink, 4, 3), past)
}

// ahead draws where eight of the next ten runs should fall.
func ahead(c *draw.Canvas, l *proficiency.Learning, last, end int, x, y func(float64) vg.Length) {
	low, _, high := l.Next((last+end+1)/2, eightIn10)
	r := box(x(float64(last)+.5), y(low), x(float64(end)+.5), y(high))
	window(c, r)
	strokeBox(c, r, 0, line(1.2, ok, 4, 3))
	s := bold(11, ok)
	place := vg.Point{X: r.Max.X, Y: min(r.Max.Y+16, c.Max.Y)}
	words := fmt.Sprintf("8 of the next 10: %.1f to %s", low, secs(high))
	labelled(c, aligned(s, -1, -1), place, words)
}
