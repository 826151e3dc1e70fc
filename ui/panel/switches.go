package panel

import (
	"strings"

	"kickover/procedure"
)

// Rocker is a switch of two positions.
type Rocker struct {
	Control procedure.Control
	At      Rect // the box itself; the name stands below it, the key above
	Key     string
}

// RockerState is what a rocker shows.
type RockerState struct {
	Detent int8
	Aim    bool // the present step asks for it
}

// Area holds the box, the key and the names.
func (k Rocker) Area() Rect { return Rect{k.At.X - 10, k.At.Y - 28, k.At.W + 20, k.At.H + 72} }

// State is what the rocker shows at a position.
func (k Rocker) State(pos procedure.Position, aim bool) RockerState {
	return RockerState{Detent: int8(k.Control.Clamp(pos)), Aim: aim}
}

// Face draws the key and the name.
func (k Rocker) Face(p *Pen) {
	x := k.At.X + k.At.W/2
	if k.Key != "" {
		p.Key(k.Key, x, k.At.Y-16)
	}
	p.Text(k.Control.Name, x, k.At.Y+k.At.H+19, Middle, p.Fit(k.Control.Name, captionType(k.At), k.At.W+14, 9), p.Ink)
}

// Paint draws the paddle, up for the last detent, and the detent's name.
func (k Rocker) Paint(p *Pen, s RockerState) {
	r, x := k.At, k.At.X+k.At.W/2
	border, width := p.Line, 1.4
	if s.Aim {
		border, width = p.Now, 2.5
	}
	p.Box(r, 9, p.Well, border, width)
	name := strings.ToUpper(k.detent(s.Detent))
	on := s.Detent > 0
	ph := r.H * 0.36
	py, fill, word := r.Y+r.H-ph-9, p.Raised, p.Ink2
	if on {
		py, fill, word = r.Y+9, p.Ink, p.OK
	}
	p.Box(Rect{r.X + 11, py, r.W - 22, ph}, 6, fill, p.Line, 1.2)
	if on {
		p.Fill(Rect{x - 1, py + ph/2 - 5, 2, 10}, p.Well)
	} else {
		p.Ring(x, py+ph/2, 4.5, 1.6, p.Ink3)
	}
	if on {
		p.Tick(x-p.Measure(name, Label.Sized(12))/2-7, r.Y+r.H+33, 9, word)
		x += 7
	}
	p.Text(name, x, r.Y+r.H+37, Middle, Label.Sized(12), word)
}

func (k Rocker) detent(i int8) string {
	if int(i) < len(k.Control.Detents) {
		return k.Control.Detents[i]
	}
	return ""
}

// Brake is the toe brakes: a plate that says whether the feet hold them.
type Brake struct {
	Control procedure.Control
	At      Rect
	Key     string
}

// Area holds the plate, the key and the name.
func (b Brake) Area() Rect { return Rect{b.At.X - 10, b.At.Y - 28, b.At.W + 20, b.At.H + 72} }

// Face draws the key and the name.
func (b Brake) Face(p *Pen) {
	x := b.At.X + b.At.W/2
	if b.Key != "" {
		p.Key(b.Key, x, b.At.Y-16)
	}
	p.Text(b.Control.Name, x, b.At.Y+b.At.H+19, Middle, captionType(b.At), p.Ink)
}

// Paint draws the plate: green with a tick when held, an open amber one with a
// triangle when not.
func (b Brake) Paint(p *Pen, s RockerState) {
	r, x := b.At, b.At.X+b.At.W/2
	held := s.Detent > 0
	border, width, c := p.Caution, 1.6, p.Caution
	if held {
		border, width, c = p.OK, 2, p.OK
	}
	if s.Aim {
		border, width = p.Now, 2.5
	}
	p.Box(r, 9, p.Well, border, width)
	if held {
		p.Tick(x, r.Y+r.H/2-14, 13, c)
	} else {
		p.Triangle(x, r.Y+r.H/2-14, 12, c)
	}
	word := "OFF"
	if int(s.Detent) < len(b.Control.Detents) {
		word = strings.ToUpper(b.Control.Detents[s.Detent])
	}
	if t := p.Fit(word, Label, r.W-8, 8); t.Size >= 11 {
		p.Text(word, x, r.Y+r.H/2+14, Middle, t, c)
	} else {
		p.Text(word, x, r.Y+r.H+37, Middle, Label.Sized(12), c)
	}
}

