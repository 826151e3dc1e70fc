package chart

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure/debrief"
)

// Vapour shows what was in the cylinders: fuel vapour in the charge over the
// time of the run, against the band that burns, with each prime and each crank.
func Vapour(r *debrief.Report) *Chart {
	return &Chart{
		Title: "What was in the cylinders",
		Alt:   vapourAlt(r),
		Width: 720, Height: 300,
		draw: func(c draw.Canvas) { drawVapour(c, r) },
	}
}

func vapourAlt(r *debrief.Report) string {
	s := fmt.Sprintf("Fuel vapour in the charge over time; %.1f to %.1f %% by volume burns.", r.Band.Lean, r.Band.Rich)
	for i, a := range r.Attempts {
		s += fmt.Sprintf(" Attempt %d: %s of prime", i+1, secs(a.Prime.Seconds()))
		if !math.IsNaN(a.Vapour) {
			s += fmt.Sprintf(", %.1f %% vapour", a.Vapour)
		}
		if a.Fired {
			s += ", it fired"
		}
		s += "."
	}
	return s
}

// busyTimes are the stretches of a run that its chart must show.
func busyTimes(r *debrief.Report) []span {
	var busy []span
	for _, p := range r.Primes {
		busy = append(busy, span{p.Begin.Seconds(), p.End.Seconds()})
	}
	for _, a := range r.Attempts {
		end := a.Released
		if a.Open {
			end = r.Length
		}
		if a.Fired {
			end = min(max(end, a.FiredAt+2*time.Second), r.Length)
		}
		busy = append(busy, span{a.Engaged.Seconds(), end.Seconds()})
	}
	if len(busy) == 0 {
		busy = append(busy, span{0, max(r.Length.Seconds(), 1)})
	}
	return busy
}

const lane = 17 // points: the height of a bar of prime or crank

func drawVapour(c draw.Canvas, r *debrief.Report) {
	f := foldAround(busyTimes(r))
	top := max(8, math.Ceil(peak(r.Vapour, f)+0.8))
	p := bare()
	p.X.Min, p.X.Max = 0, f.length()
	p.X.Tick.Marker = f.ticks(c.Size().X - 40)
	step := 2.0
	if top > 16 {
		step = 5
	}
	// Below zero is the lane of the bars.
	below := top * float64((lane+12)/max(40, c.Size().Y-60-lane))
	p.Y.Min, p.Y.Max = -below, top
	p.Y.Tick.Marker = ticksEvery(step, 0, top, "")
	p.Add(plotterFunc(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		drawBand(&c, r.Band, y)
		c.StrokeLine2(line(1, hair), c.Min.X, y(0), c.Max.X, y(0))
		trace := f.curve(r.Vapour, r.Length, x, y)
		nameBand(&c, r.Band, append(uprights(&c, r, f, x), trace...), y)
		c.StrokeLines(line(2.4, ink), trace...)
		drawFirings(&c, r, f, x, y)
		f.drawCuts(&c, x)
		drawActs(&c, r, f, x, (c.Min.Y+y(0))/2)
	}))
	c.FillText(aligned(regular(11, ink3), 0, -1), vg.Point{X: c.Min.X, Y: c.Max.Y}, "fuel vapour in the charge, % by volume")
	p.Draw(draw.Crop(c, 0, -14, 0, -20))
}

// peak is the most that a trace shows in what is kept of the axis.
func peak(t debrief.Trace, f fold) float64 {
	most := 0.0
	for _, p := range t {
		for _, s := range f.spans {
			if at := p.At.Seconds(); at >= s.from && at <= s.to && !math.IsNaN(p.Value) {
				most = max(most, p.Value)
			}
		}
	}
	return most
}

func drawBand(c *draw.Canvas, b debrief.Band, y func(float64) vg.Length) {
	window(c, box(c.Min.X, y(b.Lean), c.Max.X, y(b.Rich)))
	for _, limit := range []float64{b.Lean, b.Rich} {
		c.StrokeLine2(line(1.4, ok), c.Min.X, y(limit), c.Max.X, y(limit))
	}
}

