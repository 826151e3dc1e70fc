package chart

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/procedure/planner"
	"kickover/procedure/units"
)

// OddsRow is one temperature of a map. A point with no trials is not flown yet.
type OddsRow struct {
	OATCelsius float64
	Handbook   planner.Handbook
	Points     []planner.Point
}

// OddsMap shows how likely a start is over temperature and prime: each row beside
// the handbook's window for it. Every row has the same primes; temperatures rise.
func OddsMap(rows []OddsRow) *Chart {
	ch := &Chart{
		Title: "How long to prime, over the temperature",
		Alt:   oddsMapAlt(rows),
		Width: 760, Height: 520,
		units: &units.Units{},
	}
	ch.draw = func(c draw.Canvas) { drawOddsMap(c, rows, *ch.units) }
	return ch
}

func oddsMapAlt(rows []OddsRow) string {
	s := "Starts of 100, by temperature and prime."
	for _, r := range rows {
		s += fmt.Sprintf(" %g degC, window %s:", r.OATCelsius, r.Handbook)
		for _, p := range r.Points {
			if p.Trials > 0 {
				s += fmt.Sprintf(" %g %s %.0f;", p.Prime, r.Handbook.Unit, 100*p.Start.Value())
			}
		}
	}
	return s
}

func drawOddsMap(c draw.Canvas, rows []OddsRow, u units.Units) {
	if len(rows) == 0 || len(rows[0].Points) < 2 {
		c.FillText(aligned(regular(13, ink2), -0.5, -0.5), c.Center(), "Nothing has been flown yet.")
		return
	}
	const left, foot, head = 52, 56, 18
	first, last := rows[0].Points[0].Prime, rows[0].Points[len(rows[0].Points)-1].Prime
	pitch := (c.Size().X - left - 8) / vg.Length(len(rows[0].Points))
	height := (c.Size().Y - foot - head) / vg.Length(len(rows))
	// A cell's middle is its prime; half a cell lies before the first.
	x := func(prime float64) vg.Length {
		return c.Min.X + left + pitch*(0.5+vg.Length((prime-first)/(last-first))*vg.Length(len(rows[0].Points)-1))
	}
	bottom := c.Min.Y + foot
	for i, r := range rows {
		y := bottom + height*vg.Length(i)
		for _, p := range r.Points {
			drawMapCell(&c, box(x(p.Prime)-pitch/2, y, x(p.Prime)+pitch/2, y+height), p)
		}
		label := u.Celsius(r.OATCelsius)
		c.FillText(aligned(regular(min(11, height*0.8), ink3), -1, -0.38), vg.Point{X: c.Min.X + left - 6, Y: y + height/2}, label)
	}
	drawMapWindows(&c, rows, x, bottom, height, pitch)
	for i, r := range rows {
		y := bottom + height*(vg.Length(i)+0.5)
		for _, p := range r.Points {
			writeMapCell(&c, vg.Point{X: x(p.Prime), Y: y}, p, r.Handbook, min(11, height*0.78))
		}
	}
	for _, p := range rows[0].Points {
		c.FillText(aligned(regular(11, ink3), -0.5, -1), vg.Point{X: x(p.Prime), Y: bottom - 6}, fmt.Sprintf("%g%s", p.Prime, unitOf(rows[0].Handbook.Unit)))
	}
	c.FillText(aligned(regular(11, ink3), 0, -1), vg.Point{X: c.Min.X, Y: c.Max.Y}, "outside air")
	legend(&c, vg.Point{X: c.Min.X + left, Y: c.Min.Y + 8})
}

// shade is how much paper is in a cell that always starts, or always floods: so
// much that the number in it is read in every dress.
const shade = 0.68

// drawMapCell shades a cell: green the more it starts, red the more it floods,
// paper where the prime is too little.
func drawMapCell(c *draw.Canvas, r vg.Rectangle, p planner.Point) {
	var clr color.Color = faint
	if p.Trials > 0 {
		clr = blend(paper, blend(ok, paper, shade), p.Start.Value())
		clr = blend(clr, blend(warn, paper, shade), p.Flood.Value())
	}
	c.SetColor(clr)
	c.Fill(roundPath(box(r.Min.X+0.5, r.Min.Y+0.5, r.Max.X-0.5, r.Max.Y-0.5), 1))
}

// drawMapWindows hatches the handbook's window of each row and draws its edge.
func drawMapWindows(c *draw.Canvas, rows []OddsRow, x func(float64) vg.Length, bottom, height, pitch vg.Length) {
	for i := 0; i < len(rows); {
		h := rows[i].Handbook
		j := i
		for j < len(rows) && rows[j].Handbook == h {
			j++
		}
		if h.Primes() {
			from, to := x(h.Min), x(h.Max)
			if h.Min == h.Max {
				from, to = from-pitch/2, to+pitch/2
			}
			r := box(from, bottom+height*vg.Length(i), to, bottom+height*vg.Length(j))
			hatch(c, r, 6, line(0.6, blend(ok, paper, 0.35)))
			strokeBox(c, r, 2, line(2.2, ok))
			ideal := x(h.Ideal)
			c.StrokeLine2(line(1.2, ok, 4, 3), ideal, r.Min.Y, ideal, r.Max.Y)
		}
		i = j
	}
}

// writeMapCell writes how many of a hundred start, and marks a cell that mostly
// floods.
func writeMapCell(c *draw.Canvas, at vg.Point, p planner.Point, h planner.Handbook, size vg.Length) {
	if p.Trials == 0 {
		return
	}
	words := fmt.Sprintf("%.0f", 100*p.Start.Value())
	s := aligned(regular(size, ink), -0.5, -0.38)
	if h.Inside(p.Prime) {
		s = aligned(bold(size, ink), -0.5, -0.38)
		w := s.Width(words)/2 + 3
		fillBox(c, box(at.X-w, at.Y-size*0.62, at.X+w, at.Y+size*0.62), 3, paper)
	}
	c.FillText(s, at, words)
	if p.Flood.Value() >= 0.5 {
		triangle(c, vg.Point{X: at.X + s.Width("100")/2 + 6, Y: at.Y}, 3.2, warn)
	}
}

// legend says what the numbers, the shades and the marks are.
func legend(c *draw.Canvas, at vg.Point) {
	s := aligned(regular(11, ink3), 0, -0.3)
	gap := vg.Length(22)
	if c.Size().X < 620 { // a narrow chart: all of it, closer and from the edge on
		gap, at.X = 9, c.Min.X
	}
	put := func(words string) {
		c.FillText(s, at, words)
		at.X += s.Width(words) + gap
	}
	swatch := func(clr color.Color) vg.Rectangle {
		r := box(at.X, at.Y-5, at.X+16, at.Y+7)
		fillBox(c, r, 2, clr)
		at.X += 21
		return r
	}
	put("number: starts of 100")
	strokeBox(c, swatch(paper), 2, line(1.8, ok))
	put("handbook's window")
	swatch(blend(ok, paper, shade))
	put("starts")
	swatch(blend(warn, paper, shade))
	put("floods")
	triangle(c, vg.Point{X: at.X + 6, Y: at.Y + 1}, 4, warn)
	at.X += 15
	put("mostly floods")
	strokeBox(c, swatch(paper), 2, line(0.8, hair))
	put("too little")
}
