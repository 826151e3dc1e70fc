package panel

import (
	"math"
	"time"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
)

// Trace draws the last seconds of an instrument as a line, so that "it rises"
// and "it levels off" can be seen.
type Trace struct {
	Instrument procedure.Instrument
	At         Rect
	Span       time.Duration // how much time is as wide as the box
	Title      string
}

// TraceState names what a trace shows: the newest sample's time in steps of one
// pixel, and the word. The samples themselves are read when it is painted.
type TraceState struct {
	Step int64
	Word string
	Flat bool // nothing but a level line: then time does not matter
}

func (t Trace) plot() Rect { return Rect{t.At.X + 8, t.At.Y + 30, t.At.W - 16, t.At.H - 42} }

// State is what the trace shows at a time. A line that is level from end to
// end looks the same whenever it is painted.
func (t Trace) State(now time.Duration, pts []rehearsal.TracePoint, word string) TraceState {
	flat := true
	for _, q := range pts {
		if math.Abs(q.Value-pts[0].Value) > (t.Instrument.Max-t.Instrument.Min)/400 {
			flat = false
			break
		}
	}
	if flat {
		v := int64(0)
		if len(pts) > 0 {
			v = int64(math.Round((pts[0].Value - t.Instrument.Min) / (t.Instrument.Max - t.Instrument.Min) * 400))
		}
		return TraceState{Step: v, Word: word, Flat: true}
	}
	return TraceState{Step: int64(float64(now) / float64(t.Span) * t.plot().W), Word: word}
}

// Face draws the box and its quiet scale.
func (t Trace) Face(p *Pen) {
	p.Box(t.At, 8, p.Well, p.Line, 1.2)
	p.Text(t.Title, t.At.X+11, t.At.Y+20, Start, Tiny, p.Ink2)
	r := t.plot()
	step := units.Step(t.Instrument.Max-t.Instrument.Min, 5)
	for v := t.Instrument.Min; v <= t.Instrument.Max+step/2; v += step {
		p.Rule(r.X, t.y(v), r.X+r.W, t.y(v), p.Raised)
	}
}

func (t Trace) y(v float64) float64 {
	r := t.plot()
	f := (v - t.Instrument.Min) / (t.Instrument.Max - t.Instrument.Min)
	return r.Y + r.H - min(max(f, 0), 1)*r.H
}

// Paint draws the line up to now and, always in the same corner, the word for it.
func (t Trace) Paint(p *Pen, now time.Duration, pts []rehearsal.TracePoint, s TraceState) {
	r := t.plot()
	line := make([]Point, 0, len(pts)+1)
	last := math.Inf(-1)
	for i, q := range pts {
		x := r.X + r.W - float64(now-q.At)/float64(t.Span)*r.W
		// A sample closer than a pixel to the one before adds nothing to see.
		if x < r.X || math.IsNaN(q.Value) || x-last < 1 && i != len(pts)-1 {
			continue
		}
		line = append(line, Point{x, t.y(q.Value)})
		last = x
	}
	if s.Flat && len(line) > 0 {
		line = []Point{{r.X, line[0].Y}, {r.X + r.W, line[0].Y}}
	}
	p.Polyline(2.6, p.Now, line...)
	if s.Word == "" || len(line) == 0 {
		return
	}
	p.Text(s.Word, t.At.X+t.At.W-11, t.At.Y+21, End, Label.Sized(15).Weighted(fonts.WeightBold), p.Now)
}
