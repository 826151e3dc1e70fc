package paper

import (
	"bytes"
	"fmt"
	"io"

	"codeberg.org/go-pdf/fpdf"

	"kickover/assets/fonts"
	"kickover/procedure/chart"
)

// pdfTarget draws pages into a PDF.
type pdfTarget struct{ pdf *fpdf.Fpdf }

// write makes the PDF of a document. Nothing is written when the document cannot
// be printed.
func write(w io.Writer, f form) error {
	if err := f.check(); err != nil {
		return err
	}
	s, _ := f.frame()
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: s.Width, Ht: s.Height}})
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(f.date())
	pdf.SetModificationDate(f.date())
	pdf.SetProducer("Kickover", true)
	pdf.SetTitle(f.title(), true)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddUTF8FontFromBytes("Inter", "", fonts.RegularTrueType)
	pdf.AddUTF8FontFromBytes("Inter", "B", fonts.SemiBoldTrueType)
	lay(f, pdfTarget{pdf})
	var b bytes.Buffer
	if err := pdf.Output(&b); err != nil {
		return fmt.Errorf("make the PDF of %s: %w", f.title(), err)
	}
	if _, err := w.Write(atActualSize(b.Bytes())); err != nil {
		return fmt.Errorf("write the PDF of %s: %w", f.title(), err)
	}
	return nil
}

// atActualSize asks viewers not to scale the page when they print it
// (ISO 32000-1, table 150, PrintScaling). The PDF's writer has no such option, so
// it is put into the catalogue, which stands last, and the position of what
// follows is mended. A file that looks otherwise is left as it is.
func atActualSize(file []byte) []byte {
	const catalogue, pointer = "/Type /Catalog\n", "startxref\n"
	const wish = "/ViewerPreferences <</PrintScaling /None>>\n"
	into, end := bytes.LastIndex(file, []byte(catalogue)), bytes.LastIndex(file, []byte(pointer))
	if into < 0 || end < into {
		return file
	}
	into, end = into+len(catalogue), end+len(pointer)
	var table int
	if _, err := fmt.Sscan(string(file[end:]), &table); err != nil || table < into || table > end ||
		!bytes.HasPrefix(file[table:], []byte("xref\n")) || bytes.Count(file[into:table], []byte("endobj")) != 1 {
		return file
	}
	var out bytes.Buffer
	out.Write(file[:into])
	out.WriteString(wish)
	out.Write(file[into:end])
	fmt.Fprintf(&out, "%d\n%%%%EOF\n", table+len(wish))
	return out.Bytes()
}

func (t pdfTarget) addPage() { t.pdf.AddPage() }

func (t pdfTarget) text(x, y float64, bold bool, size float64, level int, s string) {
	style := ""
	if bold {
		style = "B"
	}
	t.pdf.SetFont("Inter", style, size)
	t.pdf.SetTextColor(level, level, level)
	t.pdf.Text(x, y, s)
}

func (t pdfTarget) stroke(width float64, level int, dashes []float64) {
	t.pdf.SetLineWidth(width)
	t.pdf.SetDrawColor(level, level, level)
	t.pdf.SetDashPattern(dashes, 0)
	t.pdf.SetLineCapStyle("butt")
}

func (t pdfTarget) line(x0, y0, x1, y1, width float64, level int) {
	t.stroke(width, level, nil)
	t.pdf.Line(x0, y0, x1, y1)
}

func (t pdfTarget) box(x, y, w, h, width float64, level int, dashes ...float64) {
	t.stroke(width, level, dashes)
	t.pdf.Rect(x, y, w, h, "D")
}

func (t pdfTarget) fill(x, y, w, h float64, level int) {
	t.pdf.SetFillColor(level, level, level)
	t.pdf.Rect(x, y, w, h, "F")
}

func (t pdfTarget) polygon(points [][2]float64, level int) {
	t.pdf.SetFillColor(level, level, level)
	corners := make([]fpdf.PointType, len(points))
	for i, p := range points {
		corners[i] = fpdf.PointType{X: p[0], Y: p[1]}
	}
	t.pdf.Polygon(corners, "F")
}

func (t pdfTarget) chart(c *chart.Chart, x, y, wide, high, mmPerPoint float64) {
	c.DrawOn(chart.OnPage(t.pdf, x, y, high*mmPerPoint, mmPerPoint), wide, high)
}