// KeySwitch is a rotary switch laid out as a row of its positions, the sprung
// one set apart by its outline and a note.
type KeySwitch struct {
	Control procedure.Control
	At      Rect // the row
	Key     string
	Step    [2]string // keys that step back and on
}

// KeySwitchState is what a key switch shows.
type KeySwitchState struct {
	Detent int8
	Aim    int8 // the detent the present step asks for, or −1
	Held   bool // a sprung position is held
}

// Area holds the row, the name and the note.
func (k KeySwitch) Area() Rect { return Rect{k.At.X - 4, k.At.Y - 6, k.At.W + 8, k.At.H + 12} }

// Cell is the place of one detent.
func (k KeySwitch) Cell(i int) Rect {
	n := float64(len(k.Control.Detents))
	w := (k.At.W - 6*(n-1)) / n
	return Rect{k.At.X + float64(i)*(w+6), k.At.Y, w, k.At.H}
}

// Sprung reports whether a detent springs back when let go.
func (k KeySwitch) Sprung(i int) bool {
	return k.Control.Rest(procedure.Position(i)) != procedure.Position(i)
}

// Face draws the name and how to hold the sprung position.
func (k KeySwitch) Face(p *Pen) {
	p.Text(k.Control.Name, k.At.X, k.At.Y-13, Start, Label, p.Ink)
	x := k.At.X + k.At.W
	if k.Step[0] != "" {
		p.Key(k.Step[1], x-13, k.At.Y-18)
		p.Key(k.Step[0], x-41, k.At.Y-18)
		p.Text("turn", x-60, k.At.Y-13.5, End, Small, p.Ink2)
	}
	if k.Key != "" {
		note := "hold to crank; let go and it springs back"
		if p.Measure(note, Small) > k.At.W-36 {
			note = "hold to crank; it springs back"
		}
		p.Key(k.Key, x-p.Measure(note, Small)-22, k.At.Y+k.At.H+17)
		p.Text(note, x, k.At.Y+k.At.H+21, End, Small, p.Ink2)
	}
}

// Paint draws the row.
func (k KeySwitch) Paint(p *Pen, s KeySwitchState) {
	for i, name := range k.Control.Detents {
		r := k.Cell(i)
		fill, line, ink, w := p.Well, p.Line, p.Ink2, 1.2
		if k.Sprung(i) {
			line, ink = p.Ink2, p.Ink
		}
		if int(s.Aim) == i {
			line, ink, w = p.Now, p.Now, 2.5
		}
		if int(s.Detent) == i {
			fill, line, ink = p.Ink, p.Ink, p.Well
			if s.Held {
				fill, line, ink = p.Now, p.Now, p.Well
			}
		}
		p.Box(r, 6, fill, line, w)
		up := magnetoWord(name)
		y := r.Y + r.H/2 + 4.5
		if k.Sprung(i) {
			y -= 3.5
		}
		p.Text(up, r.X+r.W/2, y, Middle, p.Fit(up, Label.Sized(12.5).Weighted(3), r.W-6, 8), ink)
		if k.Sprung(i) {
			// A small spring under the word says that it comes back.
			spring := make([]Point, 0, 9)
			for j := range 9 {
				spring = append(spring, Point{r.X + r.W/2 + float64(j-4)*2.5, r.Y + r.H - 6 - float64(j%2)*4})
			}
			p.Polyline(1.2, ink, spring...)
		}
	}
}

// magnetoWord prints a detent as it is engraved beside an ignition key.
func magnetoWord(detent string) string {
	switch detent {
	case procedure.DetentRight:
		return "R"
	case procedure.DetentLeft:
		return "L"
	}
	return strings.ToUpper(detent)
}

// captionType is the type of the name under a switch: one size for a row.
func captionType(box Rect) Type {
	if box.W < 50 {
		return Label.Sized(11)
	}
	return Label.Sized(12)
}
