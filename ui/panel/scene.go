package panel

import (
	"fmt"
	"image/color"

	"kickover/assets/fonts"
)

// PropClear is the large picture of the propeller-area check: the aeroplane
// from above, the propeller's danger area, and a third for each look.
type PropClear struct {
	At       Rect
	LookKeys [3]string
	CallKey  string
}

func (c PropClear) fan() (x, y, r float64) {
	r = min(c.At.H-128, c.At.W*0.40)
	return c.At.X + c.At.W/2, c.At.Y + 66 + r, r
}

// Hit gives the third under a point.
func (c PropClear) Hit(x, y float64) (int, bool) {
	cx, cy, r := c.fan()
	return hitThird(x-cx, y-cy, r)
}

// BrakeButton and CallButton are the two plates at the foot.
func (c PropClear) BrakeButton() Rect {
	return Rect{c.At.X + 20, c.At.Y + c.At.H - 58, c.buttonWidth(), 42}
}

// CallButton is the plate that calls CLEAR.
func (c PropClear) CallButton() Rect {
	w := c.buttonWidth()
	return Rect{c.At.X + c.At.W - 20 - w, c.At.Y + c.At.H - 58, w, 42}
}

func (c PropClear) buttonWidth() float64 { return min(220, c.At.W*0.26) }

// Paint draws the picture.
func (c PropClear) Paint(p *Pen, s AreaState) {
	r := c.At
	p.Box(r, 14, p.Panel, color.NRGBA{}, 0)
	p.Text("Is the propeller area clear?", r.X+r.W/2, r.Y+34, Middle, Head.Sized(23), p.Ink)
	p.Text("Look each way, call, and wait for an answer. Then, and only then, crank.", r.X+r.W/2, r.Y+55, Middle, Small.Sized(13), p.Ink2)
	x, y, rad := c.fan()
	for i, t := range thirds {
		c.third(p, s, i, t, x, y, rad)
	}
	p.Arc(x, y, rad*0.26, 1.6, -90, 90, p.Warn, false, 5, 4)
	k := rad / 300
	aeroplane(p, x, y, min(k, 0.56))
	c.plates(p, s)
}

func (c PropClear) third(p *Pen, s AreaState, i int, t [2]float64, x, y, rad float64) {
	q := s.Sectors[i]
	fill, line, dash := thirdDress(p, q)
	p.Sector(x, y, 0, rad, t[0], t[1], fill, line, 2, dash...)
	mx, my := On(x, y, rad*0.60, (t[0]+t[1])/2)
	if i != 1 {
		mx, my = On(x, y, rad*0.62, (t[0]+t[1])/2*0.97)
	}
	switch {
	case q.Occupied:
		who := q.Who
		if who == "" {
			who = "somebody is there"
		}
		if i == 1 {
			my += rad * 0.09
		}
		c.somebody(p, who, mx, my, rad, i)
	case q.Looked:
		w := p.Measure("clear", Title.Sized(19))
		p.Tick(mx-w/2-4, my-5, 15, p.OK)
		p.Text("clear", mx+11, my+2, Middle, Title.Sized(19), p.Ink)
	default:
		p.Text([3]string{"left", "ahead", "right"}[i], mx, my-20, Middle, Label.Sized(15), p.Ink)
		p.Text("not yet looked", mx, my-2, Middle, Small.Sized(12.5), p.Ink2)
		if c.LookKeys[i] != "" {
			p.Key(c.LookKeys[i], mx, my+19)
		}
	}
}

