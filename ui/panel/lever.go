package panel

import (
	"image/color"
	"math"
	"strconv"
	"strings"

	"kickover/procedure"
	"kickover/procedure/units"
	"kickover/ui/theme"
)

// Lever is a control that slides: its slot, its scale in millimetres and
// inches, its marks, and the knob that the hand holds.
type Lever struct {
	Control procedure.Control
	At      Rect     // all of it
	Keys    []string // that move it, as printed on their caps
	Snap    []string // that move it to the next mark
	Notes   bool     // room for the names of its marks at its right
	Units   units.Units
}

// LeverState is what a lever shows.
type LeverState struct {
	Pixel   int16   // of the knob's lining-up edge above the low end, in half units
	Reading string  // "28 mm · 1.10 in", empty where no figure may be shown
	Aim     float64 // the mark to aim for, in the control's unit; NaN is none
	Aiming  bool
	Held    bool // in the hand
}

// The knob, in units.
const (
	knobW = 58
	knobH = 30
)

// Track is the slot's straight line: x, and the y of the low and the high end.
func (l Lever) Track() (x, low, high float64) {
	x = l.At.X + l.At.W*0.55
	if l.Notes {
		x = l.At.X + 94
	}
	return x, l.At.Y + l.At.H - 68, l.At.Y + 40
}

// Moving is the part of the lever that its knob moves in.
func (l Lever) Moving() Rect {
	x, low, high := l.Track()
	right := min(x+knobW/2+18, l.At.X+l.At.W)
	left := x - knobW/2 - 18
	return Rect{left, high - knobH - 3, right - left, low - high + knobH + 48}
}

// Beside is the part at the right of that, in which the marks have their names.
func (l Lever) Beside() Rect {
	m := l.Moving()
	return Rect{m.X + m.W, m.Y, max(l.At.X+l.At.W-m.X-m.W-2, 0), m.H - 30}
}

// Y is where the lining-up edge stands for a position.
func (l Lever) Y(p procedure.Position) float64 {
	_, low, high := l.Track()
	return low + (high-low)*float64(p/l.Control.Travel)
}

// Position is where the lever is put by a hand at y.
func (l Lever) Position(y float64) procedure.Position {
	_, low, high := l.Track()
	return l.Control.Clamp(procedure.Position((y - low) / (high - low) * float64(l.Control.Travel)))
}

// Knob is where the knob is at a position. Its lower side is the aft one: that
// is the edge that lines up.
func (l Lever) Knob(p procedure.Position) Rect {
	x, _, _ := l.Track()
	return Rect{x - knobW/2, l.Y(p) - knobH, knobW, knobH}
}

// State is what the lever shows. Aim is the target's position, or NaN.
func (l Lever) State(p procedure.Position, aim float64, figures, held bool) LeverState {
	_, low, _ := l.Track()
	s := LeverState{Pixel: int16(math.Round((low - l.Y(p)) * 2)), Held: held}
	if !math.IsNaN(aim) {
		s.Aim, s.Aiming = aim, true
	}
	if figures && l.Control.Unit == "mm" {
		s.Reading = l.Units.Millimetres(float64(p)) + " · " + l.other().Millimetres(float64(p))
	} else if figures {
		s.Reading = l.ends(p)
	}
	return s
}

// other is the unit that stands second: whoever reads inches has them first.
func (l Lever) other() units.Units {
	if l.Units.Lever == "in" {
		return units.Units{}
	}
	return units.Units{Lever: "in"}
}

// ends names a lever's position in the words for its ends.
func (l Lever) ends(p procedure.Position) string {
	f := float64(p / l.Control.Travel)
	switch {
	case f <= 0.005:
		return l.Control.Low
	case f >= 0.995:
		return l.Control.High
	default:
		return strconv.Itoa(int(math.Round(f*100))) + " %"
	}
}

// Face draws the slot, the scales, the ends' names and the keys.
func (l Lever) Face(p *Pen) {
	x, low, high := l.Track()
	p.Box(Rect{x - 5, high - 4, 10, low - high + 8}, 5, p.Well, p.Line, 1.2)
	if l.Control.Unit == "mm" {
		l.scales(p)
	} else {
		p.Text(l.Control.High, x-knobW/2-8, high+4, End, Small.Sized(13), p.Ink2)
		p.Text(l.Control.Low, x-knobW/2-8, low+4, End, Small.Sized(13), p.Ink2)
	}
	for _, m := range l.Control.Marks {
		l.mark(p, m, p.Ink2)
	}
	p.Text(l.Control.Name, x, low+24, Middle, Label, p.Ink)
	kx := x - float64(len(l.Keys)-1)*17
	for _, k := range l.Keys {
		p.Key(k, kx, low+54)
		kx += 34
	}
	if !l.Notes {
		return
	}
	nx := x + knobW/2 + 20
	if l.Control.Edge != "" {
		y := l.roomy()
		p.Text(l.Control.Edge+" edge", nx, y-3, Start, Small, p.Ink2)
		p.Text("lines up", nx, y+12, Start, Small, p.Ink2)
	}
	if len(l.Snap) > 0 {
		p.Text("to a mark", nx, low+24, Start, Small, p.Ink2)
	}
	for i, k := range l.Snap {
		p.Key(k, nx+12+float64(i)*34, low+54)
	}
}

