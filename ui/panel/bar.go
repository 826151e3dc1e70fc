package panel

import (
	"image/color"
	"math"

	"kickover/procedure"
	"kickover/procedure/units"
)

// Bar is a small gauge: a reading in figures over a marked scale.
type Bar struct {
	Instrument procedure.Instrument
	At         Rect
}

// BarState is what a bar shows.
type BarState struct {
	Pixel int16 // of the pointer along the scale, in half units
	Text  string
	Dead  bool
	Asked bool
	Out   bool // beyond a limit or in a caution range
}

// State is what the bar shows for a reading.
func (b Bar) State(reading float64, asked bool) BarState {
	if math.IsNaN(reading) {
		return BarState{Text: "–", Dead: true, Asked: asked}
	}
	return BarState{
		Pixel: int16(math.Round((b.x(reading) - b.At.X) * 2)),
		Text:  Reading(b.Instrument, reading),
		Asked: asked,
		Out:   b.cautioned(reading),
	}
}

func (b Bar) cautioned(v float64) bool {
	for _, r := range b.Instrument.Ranges {
		if r.Kind == procedure.Caution && v >= r.From && v <= r.To {
			return true
		}
	}
	return false
}

func (b Bar) x(v float64) float64 {
	f := (v - b.Instrument.Min) / (b.Instrument.Max - b.Instrument.Min)
	return b.At.X + 12 + min(max(f, 0), 1)*(b.At.W-24)
}

// Face draws the box, the name, the unit and the marked scale.
func (b Bar) Face(p *Pen) {
	r := b.At
	p.Box(r, 8, p.Well, p.Line, 1.2)
	p.Text(b.Instrument.Name, r.X+12, r.Y+21, Start, p.Fit(b.Instrument.Name, Label, r.W-22, 9), p.Ink)
	y := r.Y + r.H - 15
	p.Fill(Rect{r.X + 12, y, r.W - 24, 5}, p.Raised)
	for _, m := range b.Instrument.Ranges {
		x0, x1 := b.x(m.From), b.x(m.To)
		switch m.Kind {
		case procedure.Normal:
			p.Fill(Rect{x0, y, x1 - x0, 5}, p.OK)
		case procedure.Caution:
			p.Fill(Rect{x0, y, x1 - x0, 5}, p.Caution)
			for x := x0 + 3; x < x1-1; x += 5 {
				p.Segment(x-2, y+5, x+2, y, 1.2, p.Well)
			}
		case procedure.Limit:
			p.Fill(Rect{x0 - 1.5, y - 4, 3, 10}, p.Warn)
		}
	}
}

// Pointer draws what moves.
func (b Bar) Pointer(p *Pen, s BarState) {
	r := b.At
	if s.Asked {
		p.Box(r, 8, color.NRGBA{}, p.Now, 2.5)
	}
	x := r.X + 12 + p.Text(s.Text, r.X+12, r.Y+49, Start, Value.Sized(24), p.Ink)
	x += 5 + p.Text(units.Sign(b.Instrument.Unit), x+5, r.Y+49, Start, Small.Sized(13), p.Ink2)
	if s.Out {
		p.Triangle(x+12, r.Y+42, 11, p.Caution)
	}
	if s.Dead {
		return
	}
	px, py := r.X+float64(s.Pixel)/2, r.Y+r.H-11
	p.Polygon(p.Well, Point{px, py - 3}, Point{px + 7.5, py + 10}, Point{px - 7.5, py + 10})
	p.Polygon(p.Ink, Point{px, py}, Point{px + 5.5, py + 9}, Point{px - 5.5, py + 9})
}
