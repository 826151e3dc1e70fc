package paper

import (
	"fmt"
	"strings"
	"sync"
	"time"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"kickover/assets/fonts"
	"kickover/procedure/chart"
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

// form is something to be printed.
type form interface {
	check() error
	frame() (s Sheet, margin float64)
	title() string
	date() time.Time
	draw(p *page)
}

// page is what a document is drawn on, in millimetres from the upper left corner.
type page struct {
	to     target
	sheet  Sheet
	margin float64
	number int // of the present page
	total  int // of all pages; zero while they are counted

	bold bool
	size float64 // points
}

// target is where pages go: a PDF or the pictures of a preview.
type target interface {
	addPage()
	text(x, y float64, bold bool, size float64, level int, s string)
	line(x0, y0, x1, y1, width float64, level int)
	box(x, y, w, h, width float64, level int, dashes ...float64)
	fill(x, y, w, h float64, level int)
	polygon(points [][2]float64, level int)
	chart(c *chart.Chart, x, y, wide, high, mmPerPoint float64)
}

// uncounted is a target that keeps nothing: pages are counted on it first.
type uncounted struct{}

func (uncounted) addPage()                                              {}
func (uncounted) text(_, _ float64, _ bool, _ float64, _ int, _ string) {}
func (uncounted) line(_, _, _, _, _ float64, _ int)                     {}
func (uncounted) box(_, _, _, _, _ float64, _ int, _ ...float64)        {}
func (uncounted) fill(_, _, _, _ float64, _ int)                        {}
func (uncounted) polygon(_ [][2]float64, _ int)                         {}
func (uncounted) chart(_ *chart.Chart, _, _, _, _, _ float64)           {}

// lay draws a document on a target.
func lay(f form, to target) {
	s, margin := f.frame()
	count := &page{to: uncounted{}, sheet: s, margin: margin}
	f.draw(count)
	f.draw(&page{to: to, sheet: s, margin: margin, total: count.number})
}

func (p *page) add() {
	p.number++
	p.to.addPage()
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

func (p *page) font(style string, size float64) { p.bold, p.size = style == "B", size }

// measure is how wide a text is in the font that is set.
func (p *page) measure(s string) float64 {
	face := font.Face{Font: font.Font{Size: vg.Length(p.size)}, Face: letters(p.bold)}
	return float64(face.Width(s)) * point
}

// text writes a line with its baseline at y and gives its right end.
func (p *page) text(x, y float64, style string, size float64, level int, s string) float64 {
	s = printable(s)
	p.font(style, size)
	p.to.text(x, y, p.bold, size, level, s)
	return x + p.measure(s)
}

// textRight ends a line at x.
func (p *page) textRight(x, y float64, style string, size float64, level int, s string) {
	s = printable(s)
	p.font(style, size)
	p.to.text(x-p.measure(s), y, p.bold, size, level, s)
}

// textCentre centres a line at x.
func (p *page) textCentre(x, y float64, style string, size float64, level int, s string) {
	s = printable(s)
	p.font(style, size)
	p.to.text(x-p.measure(s)/2, y, p.bold, size, level, s)
}

// wrapped writes a paragraph, its first baseline at y, and gives the baseline
// that would follow.
func (p *page) wrapped(x, y, width float64, style string, size float64, level int, s string) float64 {
	p.font(style, size)
	for _, line := range p.lines(printable(s), width) {
		p.to.text(x, y, p.bold, size, level, line)
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
		if line != "" && p.measure(longer) > width {
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
	p.font(style, size)
	if p.measure(s) <= width {
		return s
	}
	runes := []rune(s)
	for len(runes) > 1 && p.measure(string(runes)+"…") > width {
		runes = runes[:len(runes)-1]
	}
	return string(runes) + "…"
}

func (p *page) line(x0, y0, x1, y1, width float64, level int) {
	p.to.line(x0, y0, x1, y1, width, level)
}

func (p *page) box(x, y, w, h, width float64, level int, dashes ...float64) {
	p.to.box(x, y, w, h, width, level, dashes...)
}

func (p *page) fill(x, y, w, h float64, level int) { p.to.fill(x, y, w, h, level) }

func (p *page) triangle(x, y, half float64, level int) {
	p.to.polygon([][2]float64{{x - half, y + half*.85}, {x + half, y + half*.85}, {x, y - half}}, level)
}

// blank is a line to write on, with what belongs there below it.
func (p *page) blank(x, y, width float64, what string) {
	p.line(x, y, x+width, y, .2, grey)
	p.text(x, y+3.2, "", 7, grey, what)
}

// day writes a date as it cannot be misread: 14 March 2026.
func day(t time.Time) string { return t.Format("2 January 2006") }

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
		if glyph, err := letters(false).GlyphIndex(&buf, r); err != nil || glyph == 0 {
			return '?'
		}
		return r
	}, s)
}

// letters is the typeface that is embedded.
func letters(bold bool) *sfnt.Font { return parsed()[map[bool]int{false: 0, true: 1}[bold]] }

var parsed = sync.OnceValue(func() (both [2]*sfnt.Font) {
	for i, data := range [][]byte{fonts.RegularTrueType, fonts.SemiBoldTrueType} {
		f, err := sfnt.Parse(data)
		if err != nil {
			panic(fmt.Sprintf("paper: the embedded font cannot be read: %v", err))
		}
		both[i] = f
	}
	return both
})

// authority stands on every page.
const authority = "A training aid. The aeroplane's own handbook rules, then local rules and your instructor."

// propCaution stands wherever a start is described.
const propCaution = "A propeller can turn and kill at any time: treat it as live. Before every attempt: brakes held, look left, ahead, right, call CLEAR, wait for an answer."
