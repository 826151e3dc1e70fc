package paper

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/sfnt"

	"kickover/assets/fonts"
)

// Sheet is a size of paper, upright, in millimetres.
type Sheet struct {
	Name          string
	Width, Height float64
}

// The sheets: ISO 216 and the North American sizes (ANSI/ASME Y14.1 for letter,
// half of it for half letter).
var (
	A4         = Sheet{"A4", 210, 297}
	Letter     = Sheet{"letter", 215.9, 279.4}
	A5         = Sheet{"A5", 148, 210}
	HalfLetter = Sheet{"half-letter", 139.7, 215.9}
)

// SheetNamed finds a sheet by its name, in either case.
func SheetNamed(name string) (Sheet, error) {
	for _, s := range []Sheet{A4, Letter, A5, HalfLetter} {
		if strings.EqualFold(s.Name, name) {
			return s, nil
		}
	}
	return Sheet{}, fmt.Errorf("no paper is called %q: choose A4, letter, A5 or half-letter", name)
}

// page is a PDF being drawn, in millimetres from the upper left corner.
type page struct {
	pdf    *fpdf.Fpdf
	sheet  Sheet
	margin float64
}

func newPage(s Sheet, margin float64, title string, date time.Time) *page {
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: s.Width, Ht: s.Height}})
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(date)
	pdf.SetModificationDate(date)
	pdf.SetProducer("Kickover", true)
	pdf.SetTitle(title, true)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetMargins(0, 0, 0)
	pdf.SetCellMargin(0)
	pdf.AddUTF8FontFromBytes("Inter", "", fonts.RegularTrueType)
	pdf.AddUTF8FontFromBytes("Inter", "B", fonts.SemiBoldTrueType)
	return &page{pdf: pdf, sheet: s, margin: margin}
}

func (p *page) write(w io.Writer, what string) error {
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("write the %s: %w", what, err)
	}
	return nil
}

func (p *page) left() float64   { return p.margin }
func (p *page) right() float64  { return p.sheet.Width - p.margin }
func (p *page) bottom() float64 { return p.sheet.Height - p.margin }
func (p *page) width() float64  { return p.right() - p.left() }

// Greys of the page: text, what may be read later, hairlines, tints.
const (
	black = 0x14
	grey  = 0x50
	hair  = 0xa0
	tint  = 0xee
)

// type sizes are in points; a point is this many millimetres.
const point = 25.4 / 72

func (p *page) font(style string, size float64, level int) {
	p.pdf.SetFont("Inter", style, size)
	p.pdf.SetTextColor(level, level, level)
}

// text writes a line with its baseline at y and gives its right end.
func (p *page) text(x, y float64, style string, size float64, level int, s string) float64 {
	s = printable(s)
	p.font(style, size, level)
	p.pdf.Text(x, y, s)
	return x + p.pdf.GetStringWidth(s)
}

// textRight ends a line at x.
func (p *page) textRight(x, y float64, style string, size float64, level int, s string) {
	s = printable(s)
	p.font(style, size, level)
	p.pdf.Text(x-p.pdf.GetStringWidth(s), y, s)
}

// textCentre centres a line at x.
func (p *page) textCentre(x, y float64, style string, size float64, level int, s string) {
	s = printable(s)
	p.font(style, size, level)
	p.pdf.Text(x-p.pdf.GetStringWidth(s)/2, y, s)
}

// wrapped writes a paragraph, its first baseline at y, and gives the baseline
// that would follow.
func (p *page) wrapped(x, y, width float64, style string, size float64, level int, s string) float64 {
	p.font(style, size, level)
	for _, line := range p.lines(printable(s), width) {
		p.pdf.Text(x, y, line)
		y += size * point * 1.32
	}
	return y
}

// lines breaks a paragraph at spaces, for the font that is set.
func (p *page) lines(s string, width float64) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(s) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && p.pdf.GetStringWidth(longer) > width {
			out = append(out, line)
			longer = word
		}
		line = longer
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// fitted shortens a text to a width, for a font.
func (p *page) fitted(s string, width float64, style string, size float64) string {
	s = printable(s)
	p.font(style, size, black)
	if p.pdf.GetStringWidth(s) <= width {
		return s
	}
	runes := []rune(s)
	for len(runes) > 1 && p.pdf.GetStringWidth(string(runes)+"…") > width {
		runes = runes[:len(runes)-1]
	}
	return string(runes) + "…"
}

func (p *page) stroke(width float64, level int) {
	p.pdf.SetLineWidth(width)
	p.pdf.SetDrawColor(level, level, level)
	p.pdf.SetDashPattern(nil, 0)
	p.pdf.SetLineCapStyle("butt")
}

func (p *page) line(x0, y0, x1, y1, width float64, level int) {
	p.stroke(width, level)
	p.pdf.Line(x0, y0, x1, y1)
}

func (p *page) box(x, y, w, h, width float64, level int) {
	p.stroke(width, level)
	p.pdf.Rect(x, y, w, h, "D")
}

func (p *page) fill(x, y, w, h float64, level int) {
	p.pdf.SetFillColor(level, level, level)
	p.pdf.Rect(x, y, w, h, "F")
}

func (p *page) triangle(x, y, half float64, level int) {
	p.pdf.SetFillColor(level, level, level)
	p.pdf.Polygon([]fpdf.PointType{{X: x - half, Y: y + half*.85}, {X: x + half, Y: y + half*.85}, {X: x, Y: y - half}}, "F")
}

// blank is a line to write on, with what belongs there below it.
func (p *page) blank(x, y, width float64, what string) {
	p.line(x, y, x+width, y, .2, grey)
	p.text(x, y+3.2, "", 7, grey, what)
}

// day writes a date as it cannot be misread: 14 March 2026.
func day(t time.Time) string { return t.Format("2 January 2006") }

// celsius writes a temperature with a true minus.
func celsius(v float64) string {
	return strings.Replace(fmt.Sprintf("%.0f °C", v), "-", "−", 1)
}

// printable makes a text fit to be set: files' units as people read them, no
// control characters, and a question mark for what the typeface lacks. The PDF's
// writer fails on some of those.
func printable(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "?"), "degC", "°C")
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.IsControl(r) {
			return ' '
		}
		var buf sfnt.Buffer
		if glyph, err := letters().GlyphIndex(&buf, r); err != nil || glyph == 0 {
			return '?'
		}
		return r
	}, s)
}

var letters = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(fonts.RegularTrueType)
	if err != nil {
		panic(fmt.Sprintf("paper: the embedded font cannot be read: %v", err))
	}
	return f
})

// authority stands on every page.
const authority = "A training aid. The aeroplane's own handbook rules, then local rules and your instructor."

// propCaution stands wherever a start is described.
const propCaution = "A propeller can turn and kill at any time: treat it as live. Before every attempt: brakes held, look left, ahead, right, call CLEAR, wait for an answer."
