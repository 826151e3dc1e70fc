package chart

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// Dress is a set of colours to draw in, each in place of one of the light dress.
type Dress struct {
	Paper, Hair, Faint  color.NRGBA // the ground, lines on it, and lines hardly seen
	Ink, Ink2, Ink3     color.NRGBA // what is read first, next and last
	Now                 color.NRGBA
	OK, OKTint, OKHatch color.NRGBA // what is wanted, and the stretch of it
	Caution, Warn       color.NRGBA
}

// In is the chart in another dress. A chart that is not given one is for paper.
func (c *Chart) In(d Dress) *Chart {
	dressed := *c
	dressed.dress = &d
	return &dressed
}

// blend is a colour between two; t of 0 is a. In another dress it lies between what
// stands there for the two.
func blend(a, b color.Color, t float64) color.Color { return blended{a, b, t} }

type blended struct {
	a, b color.Color
	t    float64
}

// RGBA implements color.Color.
func (m blended) RGBA() (r, g, b, a uint32) {
	x, y := color.NRGBAModel.Convert(m.a).(color.NRGBA), color.NRGBAModel.Convert(m.b).(color.NRGBA)
	mix := func(x, y uint8) uint8 { return uint8(float64(x) + (float64(y)-float64(x))*m.t + 0.5) }
	return color.NRGBA{mix(x.R, y.R), mix(x.G, y.G), mix(x.B, y.B), 0xff}.RGBA()
}

// dyed is a canvas that draws in another dress. Charts are written in the colours
// of paper and in what lies between them.
type dyed struct {
	vg.Canvas
	in map[color.NRGBA]color.NRGBA
}

func (d *Dress) dye(c vg.Canvas) vg.Canvas {
	if d == nil {
		return c
	}
	return dyed{c, map[color.NRGBA]color.NRGBA{
		paper: d.Paper, hair: d.Hair, faint: d.Faint, ink: d.Ink, ink2: d.Ink2, ink3: d.Ink3, now: d.Now,
		ok: d.OK, okTint: d.OKTint, okHatch: d.OKHatch, caution: d.Caution, warn: d.Warn,
	}}
}

func (d dyed) SetColor(c color.Color) {
	d.Canvas.SetColor(d.dyed(c))
}

func (d dyed) dyed(c color.Color) color.Color {
	switch c := c.(type) {
	case blended:
		return blended{d.dyed(c.a), d.dyed(c.b), c.t}
	case color.NRGBA:
		if other, ok := d.in[c]; ok {
			return other
		}
	}
	return c
}
