package chart

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/units"
)

// Prime shows the hold of the prime against the indicated fuel flow: the window
// for its end, the ideal, and the moment the flow levelled off. Of several
// primes it shows the one furthest from its window.
func Prime(r *debrief.Report) *Chart {
	h := holdToShow(r)
	ch := &Chart{
		Title: "The prime, and what the fuel flow said",
		Alt:   h.alt(),
		Width: 460, Height: 300,
		units: &units.Units{},
	}
	ch.draw = func(c draw.Canvas) { drawPrime(c, r, h, *ch.units) }
	return ch
}

// held is one hold of the prime, in seconds since it began.
type held struct {
	found    bool
	begin    time.Duration
	length   float64
	window   procedure.Window
	levelled float64 // NaN when it did not
}

func holdToShow(r *debrief.Report) held {
	var h held
	worst := time.Duration(-1)
	for _, s := range r.Steps {
		if s.Step.Kind != procedure.StepHold || !s.Reached || s.Done <= s.Begin {
			continue
		}
		if off := s.Off().Abs(); off > worst {
			worst = off
			h = held{found: true, begin: s.Begin, length: (s.Done - s.Begin).Seconds(), window: s.Window, levelled: math.NaN()}
		}
	}
	for _, p := range r.Primes {
		if !h.found {
			h = held{found: true, begin: p.Begin, length: p.Length().Seconds(), levelled: math.NaN()}
		}
		if p.Begin == h.begin && p.LevelledAt > 0 {
			h.levelled = (p.LevelledAt - p.Begin).Seconds()
		}
	}
	return h
}

func (h held) alt() string {
	if !h.found {
		return "There was no prime."
	}
	s := fmt.Sprintf("The prime was held %s", secs(h.length))
	if !h.window.Zero() {
		s += fmt.Sprintf("; its window is %.1f to %s", h.window.Min.Seconds(), secs(h.window.Max.Seconds()))
	}
	if !math.IsNaN(h.levelled) {
		s += fmt.Sprintf("; the flow levelled off at %s", secs(h.levelled))
	}
	return s + "."
}

func drawPrime(c draw.Canvas, r *debrief.Report, h held, u units.Units) {
	if !h.found {
		c.FillText(aligned(regular(13, ink2), -0.5, -0.5), c.Center(), "There was no prime.")
		return
	}
	end := math.Ceil(max(h.length, h.window.Max.Seconds()) + 1)
	flow := fromHold(r.FuelFlow, h.begin, u)
	f := fold{spans: []span{{-0.5, end}}}
	top := max(1, math.Ceil(peak(flow, f)*headroom(c.Size().Y-60-lane)))
	p := bare()
	p.X.Min, p.X.Max = 0, f.length()
	p.X.Tick.Marker = f.ticks(c.Size().X - 40)
	below := top * float64((lane+12)/max(40, c.Size().Y-60-lane))
	p.Y.Min, p.Y.Max = -below, top
	p.Y.Tick.Marker = ticksEvery(stepFor(top, c.Size().Y-80, 34), 0, top, "")
	p.Add(plotterFunc(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		drawHoldWindow(&c, h, f, x)
		c.StrokeLine2(line(1, hair), c.Min.X, y(0), c.Max.X, y(0))
		c.StrokeLines(line(2.4, ink), f.curve(flow, r.Length-h.begin, x, y)...)
		drawLevelled(&c, flow, h, f, x, y)
		middle := (c.Min.Y + y(0)) / 2
		bar(&c, box(x(f.at(0)), middle-lane/2, x(f.at(h.length)), middle+lane/2), now, "prime "+secs(h.length))
	}))
	c.FillText(aligned(regular(11, ink3), 0, -1), vg.Point{X: c.Min.X, Y: c.Max.Y}, "indicated fuel flow, "+u.Unit("g/s"))
	c.FillText(aligned(regular(11, ink3), -1, 0), vg.Point{X: c.Max.X, Y: c.Min.Y}, "since the mixture left cut-off")
	p.Draw(draw.Crop(c, 0, -14, 14, -20))
}

// headroom is by how much the axis goes past the trace, so that the cue's words
// stand between the trace and those of the window.
func headroom(high vg.Length) float64 {
	const words = 48 // points
	return max(1.25, 1/(1-words/max(2*words, float64(high))))
}

// fromHold counts the fuel flow from another moment, in the unit that is shown.
func fromHold(t debrief.Trace, from time.Duration, u units.Units) debrief.Trace {
	out := make(debrief.Trace, len(t))
	for i, p := range t {
		out[i] = debrief.Point{At: p.At - from, Value: u.Reading("g/s", p.Value)}
	}
	return out
}

// drawHoldWindow draws when the hold should have ended.
func drawHoldWindow(c *draw.Canvas, h held, f fold, x func(float64) vg.Length) {
	if h.window.Zero() {
		return
	}
	from, to, ideal := x(f.of(h.window.Min)), x(f.of(h.window.Max)), x(f.of(h.window.Ideal))
	window(c, box(from, c.Min.Y, to, c.Max.Y-18))
	for _, at := range []vg.Length{from, to} {
		c.StrokeLine2(line(1.2, ok, 4, 3), at, c.Min.Y, at, c.Max.Y-18)
	}
	c.StrokeLine2(line(2, ok), ideal, c.Min.Y, ideal, c.Max.Y-18)
	words := fmt.Sprintf("window %.1f to %s", h.window.Min.Seconds(), secs(h.window.Max.Seconds()))
	s := aligned(bold(12, ok), -0.5, -1)
	at := vg.Point{X: (from + to) / 2, Y: c.Max.Y}
	if half := s.Width(words) / 2; at.X+half > c.Max.X {
		at.X = c.Max.X - half
	}
	c.FillText(s, at, words)
}

// drawLevelled marks the cue on the trace.
func drawLevelled(c *draw.Canvas, flow debrief.Trace, h held, f fold, x, y func(float64) vg.Length) {
	if math.IsNaN(h.levelled) {
		s := aligned(medium(12, ink2), 0, -1)
		labelled(c, s, vg.Point{X: c.Min.X + 8, Y: c.Max.Y - 22}, "It did not level off.")
		return
	}
	at := vg.Point{X: x(f.at(h.levelled)), Y: y(flow.At(time.Duration(h.levelled * 1e9)))}
	c.StrokeLine2(line(1.2, ink, 1.5, 2.5), at.X, at.Y, at.X, y(0)-4)
	disc(c, at, 6.5, paper)
	triangle(c, at, 5, ink)
	words := "levelled off at " + secs(h.levelled)
	s := aligned(bold(12, ink), -1, 0)
	place := vg.Point{X: at.X - 4, Y: at.Y + 9}
	if place.X-s.Width(words) < c.Min.X {
		s, place.X = aligned(s, 0, 0), c.Min.X+4
	}
	labelled(c, s, place, words)
}
