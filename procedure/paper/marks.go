package paper

import (
	"fmt"
	"image"
	"io"
	"math"
	"sort"
	"strconv"
	"time"

	"kickover/procedure"
)

// Edge is the edge of a lever that lines up with a mark.
type Edge string

// The edges. Rear is the one nearer the pilot.
const (
	Front Edge = "front"
	Rear  Edge = "rear"
)

// Unit is what distances are written in.
type Unit string

// The units.
const (
	Millimetres Unit = "mm"
	Inches      Unit = "in"
)

// Marks is a strip at true scale to lay along a lever's slot.
type Marks struct {
	Aircraft string
	Lever    string           // "Throttle"
	Travel   float64          // mm
	Marks    []procedure.Mark // their At and Tolerance in mm from the stop
	Edge     Edge
	Unit     Unit
	Sheet    Sheet
	Date     time.Time
}

// MarksOf takes the throttle's marks from an aircraft. The edge and the unit may
// be empty: the edge is then the aircraft's, the unit mm.
func MarksOf(a *procedure.Aircraft, edge Edge, unit Unit, s Sheet, date time.Time) (Marks, error) {
	c, ok := a.Control(procedure.ControlThrottle)
	if !ok || c.Unit != "mm" || len(c.Marks) == 0 {
		return Marks{}, fmt.Errorf("%s has no throttle marks in mm: give them in its aircraft file, under the throttle's marks", a.Name)
	}
	m := Marks{
		Aircraft: a.Name, Lever: c.Name, Travel: float64(c.Travel), Marks: c.Marks,
		Edge: edge, Unit: unit, Sheet: s, Date: date,
	}
	if m.Edge == "" {
		m.Edge = Rear
		if c.Edge == "front" || c.Edge == "forward" {
			m.Edge = Front
		}
	}
	if m.Unit == "" {
		m.Unit = Millimetres
	}
	return m, nil
}

// check says what is wrong with the strip before anything is drawn.
func (m Marks) check() error {
	if m.Edge != Front && m.Edge != Rear {
		return fmt.Errorf("the lever has no %q edge: choose front or rear", m.Edge)
	}
	if m.Unit != Millimetres && m.Unit != Inches {
		return fmt.Errorf("distances cannot be written in %q: choose mm or in", m.Unit)
	}
	if room := m.Sheet.Width - 2*marksMargin - leverRoom; !(m.Travel > 0) || m.Travel > room {
		return fmt.Errorf("the %s travels %g mm and the sheet has room for %.0f mm: measure the travel again, or print on a larger sheet", m.Lever, m.Travel, room)
	}
	if room := m.Sheet.Width - 2*marksMargin; room < 4*25.4 {
		return fmt.Errorf("the sheet is %.0f mm wide and the check bars need %.0f mm: print on A4 or letter", m.Sheet.Width, 4*25.4+2*marksMargin)
	}
	if m.Sheet.Height < marksHeight {
		return fmt.Errorf("the strip with its cautions needs a sheet %.0f mm high and %s has %.0f: print on A4 or letter", marksHeight, m.Sheet.Name, m.Sheet.Height)
	}
	for _, k := range m.Marks {
		if at := float64(k.At); math.IsNaN(at) || at < 0 || at > m.Travel {
			return fmt.Errorf("the %s mark is at %g mm and the %s travels 0 to %g mm", k.Name, at, m.Lever, m.Travel)
		}
	}
	return nil
}

// Places on the strip's page, in mm from its upper edge.
const (
	marksMargin = 15.0
	leverRoom   = 12.0 // left of the zero line, for a lever whose front edge is used
	stripTop    = 92.0
	stripEdge   = stripTop + 28 // where the strip is cut: the marks end there
	// At markRow only the zero line and the marks cross the strip, and at barRow
	// above a check bar only its ends: where they may be measured.
	markRow   = stripTop + 1.5
	bar100Row = 148.0
	bar4inRow = 166.0
	barHeight = 5.0
	// The cautions end here, and no sheet may cut them off.
	marksHeight = 235.0
	lineWidth   = 0.25
	hairsWidth  = 0.15
)

// zero is where the strip's zero line stands.
func (m Marks) zero() float64 { return marksMargin + leverRoom }

// Write makes the PDF.
func (m Marks) Write(w io.Writer) error { return write(w, m) }

// Preview makes a picture of each page.
func (m Marks) Preview(dpi int) ([]image.Image, error) { return preview(m, dpi) }

func (m Marks) frame() (Sheet, float64) { return m.Sheet, marksMargin }
func (m Marks) title() string           { return m.Lever + " marks, " + m.Aircraft }
func (m Marks) date() time.Time         { return m.Date }

func (m Marks) draw(p *page) {
	p.add()
	x := p.text(p.left(), 24, "B", 18, black, m.Lever+" marks")
	p.text(x+4, 24, "", 11, grey, m.Aircraft+" · "+day(m.Date))
	m.instructions(p)
	m.strip(p)
	m.checkBars(p)
	m.cautions(p)
}

func (m Marks) instructions(p *page) {
	y := 34.0
	for i, s := range []string{
		"Print at 100 %: “actual size”, never “fit to page”.",
		"Measure both check bars with a steel rule. If one is off by more than 0.2 mm, do not use the strip.",
		"Cut along the dashed line; the scale's edge goes beside the slot. Close the " + lower(m.Lever) + " against its stop.",
		"Lay the strip along the slot so that its zero line touches the " + string(m.Edge) + " edge of the lever.",
		"Hold it there, move the lever away, and draw each mark beside the slot. Check: lever to the mark, " + string(m.Edge) + " edge on the line.",
	} {
		p.text(p.left(), y, "B", 10, black, strconv.Itoa(i+1))
		y = p.wrapped(p.left()+6, y, p.width()-6, "", 10, black, s) + 1.6
	}
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return string(s[0]|0x20) + s[1:]
}

