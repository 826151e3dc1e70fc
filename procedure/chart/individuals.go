package chart

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure"
	"kickover/procedure/proficiency"
)

// Individuals shows one step's time in every run, with the limits of what chance
// explains and the runs that lie outside marked. With too few runs it shows the
// times and says how many are missing.
func Individuals(s *proficiency.StepReport) *Chart {
	return &Chart{
		Title: s.Title + ": every run",
		Alt:   individualsAlt(s),
		Width: 560, Height: 260,
		draw: func(c draw.Canvas) { drawIndividuals(c, s) },
	}
}

func individualsAlt(s *proficiency.StepReport) string {
	words := fmt.Sprintf("Time of “%s” in %d runs.", s.Title, len(s.Seconds))
	if s.Chart == nil {
		return words + tooFew(s)
	}
	for _, m := range s.Chart.Signals {
		words += fmt.Sprintf(" Run %d is marked: %s.", s.Chart.Runs[m.Index], m.Rule)
	}
	return words
}

// tooFew says how many runs are missing for limits.
func tooFew(s *proficiency.StepReport) string {
	if n := len(s.Seconds); n < proficiency.FewestForLimits {
		return fmt.Sprintf(" Not enough runs for limits: %d of %d.", n, proficiency.FewestForLimits)
	}
	return ""
}

// timePlot is a plot of seconds, on a scale on which equal ratios are equally far
// apart, against the number of the run.
func timePlot(c draw.Canvas, low, high float64, firstRun, lastRun int) *plot.Plot {
	p := bare()
	p.Y.Scale = plot.LogScale{}
	p.Y.Min, p.Y.Max = low/1.12, high*1.12
	p.Y.Tick.Marker = secondsTicks(p.Y.Min, p.Y.Max)
	p.X.Min, p.X.Max = float64(firstRun)-.5, float64(lastRun)+.5
	step := math.Max(1, stepFor(p.X.Max-p.X.Min, c.Size().X-40, 34))
	p.X.Tick.Marker = ticksEvery(step, p.X.Min, p.X.Max, "")
	return p
}

// secondsTicks are round numbers of seconds on a scale of ratios.
func secondsTicks(low, high float64) plot.ConstantTicks {
	candidates := []float64{1, 2, 5}
	if high/low < 12 {
		candidates = []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8}
	}
	if high/low < 2.2 {
		candidates = []float64{1, 1.2, 1.4, 1.6, 1.8, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 7, 8, 9}
	}
	var out plot.ConstantTicks
	for decade := 0.01; decade <= high; decade *= 10 {
		for _, v := range candidates {
			if v *= decade; v >= low && v <= high {
				out = append(out, plot.Tick{Value: v, Label: strconv.FormatFloat(v, 'g', 3, 64)})
			}
		}
	}
	return out
}

func axisNames(c draw.Canvas, y, x string) {
	c.FillText(aligned(regular(11, ink3), 0, -1), vg.Point{X: c.Min.X, Y: c.Max.Y}, y)
	c.FillText(aligned(regular(11, ink3), -1, 0), vg.Point{X: c.Max.X, Y: c.Min.Y}, x)
}

func noRuns(c draw.Canvas) {
	c.FillText(aligned(regular(13, ink2), -0.5, -0.5), c.Center(), "No timed runs yet.")
}

