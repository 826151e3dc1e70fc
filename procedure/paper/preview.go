package paper

import (
	"image"
	"image/color"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"kickover/procedure/chart"
)

// imageTarget draws pages into pictures.
type imageTarget struct {
	sheet Sheet
	dpi   int
	pages []*vgimg.Canvas
}

// preview makes a picture of each page of a document.
func preview(f form, dpi int) ([]image.Image, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	s, _ := f.frame()
	t := &imageTarget{sheet: s, dpi: min(max(dpi, 20), 600)}
	lay(f, t)
	var out []image.Image
	for _, p := range t.pages {
		out = append(out, p.Image())
	}
	return out, nil
}

func (t *imageTarget) addPage() {
	t.pages = append(t.pages, vgimg.NewWith(
		vgimg.UseWH(vg.Length(t.sheet.Width/point), vg.Length(t.sheet.Height/point)), vgimg.UseDPI(t.dpi),
	))
}

func (t *imageTarget) page() *vgimg.Canvas { return t.pages[len(t.pages)-1] }

// at takes a place on the page to the canvas, whose origin is the lower left.
func (t *imageTarget) at(x, y float64) vg.Point {
	return vg.Point{X: vg.Length(x / point), Y: vg.Length((t.sheet.Height - y) / point)}
}

func (t *imageTarget) text(x, y float64, bold bool, size float64, level int, s string) {
	t.page().SetColor(color.Gray{Y: uint8(level)})
	t.page().FillString(font.Face{Font: font.Font{Size: vg.Length(size)}, Face: letters(bold)}, t.at(x, y), s)
}

func (t *imageTarget) path(points ...[2]float64) vg.Path {
	var p vg.Path
	for i, at := range points {
		if i == 0 {
			p.Move(t.at(at[0], at[1]))
			continue
		}
		p.Line(t.at(at[0], at[1]))
	}
	return p
}

func (t *imageTarget) stroke(p vg.Path, width float64, level int, dashes []float64) {
	pattern := make([]vg.Length, len(dashes))
	for i, d := range dashes {
		pattern[i] = vg.Length(d / point)
	}
	c := draw.NewCanvas(t.page(), 0, 0)
	c.SetLineStyle(draw.LineStyle{Color: color.Gray{Y: uint8(level)}, Width: vg.Length(width / point), Dashes: pattern})
	c.Stroke(p)
}

func (t *imageTarget) line(x0, y0, x1, y1, width float64, level int) {
	t.stroke(t.path([2]float64{x0, y0}, [2]float64{x1, y1}), width, level, nil)
}

func (t *imageTarget) box(x, y, w, h, width float64, level int, dashes ...float64) {
	p := t.path([2]float64{x, y}, [2]float64{x + w, y}, [2]float64{x + w, y + h}, [2]float64{x, y + h})
	p.Close()
	t.stroke(p, width, level, dashes)
}

func (t *imageTarget) fill(x, y, w, h float64, level int) {
	t.polygon([][2]float64{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, level)
}

func (t *imageTarget) polygon(points [][2]float64, level int) {
	p := t.path(points...)
	p.Close()
	t.page().SetColor(color.Gray{Y: uint8(level)})
	t.page().Fill(p)
}

func (t *imageTarget) chart(c *chart.Chart, x, y, wide, high, mmPerPoint float64) {
	canvas := scaledLines{t.page(), vg.Length(mmPerPoint / point)}
	canvas.Push()
	canvas.Translate(t.at(x, y+high*mmPerPoint))
	canvas.Scale(mmPerPoint/point, mmPerPoint/point)
	c.DrawOn(canvas, wide, high)
	canvas.Pop()
}

// scaledLines is a scaled canvas that scales the widths of lines too, as a PDF
// does; the picture's own does not.
type scaledLines struct {
	vg.Canvas
	by vg.Length
}

func (s scaledLines) SetLineWidth(w vg.Length) { s.Canvas.SetLineWidth(w * s.by) }

func (s scaledLines) SetLineDash(pattern []vg.Length, offset vg.Length) {
	dashes := make([]vg.Length, len(pattern))
	for i, d := range pattern {
		dashes[i] = d * s.by
	}
	s.Canvas.SetLineDash(dashes, offset*s.by)
}
