package welcome

import (
	"image/color"
	"time"

	"kickover/procedure"
	"kickover/ui/panel"
)

// wide and high are the size of each picture, in units.
const wide, high = 280, 190

// stopwatch is the prime as a student sees it, a second before its end. Its window
// is that of a cold start.
func stopwatch(p *panel.Pen) {
	c := panel.Stopwatch{X: wide / 2, Y: high / 2, R: 70}
	s := c.State("PRIME", "", 3100*time.Millisecond, 8*time.Second, procedure.Window{
		Min: 3500 * time.Millisecond, Ideal: 4200 * time.Millisecond, Max: 5 * time.Second,
	}, true, false)
	c.Face(p, s)
	c.Hand(p, s)
}

// board is a class: who is on time, who is late, and who did something unsafe.
func board(p *panel.Pen) {
	const columns, rows, gap = 4, 3, 10
	w, h := float64(wide-(columns-1)*gap)/columns, float64(high-20-(rows-1)*gap)/rows
	for i := range columns * rows {
		r := panel.Rect{X: float64(i%columns) * (w + gap), Y: 10 + float64(i/columns)*(h+gap), W: w, H: h}
		line, done := p.Line, []float64{.55, .7, .4, .62, .5, .3, .66, .58, .74, .45, .6, .52}[i]
		x, y := r.X+w-13, r.Y+14
		switch i {
		case 6:
			line = p.Warn
			p.Box(r, 8, p.Raised, line, 2)
			p.Square(x, y, 9, p.Warn)
		case 5:
			p.Box(r, 8, p.Raised, line, 1.2)
			p.Triangle(x, y, 10, p.Caution)
		default:
			p.Box(r, 8, p.Raised, line, 1.2)
			p.Tick(x, y, 10, p.OK)
		}
		p.Box(panel.Rect{X: r.X + 9, Y: r.Y + 11, W: w * .42, H: 6}, 3, p.Ink3, color.NRGBA{}, 0)
		track := panel.Rect{X: r.X + 9, Y: r.Y + h - 14, W: w - 18, H: 5}
		p.Box(track, 2.5, p.Line, color.NRGBA{}, 0)
		track.W *= done
		p.Box(track, 2.5, p.Ink2, color.NRGBA{}, 0)
	}
}

// button is the timer's one button, with the attempts that there have been.
func button(p *panel.Pen) {
	r := panel.Rect{X: 30, Y: 8, W: wide - 60, H: 132}
	p.Box(r, 16, p.Raised, p.Now, 3)
	p.Text("LET GO", wide/2, 80, panel.Middle, panel.Head.Sized(36), p.Ink)
	p.Text("when the mixture is back", wide/2, 108, panel.Middle, panel.Body.Sized(14), p.Ink2)
	for i := range 5 {
		x := float64(wide)/2 + float64(i-2)*30
		if i < 2 {
			p.Disc(x, 168, 8, p.Ink2)
			continue
		}
		p.Ring(x, 168, 8, 2, p.Line)
	}
}
