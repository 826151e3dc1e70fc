package panel

import (
	"image/color"
	"strings"

	"kickover/procedure"
)

// Toggle is a switch that is seldom used, drawn small: its name, its key and
// the word for where it stands.
type Toggle struct {
	Control procedure.Control
	At      Rect
	Key     string
}

// Face draws the name and the key.
func (g Toggle) Face(p *Pen) {
	r := g.At
	name := g.Control.Name
	p.Text(name, r.X+6, r.Y+14, Start, p.Fit(name, Label.Sized(11), r.W-8, 9), p.Ink)
	if g.Key != "" {
		p.Key(g.Key, r.X+19, r.Y+29)
	}
}

// Paint draws the word, with a tick where the switch is on.
func (g Toggle) Paint(p *Pen, s RockerState) {
	r := g.At
	if s.Aim {
		p.Box(r, 7, color.NRGBA{}, p.Now, 2.2)
	}
	word := ""
	if int(s.Detent) < len(g.Control.Detents) {
		word = strings.ToUpper(g.Control.Detents[s.Detent])
	}
	x, ink := r.X+37, p.Ink2
	if s.Detent > 0 {
		ink = p.OK
		p.Tick(x+5, r.Y+29, 9, ink)
		x += 14
	}
	p.Text(word, x, r.Y+33.3, Start, p.Fit(word, Label.Sized(12), r.X+r.W-4-x, 8), ink)
}

// Lamps is a box of lamps, a line each. What whoever looks and smells notices is
// shown as a lamp too.
type Lamps struct {
	Instruments []procedure.Instrument
	At          Rect
}

// MostLamps is how many a box has room for.
const MostLamps = 4

// LampsState is what the lamps show.
type LampsState struct {
	Lit   [MostLamps]bool
	Asked [MostLamps]bool
}

// Line is the place of one lamp.
func (l Lamps) Line(i int) Rect {
	h := (l.At.H - 8) / MostLamps
	top := l.At.Y + 4 + h*float64(MostLamps-len(l.Instruments))/2
	return Rect{l.At.X + 3, top + float64(i)*h, l.At.W - 6, h}
}

// Face draws the box.
func (l Lamps) Face(p *Pen) { p.Box(l.At, 8, p.Well, p.Line, 1.2) }

// Paint draws the lamps: a ring is dark; smoke is a red square, the starter's
// light a disc, anything else a triangle.
func (l Lamps) Paint(p *Pen, s LampsState) {
	for i, in := range l.Instruments {
		if i == MostLamps {
			return
		}
		r := l.Line(i)
		if s.Asked[i] {
			p.Box(r, 5, color.NRGBA{}, p.Now, 1.6)
		}
		x, y, ink := r.X+12, r.Y+r.H/2, p.Ink2
		switch {
		case !s.Lit[i]:
			p.Ring(x, y, 4, 1.3, p.Ink3)
		case in.ID == procedure.InstrumentSmoke:
			p.Square(x, y, 10, p.Warn)
		case in.ID == procedure.InstrumentStarterLight:
			p.Disc(x, y, 5.5, p.Caution)
		default:
			p.Triangle(x, y, 11, p.Caution)
		}
		t := Small.Sized(13)
		if s.Lit[i] {
			ink, t = p.Ink, Label
		}
		p.Text(in.Name, r.X+23, y+4.2, Start, p.Fit(in.Name, t, r.W-27, 9), ink)
	}
}