// uprights are the lines that stand across the drawing: firings and cuts.
func uprights(c *draw.Canvas, r *debrief.Report, f fold, x func(float64) vg.Length) [][]vg.Point {
	var out [][]vg.Point
	stand := func(left, right vg.Length) {
		out = append(out, []vg.Point{{X: left, Y: c.Min.Y}, {X: right, Y: c.Max.Y}}, []vg.Point{{X: left, Y: c.Max.Y}, {X: right, Y: c.Min.Y}})
	}
	for _, a := range r.Attempts {
		if a.Fired {
			stand(x(f.of(a.FiredAt)), x(f.of(a.FiredAt))+1)
		}
	}
	for i := 1; i < len(f.spans); i++ {
		stand(x(f.at(f.spans[i-1].to)), x(f.at(f.spans[i].from)))
	}
	return out
}

// nameBand says what each part of the scale does, where the lines leave room for
// it.
func nameBand(c *draw.Canvas, b debrief.Band, drawn [][]vg.Point, y func(float64) vg.Length) {
	for _, part := range []struct {
		text     string
		from, to float64
	}{
		{"too rich to burn", b.Rich, b.Rich + 1.2},
		{fmt.Sprintf("burns: %.1f to %.1f %%", b.Lean, b.Rich), b.Lean, b.Rich},
		{"too lean to burn", 0.1, b.Lean},
	} {
		s := aligned(medium(12, ink2), 0, -0.45)
		if part.from == b.Lean {
			s = aligned(bold(12, ok), 0, -0.45)
		}
		at := vg.Point{Y: y((part.from + part.to) / 2)}
		wide := s.Width(part.text)
		for _, share := range []vg.Length{0, 1, 0.5, 0.25, 0.75} {
			at.X = c.Min.X + 10 + share*(c.Size().X-20-wide)
			if !crosses(drawn, box(at.X-6, at.Y-9, at.X+wide+6, at.Y+9)) {
				c.FillText(s, at, part.text)
				break
			}
		}
	}
}

// crosses reports whether a line passes through a box.
func crosses(lines [][]vg.Point, r vg.Rectangle) bool {
	for _, l := range lines {
		for i := 1; i < len(l); i++ {
			a, b := l[i-1], l[i]
			if b.X < r.Min.X || a.X > r.Max.X {
				continue
			}
			slope := (b.Y - a.Y) / max(b.X-a.X, 1e-6)
			left, right := a.Y+slope*(max(a.X, r.Min.X)-a.X), a.Y+slope*(min(b.X, r.Max.X)-a.X)
			if max(left, right) > r.Min.Y && min(left, right) < r.Max.Y {
				return true
			}
		}
	}
	return false
}

func drawFirings(c *draw.Canvas, r *debrief.Report, f fold, x, y func(float64) vg.Length) {
	for _, a := range r.Attempts {
		if !a.Fired {
			continue
		}
		at := vg.Point{X: x(f.of(a.FiredAt)), Y: y(r.Vapour.At(a.FiredAt))}
		c.StrokeLine2(line(1.2, ink, 2, 2), at.X, c.Min.Y, at.X, c.Max.Y-16)
		disc(c, at, 5, paper)
		disc(c, at, 3.4, ink)
		s := aligned(bold(12, ink), -0.5, -1)
		if half := s.Width("fires") / 2; at.X+half > c.Max.X {
			s = aligned(s, -1, -1)
		}
		labelled(c, s, vg.Point{X: at.X, Y: c.Max.Y}, "fires")
	}
}

// drawActs draws each prime and each crank as a bar in a lane.
func drawActs(c *draw.Canvas, r *debrief.Report, f fold, x func(float64) vg.Length, middle vg.Length) {
	at := func(from, to time.Duration) vg.Rectangle {
		return box(x(f.of(from)), middle-lane/2, x(f.of(to)), middle+lane/2)
	}
	for _, p := range r.Primes {
		bar(c, at(p.Begin, p.End), now, "prime "+secs(p.Length().Seconds()))
	}
	for _, a := range r.Attempts {
		end := a.Released
		if a.Open {
			end = r.Length
		}
		bar(c, at(a.Engaged, end), ink2, "crank "+secs((end-a.Engaged).Seconds()))
	}
}
