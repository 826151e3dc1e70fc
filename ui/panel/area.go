package panel

import (
	"image/color"
	"math"
	"strconv"
	"time"

	"kickover/ui/theme"
)

// Sector is one third of the propeller's area as it is shown.
type Sector struct {
	Looked   bool // looked at, and nothing has entered since
	Occupied bool // somebody is in it, and the student can see them
	Who      string
}

// AreaState is what a picture of the propeller's area shows.
type AreaState struct {
	Sectors [3]Sector // left, ahead, right
	Brakes  bool      // held
	Called  bool
	Answer  int // tenths of a second still to wait after the call
	Wait    int // tenths of a second that were to be waited; draws the ring
	Valid   bool
	Due     bool // the check is still to be done: say so
}

// Tenths rounds a duration up to tenths of a second.
func Tenths(d time.Duration) int {
	return int((max(d, 0) + 100*time.Millisecond - 1) / (100 * time.Millisecond))
}

// Looked counts the sectors looked at.
func (s AreaState) looked() int {
	n := 0
	for _, q := range s.Sectors {
		if q.Looked && !q.Occupied {
			n++
		}
	}
	return n
}

func (s AreaState) occupied() bool {
	return s.Sectors[0].Occupied || s.Sectors[1].Occupied || s.Sectors[2].Occupied
}

// word is the area in a word or two, with its colour and shape.
func (s AreaState) word(p *Pen) (string, color.NRGBA, Mark) {
	switch {
	case s.occupied():
		return "occupied", p.Warn, MarkUnsafe
	case s.Valid:
		return "clear", p.OK, MarkDone
	case s.Called:
		return "listen", p.Now, MarkNext
	case !s.Due:
		return "", p.Ink2, MarkNext
	case s.looked() == 3:
		return "looked; now call", p.Caution, MarkLate
	case s.looked() > 0:
		return "looked at " + strconv.Itoa(s.looked()) + " of 3", p.Caution, MarkLate
	default:
		return "not yet looked", p.Caution, MarkLate
	}
}

// The thirds, in degrees from straight ahead.
var thirds = [3][2]float64{{-88, -31}, {-29, 29}, {31, 88}}

// SmallArea is the picture as it always stands in the corner.
type SmallArea struct{ At Rect }

// Fan is the centre and radius of the thirds.
func (a SmallArea) fan() (x, y, r float64) {
	r = min(80, a.At.H-84)
	return a.At.X + a.At.W/2, a.At.Y + 32 + r, r
}

// Hit gives the third (0 left, 1 ahead, 2 right) under a point.
func (a SmallArea) Hit(x, y float64) (int, bool) {
	cx, cy, r := a.fan()
	return hitThird(x-cx, y-cy, r)
}

func hitThird(dx, dy, r float64) (int, bool) {
	if math.Hypot(dx, dy) > r || dy > 0 {
		return 0, false
	}
	deg := math.Atan2(dx, -dy) * 180 / math.Pi
	switch {
	case deg < -30:
		return 0, true
	case deg <= 30:
		return 1, true
	default:
		return 2, true
	}
}

// Paint draws the small picture.
func (a SmallArea) Paint(p *Pen, s AreaState) {
	r := a.At
	p.Text("PROPELLER AREA", r.X, r.Y+14, Start, Group, p.Ink2)
	word, ink, mark := s.word(p)
	w := p.Text(word, r.X+r.W, r.Y+14, End, p.Fit(word, Label.Sized(14), r.W-130, 9), ink)
	if word != "" {
		drawMark(p, mark, r.X+r.W-w-12, r.Y+9, 11, ink)
	}
	x, y, rad := a.fan()
	for i, t := range thirds {
		fill, line, dash := thirdDress(p, s.Sectors[i])
		p.Sector(x, y, 0, rad, t[0], t[1], fill, line, 1.4, dash...)
		mx, my := On(x, y, rad*0.66, (t[0]+t[1])/2)
		switch {
		case s.Sectors[i].Occupied:
			p.Square(mx, my, 12, p.Warn)
		case s.Sectors[i].Looked:
			p.Tick(mx, my, 13, p.OK)
		}
	}
	aeroplane(p, x, y, 0.3)
	p.Text("must be clear before every attempt", r.X+r.W/2, r.Y+r.H-4, Middle, Small, p.Ink2)
}

func drawMark(p *Pen, m Mark, x, y, size float64, c color.NRGBA) {
	switch m {
	case MarkDone:
		p.Tick(x, y, size, c)
	case MarkLate:
		p.Triangle(x, y, size, c)
	case MarkUnsafe:
		p.Square(x, y, size, c)
	default:
		p.Disc(x, y, size/3, c)
	}
}

// thirdDress is how a third is filled and outlined: dashed while unknown.
func thirdDress(p *Pen, s Sector) (fill, line color.NRGBA, dash []float64) {
	switch {
	case s.Occupied:
		return p.Tint(p.Warn, 0.22), p.Warn, nil
	case s.Looked:
		return p.Tint(p.OK, 0.20), p.OK, nil
	default:
		return p.Raised, theme.Mix(p.Line, p.Ink3, 0.5), []float64{6, 5}
	}
}

// Aeroplane draws the nose, the wing and the propeller's disc edge-on, seen from
// above with the propeller at x, y; its wing is 420k wide.
func (p *Pen) Aeroplane(x, y, k float64) { aeroplane(p, x, y, k) }

// aeroplane draws the nose, the wing and the propeller's disc edge-on, seen from
// above with the propeller at x, y.
func aeroplane(p *Pen, x, y, k float64) {
	skin := theme.Mix(p.Panel, p.Ink2, 0.55)
	shade := theme.Mix(p.Panel, p.Ink2, 0.72)
	p.Box(Rect{x - 210*k, y + 52*k, 420 * k, 40 * k}, 18*k, skin, color.NRGBA{}, 0)
	p.Polygon(shade, Point{x - 24*k, y + 10*k}, Point{x + 24*k, y + 10*k}, Point{x + 33*k, y + 60*k}, Point{x + 30*k, y + 118*k}, Point{x - 30*k, y + 118*k}, Point{x - 33*k, y + 60*k})
	p.Polygon(theme.Mix(p.Panel, p.Ink2, 0.30), Point{x - 20*k, y + 50*k}, Point{x + 20*k, y + 50*k}, Point{x + 25*k, y + 68*k}, Point{x - 25*k, y + 68*k})
	p.Box(Rect{x - 76*k, y - 5*k, 152 * k, 10 * k}, 5*k, p.Warn, color.NRGBA{}, 0)
	p.Disc(x, y, 11*k, shade)
}
