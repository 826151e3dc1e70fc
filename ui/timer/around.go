package timer

import (
	"fmt"

	"kickover/assets/fonts"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// aroundState is the look around the propeller: how many of its four presses
// were made, and the wait for an answer.
type aroundState struct {
	looks     int
	listening bool
	answer    int // tenths of a second still to listen
	wait      int
}

// The thirds, in degrees from straight ahead.
var thirds = [3][2]float64{{-88, -31}, {-29, 29}, {31, 88}}

func (v *view) paintAround(p *panel.Pen, s aroundState) {
	r := v.left
	x := v.watchX
	p.Text("Is the propeller area clear?", x, r.Y+40, panel.Middle, p.Fit("Is the propeller area clear?", panel.Head.Sized(36), r.W-60, 20), p.Ink)
	p.Text("Look each way, call, and wait for an answer.", x, r.Y+74, panel.Middle, panel.Body.Sized(21).Weighted(fonts.WeightRegular), p.Ink2)
	rad := min(r.W/2-44, r.H-250)
	y := r.Y + 98 + rad
	for i, t := range thirds {
		v.paintThird(p, s, i, x, y, rad, t)
	}
	p.Arc(x, y, rad*0.25, 2, -90, 90, p.Warn, false, 7, 6)
	p.Aeroplane(x, y, rad/520)
	v.paintCalls(p, s, x, r.Y+r.H-66)
}

func (v *view) paintThird(p *panel.Pen, s aroundState, i int, x, y, rad float64, t [2]float64) {
	mx, my := panel.On(x, y, rad*0.64, (t[0]+t[1])/2)
	name := [3]string{"left", "ahead", "right"}[i]
	title, body := panel.Title.Sized(30), panel.Body.Sized(22)
	switch {
	case s.looks > i:
		p.Sector(x, y, 0, rad, t[0], t[1], theme.Mix(p.Ground, p.OK, 0.20), p.OK, 3)
		w := p.Measure("clear", title)
		p.Tick(mx-w/2-8, my-8, 24, p.OK)
		p.Text("clear", mx+16, my+2, panel.Middle, title, p.Ink)
	case s.looks == i:
		p.Sector(x, y, 0, rad, t[0], t[1], p.Raised, p.Now, 5)
		p.Text("look", mx, my-22, panel.Middle, body, p.Ink2)
		p.Text(name, mx, my+12, panel.Middle, title.Sized(36), p.Ink)
	default:
		p.Sector(x, y, 0, rad, t[0], t[1], theme.Mix(p.Ground, p.Raised, 0.6), theme.Mix(p.Line, p.Ink3, 0.5), 2, 8, 7)
		p.Text(name, mx, my, panel.Middle, body, p.Ink3)
	}
}

// paintCalls draws the two plates at the foot: the brakes and the call.
func (v *view) paintCalls(p *panel.Pen, s aroundState, x, y float64) {
	const w, h, gap = 310, 54, 20
	brakes := panel.Rect{X: x - w - gap/2, Y: y, W: w, H: h}
	call := panel.Rect{X: x + gap/2, Y: y, W: w, H: h}
	t := panel.Title.Sized(25)
	if s.looks > 0 {
		p.Box(brakes, 12, p.Raised, p.OK, 2.5)
		p.Tick(brakes.X+36, y+h/2, 20, p.OK)
		p.Text("Brakes held", brakes.X+w/2+12, y+36, panel.Middle, t, p.Ink)
	} else {
		p.Box(brakes, 12, p.Raised, p.Caution, 2.5)
		p.Triangle(brakes.X+36, y+h/2, 22, p.Caution)
		p.Text("Hold the brakes", brakes.X+w/2+14, y+36, panel.Middle, t, p.Ink)
	}
	switch {
	case s.listening:
		p.Box(call, 12, p.Raised, p.Now, 2.5)
		text := fmt.Sprintf("listen … %d.%d", s.answer/10, s.answer%10)
		p.Text(text, call.X+w/2, y+36, panel.Middle, t, p.Ink)
		if s.wait > 0 {
			p.Fill(panel.Rect{X: call.X + 12, Y: y + h - 9, W: (w - 24) * (1 - float64(s.answer)/float64(s.wait)), H: 4}, p.Now)
		}
	case s.looks == len(thirds):
		p.Box(call, 12, p.Raised, p.Now, 4)
		p.Text("Call CLEAR", call.X+w/2, y+36, panel.Middle, t, p.Ink)
	default:
		p.Box(call, 12, theme.Mix(p.Ground, p.Raised, 0.6), p.Line, 1.5)
		p.Text("call CLEAR", call.X+w/2, y+36, panel.Middle, t, p.Ink3)
	}
}
