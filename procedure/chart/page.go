package chart

import (
	"image"
	"image/color"
	"math"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// page is a canvas on a place of a PDF page. The plotting library's own makes a
// document of its own, dated with the moment it was made.
type page struct {
	pdf   *fpdf.Fpdf
	m     matrix
	stack []matrix
}

// matrix takes (x, y) to (a·x + c·y + e, b·x + d·y + f).
type matrix struct{ a, b, c, d, e, f float64 }

func (m matrix) of(p vg.Point) (x, y float64) {
	px, py := float64(p.X), float64(p.Y)
	return m.a*px + m.c*py + m.e, m.b*px + m.d*py + m.f
}

func (m matrix) after(n matrix) matrix {
	return matrix{
		m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b,
		m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d,
		m.a*n.e + m.c*n.f + m.e, m.b*n.e + m.d*n.f + m.f,
	}
}

func (m matrix) scale() float64 { return math.Sqrt(math.Abs(m.a*m.d - m.b*m.c)) }

// OnPage is a canvas on the present page of a document: its upper left corner
// at (x, y) and its height in the document's unit, with so many units to the
// chart's point.
func OnPage(pdf *fpdf.Fpdf, x, y, height, unitsPerPoint float64) vg.Canvas {
	p := &page{pdf: pdf, m: matrix{a: unitsPerPoint, d: -unitsPerPoint, e: x, f: y + height}}
	pdf.SetLineCapStyle("butt")
	pdf.SetLineJoinStyle("round")
	return p
}

func (p *page) SetLineWidth(w vg.Length) { p.pdf.SetLineWidth(float64(w) * p.m.scale()) }

func (p *page) SetLineDash(pattern []vg.Length, offset vg.Length) {
	dashes := make([]float64, len(pattern))
	for i, d := range pattern {
		dashes[i] = float64(d) * p.m.scale()
	}
	p.pdf.SetDashPattern(dashes, float64(offset)*p.m.scale())
}

func (p *page) SetColor(c color.Color) {
	if c == nil {
		c = color.Black
	}
	n := color.NRGBAModel.Convert(c).(color.NRGBA)
	p.pdf.SetDrawColor(int(n.R), int(n.G), int(n.B))
	p.pdf.SetFillColor(int(n.R), int(n.G), int(n.B))
}

func (p *page) Rotate(rad float64) {
	s, c := math.Sincos(rad)
	p.m = p.m.after(matrix{c, s, -s, c, 0, 0})
}

func (p *page) Translate(pt vg.Point) {
	p.m = p.m.after(matrix{1, 0, 0, 1, float64(pt.X), float64(pt.Y)})
}

func (p *page) Scale(x, y float64) { p.m = p.m.after(matrix{x, 0, 0, y, 0, 0}) }

func (p *page) Push() { p.stack = append(p.stack, p.m) }

func (p *page) Pop() {
	p.m = p.stack[len(p.stack)-1]
	p.stack = p.stack[:len(p.stack)-1]
}

func (p *page) Stroke(path vg.Path) { p.path(path, "D") }

func (p *page) Fill(path vg.Path) { p.path(path, "F") }

func (p *page) path(path vg.Path, style string) {
	for _, c := range path {
		switch c.Type {
		case vg.MoveComp:
			p.pdf.MoveTo(p.m.of(c.Pos))
		case vg.LineComp:
			p.pdf.LineTo(p.m.of(c.Pos))
		case vg.CurveComp:
			p.curve(c)
		case vg.ArcComp:
			p.arc(c)
		case vg.CloseComp:
			p.pdf.ClosePath()
		}
	}
	p.pdf.DrawPath(style)
}

func (p *page) curve(c vg.PathComp) {
	x, y := p.m.of(c.Pos)
	x1, y1 := p.m.of(c.Control[0])
	if len(c.Control) == 1 {
		p.pdf.CurveTo(x1, y1, x, y)
		return
	}
	x2, y2 := p.m.of(c.Control[1])
	p.pdf.CurveBezierCubicTo(x1, y1, x2, y2, x, y)
}

// arc draws an arc in pieces of at most a quarter turn, each a cubic whose error
// is below a thousandth of the radius.
func (p *page) arc(c vg.PathComp) {
	n := max(1, int(math.Ceil(math.Abs(c.Angle)/(math.Pi/2))))
	step := c.Angle / float64(n)
	k := 4.0 / 3 * math.Tan(step/4)
	at := func(angle, along float64) vg.Point {
		s, cos := math.Sincos(angle)
		return vg.Point{
			X: c.Pos.X + c.Radius*vg.Length(cos-along*s),
			Y: c.Pos.Y + c.Radius*vg.Length(s+along*cos),
		}
	}
	p.pdf.LineTo(p.m.of(at(c.Start, 0)))
	for i := range n {
		from := c.Start + float64(i)*step
		x1, y1 := p.m.of(at(from, k))
		x2, y2 := p.m.of(at(from+step, -k))
		x, y := p.m.of(at(from+step, 0))
		p.pdf.CurveBezierCubicTo(x1, y1, x2, y2, x, y)
	}
}

// FillString and DrawImage complete vg.Canvas; a chart sets its text as outlines
// and has no images.
func (p *page) FillString(font.Face, vg.Point, string) {}

func (p *page) DrawImage(vg.Rectangle, image.Image) {}