// somebody draws a person walking towards the propeller, with words.
func (c PropClear) somebody(p *Pen, who string, mx, my, rad float64, i int) {
	t := Label.Sized(14).Weighted(fonts.WeightBold)
	lines := p.Wrap(who, t, rad*0.62)
	y := my - 42 - float64(len(lines)-1)*17
	p.Square(mx-p.Measure(lines[0], t)/2-13, y-5, 11, p.Warn)
	for _, l := range lines {
		p.Text(l, mx, y, Middle, t, p.Ink)
		y += 17
	}
	person(p, mx-8, my, 58, p.Ink)
	to := 1.0
	if i == 2 {
		to = -1
		p.Segment(mx-24, my+2, mx-46, my+2, 3, p.Warn, 6, 4)
		p.Polygon(p.Warn, Point{mx - 56, my + 2}, Point{mx - 45, my - 5}, Point{mx - 45, my + 9})
		return
	}
	p.Segment(mx+8*to, my+2, mx+30*to, my+2, 3, p.Warn, 6, 4)
	p.Polygon(p.Warn, Point{mx + 40*to, my + 2}, Point{mx + 29*to, my - 5}, Point{mx + 29*to, my + 9})
}

// person draws a standing figure centred on x, y.
func person(p *Pen, x, y, h float64, c color.NRGBA) {
	k := h / 104
	p.Disc(x, y-42*k, 11*k, c)
	p.Polygon(c, Point{x - 14*k, y - 28*k}, Point{x + 14*k, y - 28*k}, Point{x + 19*k, y + 8*k}, Point{x - 19*k, y + 8*k})
	p.Polygon(c, Point{x - 10*k, y + 8*k}, Point{x - 1*k, y + 8*k}, Point{x - 2*k, y + 52*k}, Point{x - 8*k, y + 52*k})
	p.Polygon(c, Point{x + 1*k, y + 8*k}, Point{x + 10*k, y + 8*k}, Point{x + 8*k, y + 52*k}, Point{x + 2*k, y + 52*k})
}

// plates draws the brakes and the call.
func (c PropClear) plates(p *Pen, s AreaState) {
	b := c.BrakeButton()
	if s.Brakes {
		p.Box(b, 9, p.Raised, p.OK, 2)
		p.Tick(b.X+24, b.Y+b.H/2, 13, p.OK)
		p.Text("Brakes held", b.X+b.W/2+8, b.Y+b.H/2+5.5, Middle, Title.Sized(15), p.Ink)
	} else {
		p.Box(b, 9, p.Raised, p.Caution, 2)
		p.Triangle(b.X+24, b.Y+b.H/2, 14, p.Caution)
		// There is no room for its key, which stands on the switch below.
		p.Text("Hold the brakes", b.X+b.W/2+14, b.Y+b.H/2+5.5, Middle, p.Fit("Hold the brakes", Title.Sized(15), b.W-52, 9), p.Ink)
	}
	q := c.CallButton()
	mid := q.Y + q.H/2
	switch {
	case s.occupied():
		p.Box(q, 9, p.Tint(p.Warn, 0.16), p.Warn, 2)
		p.Square(q.X+24, mid, 12, p.Warn)
		p.Text("Wait, look again", q.X+q.W/2+14, mid+5.5, Middle, p.Fit("Wait, look again", Title.Sized(15), q.W-52, 9), p.Ink)
	case s.Valid:
		p.Box(q, 9, p.Raised, p.OK, 2)
		p.Tick(q.X+24, mid, 13, p.OK)
		p.Text("Clear", q.X+q.W/2+6, mid+5.5, Middle, Title.Sized(15), p.Ink)
	case s.Called:
		p.Box(q, 9, p.Raised, p.Now, 2)
		p.Text(fmt.Sprintf("listen … %d.%d s", s.Answer/10, s.Answer%10), q.X+q.W/2, mid+5.5, Middle, Title.Sized(15), p.Now)
		if s.Wait > 0 {
			f := 1 - float64(s.Answer)/float64(s.Wait)
			p.Fill(Rect{q.X + 8, q.Y + q.H - 7, (q.W - 16) * min(max(f, 0), 1), 3}, p.Now)
		}
	default:
		line, ink := p.Line, p.Ink2
		if s.looked() == 3 {
			line, ink = p.Now, p.Ink
		}
		p.Box(q, 9, p.Raised, line, 2)
		p.Text("Call CLEAR", q.X+q.W/2-10, mid+5.5, Middle, Title.Sized(15), ink)
		p.Key(c.CallKey, q.X+q.W/2+62, mid)
	}
}
