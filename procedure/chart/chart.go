package chart

import (
	"bytes"
	"fmt"
	"html"
	"image"
	"image/png"
	"io"
	"math"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"kickover/procedure/units"
)

// Chart is a drawing that fits itself to the size it is given.
type Chart struct {
	Title string // stands above the drawing; empty it where the surroundings say it already
	Alt   string // what the drawing shows, in words, for somebody who cannot see it

	// Width and Height are a good size, in points. Any other works down to
	// about half of it.
	Width, Height float64

	draw  func(c draw.Canvas)
	dress *Dress       // nil is paper's
	units *units.Units // what quantities are written in; nil where there are none
}

// Read has quantities written in the units that a person reads; without it they
// are in the program's own.
func (c *Chart) Read(u units.Units) *Chart {
	if c.units != nil {
		*c.units = u
	}
	c.Alt = u.Words(c.Alt)
	return c
}

// Image draws the chart for a screen: width and height in points, scale pixels
// to the point.
func (c *Chart) Image(width, height, scale float64) image.Image {
	return c.raster(width, height, 72*scale).Image()
}

// WritePNG writes the chart as a PNG of a size in points at so many dots per
// inch.
func (c *Chart) WritePNG(w io.Writer, width, height, dpi float64) error {
	if err := png.Encode(w, c.raster(width, height, dpi).Image()); err != nil {
		return fmt.Errorf("write the chart as PNG: %w", err)
	}
	return nil
}

// WriteSVG writes the chart as SVG of a size in points. Its letters are
// outlines, so it looks the same without the font.
func (c *Chart) WriteSVG(w io.Writer, width, height float64) error {
	canvas := vgsvg.NewWith(vgsvg.UseWH(vg.Length(width), vg.Length(height)))
	c.DrawOn(canvas, width, height)
	var b bytes.Buffer
	if _, err := canvas.WriteTo(&b); err != nil {
		return fmt.Errorf("write the chart as SVG: %w", err)
	}
	// Outlines say nothing to a screen reader; these do.
	words := "<title>" + html.EscapeString(c.Title) + "</title>\n<desc>" + html.EscapeString(c.Alt) + "</desc>\n<g "
	if _, err := w.Write(bytes.Replace(b.Bytes(), []byte("<g "), []byte(words), 1)); err != nil {
		return fmt.Errorf("write the chart as SVG: %w", err)
	}
	return nil
}

// WritePDF writes the chart as a PDF of one page of a size in points. The date
// is the document's own; the same date gives the same bytes.
func (c *Chart) WritePDF(w io.Writer, width, height float64, date time.Time) error {
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: width, Ht: height}})
	pdf.SetCreationDate(date)
	pdf.SetModificationDate(date)
	pdf.SetTitle(c.Title, true)
	pdf.SetSubject(c.Alt, true)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddPage()
	c.DrawOn(OnPage(pdf, 0, 0, height, 1), width, height)
	if err := pdf.Output(w); err != nil {
		return fmt.Errorf("write the chart as PDF: %w", err)
	}
	return nil
}

// DrawOn draws the chart on a canvas whose origin is its lower left corner.
func (c *Chart) DrawOn(canvas vg.Canvas, width, height float64) {
	dc := draw.NewCanvas(outlined{c.dress.dye(canvas)}, vg.Length(width), vg.Length(height))
	fillBox(&dc, dc.Rectangle, 0, paper)
	dc = draw.Crop(dc, 2, -2, 2, -2)
	if c.Title != "" {
		dc.FillText(bold(15, ink), vg.Point{X: dc.Min.X, Y: dc.Max.Y - 14}, c.Title)
		dc = draw.Crop(dc, 0, 0, 0, -26)
	}
	c.draw(dc)
}

// Most pixels in a direction: a size that is a mistake must not take all memory.
const mostPixels = 16384

func (c *Chart) raster(width, height, dpi float64) *vgimg.Canvas {
	dpi = math.Round(max(dpi, 1))
	limit := mostPixels * 72 / dpi
	width, height = min(max(width, 1), limit), min(max(height, 1), limit)
	ground := paper
	if c.dress != nil {
		ground = c.dress.Paper
	}
	canvas := vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(height)), vgimg.UseDPI(int(dpi)), vgimg.UseBackgroundColor(ground))
	c.DrawOn(canvas, width, height)
	return canvas
}
