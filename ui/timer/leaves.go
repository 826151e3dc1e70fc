package timer

import (
	"fmt"
	"math"
	"strings"

	"kickover/procedure/timer"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// The pages that stand in the clock's place.

// caution stands wherever a record is shown.
const nobodys = "A practice note. It is nobody's maintenance record: the aeroplane's own books are kept elsewhere."

func (v *view) page(p *panel.Pen, title string) panel.Rect {
	r := v.left.Inset(20)
	p.Box(r, 16, p.Panel, p.Line, 1.5)
	p.Text(title, r.X+30, r.Y+54, panel.Start, p.Fit(title, panel.Head.Sized(32), r.W-60, 18), p.Ink)
	return r
}

// airState is the air and the last shutdown, and of a start that was made all that
// is kept.
type airState struct {
	celsius, metres, ago string
	made                 bool
	facts, note          string
}

func (v *view) airOf(p *picture) airState {
	s := airState{celsius: "not set", metres: "not set", ago: "not known"}
	if !math.IsNaN(p.Celsius) {
		s.celsius = v.units.Celsius(p.Celsius)
	}
	if !math.IsNaN(p.AltitudeM) {
		s.metres = v.units.Metres(p.AltitudeM)
	}
	if p.Ago >= 0 {
		s.ago = timer.Spoken(p.Ago)
	}
	if r := p.Record; r != nil {
		s.made, s.note = true, r.Note
		prime := "no prime"
		if r.Prime > 0 {
			prime = fmt.Sprintf("prime %.1f s", r.Prime.Seconds())
		}
		attempts := "1 attempt"
		if r.Attempts != 1 {
			attempts = fmt.Sprintf("%d attempts", r.Attempts)
		}
		s.facts = strings.Join([]string{p.Aeroplane.Title(), p.Situation, prime, attempts, string(r.Outcome)}, " · ")
	}
	return s
}

const (
	rowHigh   = 74
	plateWide = 84
	plateHigh = 58
)

// airRow is where the row of a number begins.
func (v *view) airRow(i int) (y float64) { return v.left.Y + 20 + 84 + float64(i)*rowHigh }

// airPlate is the plate that makes a row's value less or more.
func (v *view) airPlate(row int, more bool) panel.Rect {
	x := v.left.X + v.left.W - 20 - 30 - 2*plateWide - 12
	if more {
		x += plateWide + 12
	}
	return panel.Rect{X: x, Y: v.airRow(row), W: plateWide, H: plateHigh}
}

func (v *view) airPlates() []plate {
	var out []plate
	for row, does := range []deed{doesWarmer, doesHigher, doesLonger} {
		out = append(out, plate{v.airPlate(row, false), does, -1}, plate{v.airPlate(row, true), does, 1})
	}
	return out
}

func (v *view) paintAir(p *panel.Pen, s airState) {
	title := "The air, and the last shutdown"
	if s.made {
		title = "The record of this start"
	}
	r := v.page(p, title)
	x, w := r.X+30, r.W-60
	for i, row := range [][3]string{
		{"Air temperature", s.celsius, "keys ↓ ↑"}, {"Pressure altitude", s.metres, "keys ← →"}, {"Since shutdown", s.ago, "keys PgDn PgUp"},
	} {
		y := v.airRow(i)
		p.Text(row[0], x, y+28, panel.Start, panel.Body.Sized(24), p.Ink2)
		p.Text(row[2], x, y+53, panel.Start, panel.Body.Sized(18), p.Ink3)
		less, more := v.airPlate(i, false), v.airPlate(i, true)
		p.Text(row[1], less.X-24, y+39, panel.End, panel.Title.Sized(32), p.Ink)
		for _, b := range []struct {
			at   panel.Rect
			sign string
		}{{less, "−"}, {more, "+"}} {
			p.Box(b.at, 12, p.Raised, p.Now, 2.5)
			p.Text(b.sign, b.at.X+b.at.W/2, b.at.Y+42, panel.Middle, panel.Title.Sized(38), p.Ink)
		}
	}
	y := v.airRow(3) + 30
	if s.made {
		y = p.Paragraph(s.facts, x, y, w, 32, 2, panel.Start, panel.Body.Sized(25), p.Ink) + 8
		note := "No note. T writes one, or choose one below the button."
		ink := p.Ink2
		if s.note != "" {
			note, ink = "“"+s.note+"”", p.Ink
		}
		p.Paragraph(note, x, y, w, 32, 3, panel.Start, panel.Body.Sized(25), ink)
	} else {
		p.Paragraph("The time since shutdown suggests cold, warm or hot. All three go into the record of the start; change them whenever nothing is timed.", x, y, w, 30, 4, panel.Start, panel.Body.Sized(23), p.Ink2)
	}
	y = r.Y + r.H - 52
	p.Triangle(x+8, y-7, 15, p.Caution)
	p.Paragraph(nobodys, x+28, y, w-28, 26, 2, panel.Start, panel.Body.Sized(20), p.Ink2)
}

// fleetState is the aeroplanes to choose from.
type fleetState struct {
	names   string // title, tab, aircraft, joined by line feeds
	boarded int
	kind    string
}

// mostAeroplanes is how many have room; those used last come first.
const mostAeroplanes = 6

func fleetOf(p *picture, l leaf) fleetState {
	return fleetState{
		names:   strings.Join(l.fleet[:min(len(l.fleet), mostAeroplanes)], "\n"),
		boarded: l.boarded, kind: p.Aeroplane.Library.Aircraft.Name,
	}
}

func (v *view) fleetPlates(s fleetState) []plate {
	var out []plate
	at := panel.Rect{X: v.left.X + 50, Y: v.left.Y + 20 + 80, W: v.left.W - 100, H: 60}
	for i := range strings.Split(s.names, "\n") {
		out = append(out, plate{at, doesBoard, i})
		at.Y += at.H + 10
	}
	return append(out, plate{at: at, does: doesType})
}

func (v *view) paintFleet(p *panel.Pen, s fleetState) {
	v.page(p, "Which aeroplane?")
	names := strings.Split(s.names, "\n")
	for i, pl := range v.fleetPlates(s) {
		r := pl.at
		if pl.does == doesType {
			p.Box(r, 12, theme.Mix(p.Ground, p.Raised, 0.6), p.Line, 1.5)
			text := "T  another registration of the " + s.kind
			p.Text(text, r.X+22, r.Y+39, panel.Start, p.Fit(text, panel.Body.Sized(24), r.W-44, 14), p.Ink2)
			continue
		}
		line, width := p.Line, 1.5
		if i == s.boarded {
			line, width = p.Now, 4
		}
		p.Box(r, 12, p.Raised, line, width)
		title, kind, _ := strings.Cut(names[i], "\t")
		p.Text(fmt.Sprint(i+1), r.X+22, r.Y+40, panel.Start, panel.Body.Sized(24), p.Ink3)
		p.Text(title, r.X+58, r.Y+40, panel.Start, p.Fit(title, panel.Title.Sized(28), r.W*0.55, 14), p.Ink)
		if kind != title {
			p.Text(kind, r.X+r.W-22, r.Y+40, panel.End, panel.Body.Sized(22), p.Ink2)
		}
	}
}

// entryState is a line being typed.
type entryState struct{ asked, text string }

func (v *view) paintEntry(p *panel.Pen, s entryState) {
	r := v.page(p, s.asked)
	x, w := r.X+30, r.W-60
	box := panel.Rect{X: x, Y: r.Y + 90, W: w, H: 200}
	p.Box(box, 12, p.Ground, p.Now, 3)
	p.Paragraph(s.text+"|", box.X+20, box.Y+48, box.W-40, 38, 4, panel.Start, panel.Title.Sized(29), p.Ink)
	p.Paragraph("Enter keeps it. Escape leaves all as it was.", x, box.Y+box.H+46, w, 30, 2, panel.Start, panel.Body.Sized(23), p.Ink2)
}

// helpState is what the help must say of this computer.
type helpState struct{ direct, latch bool }

// helpLine is a key on the page; one with a deed may be pressed there.
type helpLine struct {
	key, text string
	does      deed
}

func (s helpState) lines() []helpLine {
	return []helpLine{
		{"N", "dusk, day, night", doesDress}, {"F", "the whole display", doesFill},
		{"M", primeText(s.latch), doesPrime}, {"C", "air, last shutdown", doesAir},
		{"A", "another aeroplane", doesFleet}, {"H", "this page", doesHelp},
		{"U", "undo, for two seconds", ""}, {"T", "write a note", ""},
		{"1–9", "situation, or note", ""}, {"Pg", "up, down: since shutdown", ""},
		{"↑ ↓", "air temperature", ""}, {"← →", "pressure altitude", ""},
	}
}

// helpLineAt is where a line stands: in two columns.
func (v *view) helpLineAt(i int) panel.Rect {
	const high = 36
	r := v.left.Inset(20)
	w := (r.W - 60) / 2
	return panel.Rect{X: r.X + 30 + float64(i%2)*w, Y: r.Y + 168 + float64(i/2)*high, W: w - 8, H: high - 4}
}

func (v *view) helpPlates(s helpState) []plate {
	var out []plate
	for i, l := range s.lines() {
		if l.does != "" {
			out = append(out, plate{at: v.helpLineAt(i), does: l.does})
		}
	}
	return out
}

func (v *view) paintHelp(p *panel.Pen, s helpState) {
	r := v.page(p, "One button")
	x, w := r.X+30, r.W-60
	p.Paragraph("Space, or any mouse button anywhere. What it does now is written on it; the small line is what holding it down does instead. The keys in boxes can be pressed here too.", x, r.Y+86, w, 26, 3, panel.Start, panel.Body.Sized(20), p.Ink2)
	y := 0.0
	for i, l := range s.lines() {
		at := v.helpLineAt(i)
		if l.does != "" {
			p.Box(at, 8, p.Raised, p.Line, 1.5)
		}
		p.Text(l.key, at.X+30, at.Y+23, panel.Middle, panel.Title.Sized(20), p.Ink2)
		p.Text(l.text, at.X+64, at.Y+23, panel.Start, p.Fit(l.text, panel.Body.Sized(20), at.W-70, 14), p.Ink)
		y = at.Y + at.H - 8
	}
	resolution := "Keys and mouse are seen every 17 ms here, so that a time may be wrong by about as much; tenths are shown."
	if s.direct {
		resolution = "The key's times are the display server's, right to a few milliseconds; a mouse's are right to 17 ms. Tenths are shown."
	}
	y = p.Paragraph(resolution, x, y+44, w, 26, 0, panel.Start, panel.Body.Sized(20), p.Ink2)
	p.Triangle(x+8, y+12, 15, p.Caution)
	p.Paragraph("The propeller kills. Fire, smoke or fuel on the ground: the handbook's drill, not this clock. The aeroplane's handbook, local rules and your instructor rule over it. Its records are nobody's maintenance record.", x+28, y+18, w-28, 26, 0, panel.Start, panel.Body.Sized(20), p.Ink)
}

func primeText(latch bool) string {
	if latch {
		return "prime by holding it"
	}
	return "prime by two presses"
}