func drawIndividuals(c draw.Canvas, s *proficiency.StepReport) {
	n := len(s.Seconds)
	if n == 0 {
		noRuns(c)
		return
	}
	seconds, runs := s.Seconds, s.Runs
	if s.Chart != nil {
		seconds, runs = s.Chart.Seconds, s.Chart.Runs
	}
	low, high := extent(seconds)
	if s.Chart != nil {
		for _, run := range runs {
			l, _, u := s.Chart.At(run)
			low, high = min(low, l), max(high, u)
		}
	}
	high = max(high, s.Window.Max.Seconds())
	if s.Window.Min > 0 {
		low = min(low, s.Window.Min.Seconds())
	}
	p := timePlot(c, low, high, runs[0], runs[len(runs)-1])
	p.Add(plotterFunc(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		if s.Chart != nil {
			drawLimits(&c, s.Chart, x, y)
		}
		drawWindow(&c, s.Window, y)
		var trail []vg.Point
		for i, v := range seconds {
			trail = append(trail, vg.Point{X: x(float64(runs[i])), Y: y(v)})
		}
		c.StrokeLines(line(1, ink3), trail)
		for _, at := range trail {
			disc(&c, at, 2.6, ink)
		}
		if s.Chart != nil {
			markSignals(&c, s.Chart, x, y)
		} else {
			c.FillText(aligned(medium(12, ink2), -1, -1), vg.Point{X: c.Max.X - 4, Y: c.Max.Y}, tooFew(s))
		}
	}))
	axisNames(c, "time, s", "run")
	if s.Chart != nil {
		c.FillText(aligned(medium(11, ink2), -1, -1), vg.Point{X: c.Max.X - 4, Y: c.Max.Y}, limitsLegend)
	}
	right := vg.Length(8)
	if !s.Window.Zero() {
		right = windowRoom
	}
	p.Draw(draw.Crop(c, 0, -right, 14, -20))
}

// limitsLegend says what somebody who has never seen such a chart has to know.
const limitsLegend = "band: what chance explains; square: a run outside it; diamond: eight on one side"

// windowRoom is what the names of a window's edges need beside a drawing.
const windowRoom = 82

func extent(values []float64) (low, high float64) {
	low, high = math.Inf(1), 0
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	return low, high
}

// drawLimits draws the band that chance explains and its middle.
func drawLimits(c *draw.Canvas, ch *proficiency.Individuals, x, y func(float64) vg.Length) {
	var lower, centre, upper []vg.Point
	for run := ch.Runs[0]; run <= ch.Runs[len(ch.Runs)-1]; run++ {
		l, m, u := ch.At(run)
		at := x(float64(run))
		lower, centre, upper = append(lower, vg.Point{X: at, Y: y(l)}), append(centre, vg.Point{X: at, Y: y(m)}), append(upper, vg.Point{X: at, Y: y(u)})
	}
	band := append([]vg.Point(nil), upper...)
	for i := range lower {
		band = append(band, lower[len(lower)-1-i])
	}
	c.FillPolygon(okTint, band)
	c.StrokeLines(line(1.2, ok, 4, 3), lower, upper)
	c.StrokeLines(line(1.4, ok), centre)
}

// drawWindow draws the shortest and the longest time that the step may take.
func drawWindow(c *draw.Canvas, w procedure.Window, y func(float64) vg.Length) {
	edge := func(d time.Duration, words string) {
		at := y(d.Seconds())
		c.StrokeLine2(line(1.2, caution, 1.5, 2.5), c.Min.X, at, c.Max.X, at)
		c.FillText(aligned(medium(11, caution), 0, -0.38), vg.Point{X: c.Max.X + 5, Y: at}, words+" "+secs(d.Seconds()))
	}
	if w.Max > 0 {
		edge(w.Max, "longest")
	}
	if w.Min > 0 {
		edge(w.Min, "shortest")
	}
}

// markSignals rings the runs that a rule marks, and names those beyond the limits.
func markSignals(c *draw.Canvas, ch *proficiency.Individuals, x, y func(float64) vg.Length) {
	for _, s := range ch.Signals {
		at := vg.Point{X: x(float64(ch.Runs[s.Index])), Y: y(ch.Seconds[s.Index])}
		if s.Rule == proficiency.OnOneSide {
			diamond(c, at, 5.5, caution)
			continue
		}
		square(c, at, 5.5, warn)
		place, v := vg.Point{X: at.X, Y: at.Y + 8}, 0.0
		if !s.Above {
			place.Y, v = at.Y-8, -1
		}
		c.FillText(aligned(bold(11, warn), -0.5, v), place, strconv.Itoa(ch.Runs[s.Index]))
	}
}
