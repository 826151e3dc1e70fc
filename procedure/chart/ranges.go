package chart

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure/proficiency"
)

// Ranges shows the moving ranges that belong to [Individuals]: by what factor a
// run's time differs from the one before, with the trend taken out. Beyond the
// limit two neighbours differ by more than chance explains.
func Ranges(s *proficiency.StepReport) *Chart {
	return &Chart{
		Title: s.Title + ": from run to run",
		Alt:   rangesAlt(s),
		Width: 560, Height: 150,
		draw: func(c draw.Canvas) { drawRanges(c, s) },
	}
}

func rangesAlt(s *proficiency.StepReport) string {
	if s.Chart == nil {
		return fmt.Sprintf("Factor between neighbouring runs of “%s”.%s", s.Title, tooFew(s))
	}
	return fmt.Sprintf("Factor between neighbouring runs of “%s”: on average %.2f, by chance up to %.2f.",
		s.Title, math.Exp(s.Chart.Limits.MovingRange), math.Exp(s.Chart.Limits.UpperRange()))
}

func drawRanges(c draw.Canvas, s *proficiency.StepReport) {
	if s.Chart == nil {
		c.FillText(aligned(regular(13, ink2), -0.5, -0.5), c.Center(), "Not enough runs for moving ranges yet.")
		return
	}
	ch := s.Chart
	limit := ch.Limits.UpperRange()
	_, most := extent(ch.Ranges)
	p := bare()
	p.Y.Min, p.Y.Max = 0, max(most, limit)*1.1+1e-6
	p.Y.Tick.Marker = factorTicks(p.Y.Max)
	p.X.Min, p.X.Max = float64(ch.Runs[0])-.5, float64(ch.Runs[len(ch.Runs)-1])+.5
	p.X.Tick.Marker = ticksEvery(max(1, stepFor(p.X.Max-p.X.Min, c.Size().X-40, 34)), p.X.Min, p.X.Max, "")
	p.Add(plotterFunc(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		fillBox(&c, box(c.Min.X, y(0), c.Max.X, y(limit)), 0, okTint)
		c.StrokeLine2(line(1.2, ok, 4, 3), c.Min.X, y(limit), c.Max.X, y(limit))
		c.StrokeLine2(line(1.4, ok), c.Min.X, y(ch.Limits.MovingRange), c.Max.X, y(ch.Limits.MovingRange))
		var trail []vg.Point
		for i, v := range ch.Ranges {
			trail = append(trail, vg.Point{X: x(float64(ch.Runs[i+1])), Y: y(v)})
		}
		c.StrokeLines(line(1, ink3), trail)
		for i, at := range trail {
			if ch.Ranges[i] > limit {
				square(&c, at, 5, warn)
				continue
			}
			disc(&c, at, 2.2, ink)
		}
	}))
	axisNames(c, "factor to the run before", "run")
	p.Draw(draw.Crop(c, 0, -8, 14, -20))
}

// factorTicks are round factors on a scale of their logarithms.
func factorTicks(top float64) plot.ConstantTicks {
	factors := []float64{1, 1.5, 2, 3, 5, 10, 20}
	if top < .5 {
		factors = []float64{1, 1.25, 1.5}
	}
	var out plot.ConstantTicks
	for _, f := range factors {
		if v := math.Log(f); v <= top {
			out = append(out, plot.Tick{Value: v, Label: fmt.Sprintf("×%g", f)})
		}
	}
	return out
}
