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

// dyed is a canvas that draws in another dress. Charts are written in the colours
// of paper, and what has none of them, as a scale of its own, keeps its own.
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
	if n, ok := c.(color.NRGBA); ok {
		if other, ok := d.in[n]; ok {
			c = other
		}
	}
	d.Canvas.SetColor(c)
}