// scales draws millimetres at the left of a common spine and inches beyond it.
func (l Lever) scales(p *Pen) {
	x, low, high := l.Track()
	spine := x - 62
	p.Rule(spine, high, spine, low+1, p.Line)
	metric, inches := p.Ink2, p.Ink3
	if l.Units.Lever == "in" {
		metric, inches = inches, metric
	}
	travel := float64(l.Control.Travel)
	for mm := 0.0; mm <= travel+0.01; mm += 2 {
		y, n := l.Y(procedure.Position(mm)), int(math.Round(mm))
		w := 5.0
		if n%10 == 0 {
			w = 9
		}
		p.Rule(spine, y, spine+w, y, p.Ink3)
		if n%20 == 0 {
			p.Text(strconv.Itoa(n), spine+13, y+4, Start, Tiny, metric)
		}
	}
	for q := 0; float64(q)*6.35 <= travel+0.01; q++ {
		y := l.Y(procedure.Position(float64(q) * 6.35))
		w := 4.0
		if q%4 == 0 {
			w = 9
			p.Text(strconv.Itoa(q/4), spine-13, y+4, End, Tiny, inches)
		}
		p.Rule(spine-w, y, spine, y, p.Ink3)
	}
	p.Text("in", spine-8, high-13, End, Tiny, inches)
	p.Text("mm", spine+6, high-13, Start, Tiny, metric)
}

// markName is a mark's name with its place, where the lever has a scale.
func (l Lever) markName(m procedure.Mark) string {
	if l.Control.Unit == "" {
		return m.Name
	}
	if l.Control.Unit == "mm" && l.Units.Lever == "in" {
		return m.Name + " " + l.Units.Millimetres(float64(m.At))
	}
	return m.Name + " " + strconv.FormatFloat(float64(m.At), 'f', -1, 64) + " " + l.Control.Unit
}

// roomy is a height on the slot with no mark near it, for a note.
func (l Lever) roomy() float64 {
	for _, f := range []float64{0.7, 0.5, 0.3} {
		free := true
		for _, m := range l.Control.Marks {
			free = free && math.Abs(float64(m.At/l.Control.Travel)-f) > 0.14
		}
		if free {
			return l.Y(procedure.Position(f) * l.Control.Travel)
		}
	}
	return l.Y(l.Control.Travel)
}

// PaintAim draws the mark to aim for.
func (l Lever) PaintAim(p *Pen, s LeverState) {
	if s.Aiming {
		l.aim(p, s.Aim)
	}
}

// AimState is the state with only what PaintAim draws.
func (s LeverState) AimState() LeverState { return LeverState{Aim: s.Aim, Aiming: s.Aiming} }

// mark draws a mark's line of paint across the slot and its name.
func (l Lever) mark(p *Pen, m procedure.Mark, c color.NRGBA) {
	x, _, _ := l.Track()
	y := l.Y(m.At)
	p.Fill(Rect{x - 22, y - 1, knobW/2 + 36, 2}, c)
	if l.Notes {
		p.Text(l.markName(m), x+knobW/2+20, y+4, Start, Label.Sized(12), c)
	}
}

// Paint draws what moves: the knob with its lining-up edge, the figure, the
// mark to aim for.
func (l Lever) Paint(p *Pen, s LeverState) {
	x, low, _ := l.Track()
	l.PaintAim(p, s)
	y := low - float64(s.Pixel)/2
	fill, edge, grip := p.Raised, p.Line, p.Line
	if s.Held {
		edge, grip = p.Ink, p.Ink
	}
	if l.Control.ID == procedure.ControlMixture { // on whose red the day's ink is too dark
		fill, grip = p.Red, p.OnRed
		if !s.Held {
			edge = theme.Mix(p.Red, p.Ink, 0.25)
		}
	}
	p.Box(Rect{x - knobW/2, y - knobH, knobW, knobH}, 7, fill, edge, 1.4)
	for i := range 3 {
		gy := y - knobH + 8 + float64(i)*5
		p.Fill(Rect{x - 12, gy, 24, 1.2}, grip)
	}
	// The edge that lines up is drawn out to the scale.
	p.Fill(Rect{x - knobW/2, y - 2.2, knobW, 2.6}, p.Ink)
	l.reading(p, s.Reading, x, low+40)
}

// reading draws the figure: in two units, the one that is read first stands out.
func (l Lever) reading(p *Pen, s string, x, y float64) {
	first, second, both := strings.Cut(s, " · ")
	if both {
		second = "  " + second
	}
	t := Tiny.Weighted(3)
	left := x - (p.Measure(first, t)+p.Measure(second, Tiny))/2
	w := p.Text(first, left, y, Start, t, p.Ink)
	p.Text(second, left+w, y, Start, Tiny, p.Ink2)
}

func (l Lever) aim(p *Pen, at float64) {
	x, _, _ := l.Track()
	y := l.Y(procedure.Position(at))
	for _, m := range l.Control.Marks {
		if math.Abs(float64(m.At)-at) < 0.01 {
			p.Fill(Rect{x - 22, y - 1.2, knobW/2 + 40, 2.6}, p.Now)
			if l.Notes {
				name := l.markName(m)
				p.Fill(Rect{x + knobW/2 + 16, y - 9, p.Measure(name, Label.Sized(12)) + 12, 18}, p.Panel)
				p.Text(name, x+knobW/2+20, y+4, Start, Label.Sized(12).Weighted(3), p.Now)
			}
			return
		}
	}
	p.Fill(Rect{x - knobW/2 - 5, y - 1.2, knobW + 10, 2.6}, p.Now)
}