// strip draws the scale along the edge to be cut, the lever against its stop, and
// the marks down to the edge.
func (m Marks) strip(p *page) {
	zero, end := m.zero(), m.zero()+m.Travel
	left, right := marksMargin-6, min(end+20, p.sheet.Width-5)
	p.box(left, stripTop-9, right-left, stripEdge-stripTop+9, .2, grey, 1.5, 1.2)
	m.lever(p, zero)
	m.scale(p, zero)
	p.line(zero, stripTop, zero, stripEdge, lineWidth, black)
	p.textCentre(zero, stripTop-2, "B", 8, black, "0")
	marks := append([]procedure.Mark(nil), m.Marks...)
	sort.Slice(marks, func(i, j int) bool { return marks[i].At < marks[j].At })
	for _, k := range marks {
		x := zero + float64(k.At)
		m.tolerance(p, x, float64(k.Tolerance))
		p.line(x, stripTop, x, stripEdge, lineWidth, black)
		p.triangle(x, stripTop-1, 1.4, black)
		p.textCentre(x, stripTop-4, "B", 9, black, k.Name)
		first, second := m.distance(float64(k.At))
		p.text(x+1.2, stripTop+5.4, "B", 8, black, first)
		p.text(x+1.2, stripTop+8.6, "", 7, grey, second)
	}
	p.text(left+2, stripTop-4, "", 7, grey, "← stop")
	p.textRight(right-2, stripTop-4, "", 7, grey, "open →")
	p.text(left+2, stripEdge-1.6, "", 6, grey, "cut here ↓")
}

// lever draws the lever where it stands against its stop: beyond its rear edge it
// lies toward open, beyond its front edge toward the stop.
func (m Marks) lever(p *page, zero float64) {
	const wide, high = 7.5, 6.0
	x, y := zero+.5, stripEdge-14.5
	if m.Edge == Front {
		x = zero - wide - .5
	}
	p.box(x, y, wide, high, .2, hair, .8, .8)
	p.textCentre(x+wide/2, y+2.6, "", 6, grey, "lever")
	p.textCentre(x+wide/2, y+5, "", 6, grey, "closed")
}

// scale draws ticks up from the edge.
func (m Marks) scale(p *page, zero float64) {
	step := 1.0
	if m.Unit == Inches {
		step = 25.4 / 10
	}
	for i := 0; float64(i)*step <= m.Travel+1e-9; i++ {
		x, h := zero+float64(i)*step, 1.6
		switch {
		case i%10 == 0:
			h = 4
			m.numeral(p, x, i)
		case i%5 == 0:
			h = 2.8
		}
		p.line(x, stripEdge-h, x, stripEdge, hairsWidth, grey)
	}
	p.text(zero+m.Travel+4.5, stripEdge-2.4, "", 7, grey, string(m.Unit))
}

// numeral stands to the right of a long tick, clear of a mark just short of it.
func (m Marks) numeral(p *page, x float64, i int) {
	if i == 0 {
		return // the zero line has its own
	}
	if m.Unit == Inches {
		i /= 10
	}
	p.text(x+.5, stripEdge-2.4, "", 7, grey, strconv.Itoa(i))
}

// tolerance brackets how far from a mark still counts as on it.
func (m Marks) tolerance(p *page, x, tol float64) {
	if tol <= 0 {
		return
	}
	y := stripEdge - 17.0
	p.line(x-tol, y, x+tol, y, .2, grey)
	p.line(x-tol, y-.8, x-tol, y+.8, .2, grey)
	p.line(x+tol, y-.8, x+tol, y+.8, .2, grey)
}

// distance writes a length in the chosen unit, and in mm below it where it was
// converted.
func (m Marks) distance(mm float64) (first, second string) {
	if m.Unit == Inches {
		return fmt.Sprintf("%.3f in", mm/25.4), fmt.Sprintf("(%.1f mm)", mm)
	}
	return fmt.Sprintf("%.1f mm", mm), ""
}

func (m Marks) checkBars(p *page) {
	for _, b := range []struct {
		y, length float64
		name      string
	}{{bar100Row, 100, "100 mm"}, {bar4inRow, 4 * 25.4, "4 inches (101.6 mm)"}} {
		x := p.left()
		p.line(x, b.y, x+b.length, b.y, lineWidth, black)
		for _, end := range []float64{x, x + b.length} {
			p.line(end, b.y-barHeight, end, b.y, lineWidth, black)
		}
		p.textCentre(x+b.length/2, b.y-1.5, "B", 10, black, "check bar: "+b.name)
	}
}

func (m Marks) cautions(p *page) {
	y := 182.0
	p.box(p.left(), y-6, p.width(), 40, .4, black)
	p.triangle(p.left()+6, y, 2.2, black)
	p.text(p.left()+11, y+1.2, "B", 11, black, "Before you mark an aeroplane")
	y += 8
	for _, s := range []string{
		"A mark on a certificated aircraft needs whoever may approve it. Ask your maintenance organisation or authority first, and use nothing that harms the paint or can peel into the quadrant.",
		"These distances are " + possessive(m.Aircraft) + ", as its file gives them. Yours are others: find them with your instructor on your own engine, and give them in your own aircraft file.",
		authority,
	} {
		y = p.wrapped(p.left()+6, y, p.width()-12, "", 9.5, black, s) + 1.4
	}
}

func possessive(name string) string { return "the " + name + "'s" }
