package panel

import (
	"image/color"
	"math"
	"strconv"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/units"
)

// The sweep of a dial, in degrees either side of twelve o'clock.
const dialSweep = 130

// Dial is a round gauge with a needle and its reading in figures.
type Dial struct {
	Instrument procedure.Instrument
	X, Y, R    float64 // centre and radius of the face, in units
}

// DialState is what a dial shows, in steps no finer than the eye sees, so that
// equal states look equal.
type DialState struct {
	Angle int16  // of the needle, in eighths of a degree from twelve o'clock
	Text  string // the reading
	Dead  bool   // the instrument shows nothing
	Asked bool   // the present step asks for this instrument
}

// Area is the smallest rectangle that holds the dial's face and its ring.
func (d Dial) Area() Rect { return Rect{d.X - d.R - 3, d.Y - d.R - 3, 2*d.R + 6, 2*d.R + 6} }

// State is what the dial shows for a reading; one that is not a number is a
// dead instrument.
func (d Dial) State(reading float64, asked bool) DialState {
	if math.IsNaN(reading) {
		return DialState{Angle: -8 * dialSweep, Text: "–", Dead: true, Asked: asked}
	}
	return DialState{
		Angle: int16(math.Round(d.angle(reading) * 8)),
		Text:  Reading(d.Instrument, reading),
		Asked: asked,
	}
}

func (d Dial) angle(v float64) float64 {
	i := d.Instrument
	f := (v - i.Min) / (i.Max - i.Min)
	return (min(max(f, -0.02), 1.02)*2 - 1) * dialSweep
}

// Reading prints a value with an instrument's own number of decimals, a true
// minus sign, and coarse enough not to flicker: an engine's speed in tens.
func Reading(i procedure.Instrument, v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	if i.Max-i.Min >= 2000 {
		v = math.Round(v/10) * 10
	}
	s := strconv.FormatFloat(v, 'f', i.Decimals, 64)
	if v < 0 {
		if f, err := strconv.ParseFloat(s, 64); err == nil && f == 0 {
			return strconv.FormatFloat(0, 'f', i.Decimals, 64)
		}
		return "−" + s[1:]
	}
	return s
}

// Face draws what stands still: face, ticks, figures, range markings, name.
func (d Dial) Face(p *Pen) {
	i := d.Instrument
	k := d.R / 86
	p.Disc(d.X, d.Y, d.R, p.Well)
	p.Ring(d.X, d.Y, d.R, 1.5, p.Line)
	d.markings(p, k)
	major := units.Step(i.Max-i.Min, 6)
	minor := major / 5
	for n := 0; ; n++ {
		v := i.Min + float64(n)*minor
		if v > i.Max+minor/2 {
			break
		}
		a := d.angle(v)
		if n%5 != 0 {
			d.tick(p, a, d.R-10*k, d.R-16*k, 1.2, p.Ink3)
			continue
		}
		d.tick(p, a, d.R-10*k, d.R-20*k, 2, p.Ink)
		x, y := On(d.X, d.Y, d.R-32*k, a)
		p.Text(d.figure(v), x, y+4.8*k, Middle, Type{Size: 13.5 * k, Weight: fonts.WeightMedium}, p.Ink2)
	}
	p.Text(units.Sign(i.Unit), d.X, d.Y+d.R*0.83, Middle, Tiny.Sized(12*k), p.Ink2)
	if d.hundreds() {
		p.Text("×100", d.X, d.Y-22*k, Middle, Tiny.Sized(12*k), p.Ink2)
	}
	p.Text(i.Name, d.X, d.Y+d.R+22, Middle, Label, p.Ink)
}

// markings draws the range markings of 14 CFR 23.1549: arcs along the scale for
// ranges, a radial line across it for a limit.
func (d Dial) markings(p *Pen, k float64) {
	for _, r := range d.Instrument.Ranges {
		a, b := d.angle(r.From), d.angle(r.To)
		switch r.Kind {
		case procedure.Normal:
			p.Sector(d.X, d.Y, d.R-9*k, d.R-4*k, a, b, p.OK, color.NRGBA{}, 0)
		case procedure.Caution:
			p.Sector(d.X, d.Y, d.R-9*k, d.R-4*k, a, b, p.Caution, color.NRGBA{}, 0)
			p.HatchSector(d.X, d.Y, d.R-9*k, d.R-4*k, a, b, p.Well, 5, 1.4)
		case procedure.Limit:
			d.tick(p, a, d.R-1.5*k, d.R-20*k, 4, p.Warn)
		}
	}
}

func (d Dial) tick(p *Pen, angle, outer, inner, w float64, c color.NRGBA) {
	x0, y0 := On(d.X, d.Y, inner, angle)
	x1, y1 := On(d.X, d.Y, outer, angle)
	p.Segment(x0, y0, x1, y1, w, c)
}

// figure prints a scale's number.
func (d Dial) figure(v float64) string {
	if d.hundreds() {
		v /= 100
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// hundreds reports whether the scale is marked in hundreds, as one in thousands is.
func (d Dial) hundreds() bool { return d.Instrument.Max >= 1000 }

// Needle draws what moves: needle, hub, reading, and the ring of a dial that is
// asked for.
func (d Dial) Needle(p *Pen, s DialState) {
	k := d.R / 86
	if s.Asked {
		p.Ring(d.X, d.Y, d.R, 3, p.Now)
	}
	p.Text(s.Text, d.X, d.Y+53*k, Middle, p.Fit(s.Text, Value.Sized(26*k), 58*k, 8), p.Ink)
	if s.Dead {
		return
	}
	a := float64(s.Angle) / 8
	at := func(r, deg float64) Point {
		x, y := On(d.X, d.Y, r, deg)
		return Point{x, y}
	}
	p.Polygon(p.Ink, at(d.R-14*k, a-0.9), at(d.R-14*k, a+0.9), at(13*k, a+173), at(13*k, a+187))
	p.Disc(d.X, d.Y, 7*k, p.Raised)
	p.Ring(d.X, d.Y, 7*k, 1, p.Line)
}
