package panel

import (
	"fmt"
	"image/color"
	"math"
	"strconv"
	"time"

	"kickover/procedure"
	"kickover/ui/theme"
)

// Stopwatch is the large clock: a ring on which the window is hatched and the
// ideal is a line, a hand in the accent colour, and the time in figures.
type Stopwatch struct {
	X, Y, R float64 // centre, and outer radius of the ring
}

// StopwatchState is what the stopwatch shows.
type StopwatchState struct {
	Label  string
	Sub    string
	Text   string // the figures
	Hand   int16  // degrees from twelve o'clock, in quarters
	Window procedure.Window
	Scale  time.Duration // a whole turn
	Late   bool          // past the window
	Idle   bool          // nothing is timed
	Limit  bool          // the window's end is a limit, not only late
}

// Area holds the ring and the figures round it.
func (c Stopwatch) Area() Rect { return c.within(c.R + 32*max(1, c.R/170)) }

// Moving is the part of it that the hand and the large figures move in.
func (c Stopwatch) Moving() Rect { return c.within(c.R + 9*max(1, c.R/170)) }

func (c Stopwatch) within(m float64) Rect { return Rect{c.X - m, c.Y - m, 2 * m, 2 * m} }

// State is what the stopwatch shows for an elapsed time (or, counting down, for
// what is left).
func (c Stopwatch) State(label, sub string, elapsed, scale time.Duration, w procedure.Window, running, down bool) StopwatchState {
	if scale <= 0 {
		scale = 8 * time.Second
	}
	return StopwatchState{
		Label: label, Sub: sub, Text: Clock(elapsed, down), Window: w, Scale: scale,
		Hand: handAt(elapsed, scale),
		Late: !down && !w.Zero() && elapsed > w.Max,
		Idle: !running && elapsed == 0,
	}
}

func handAt(elapsed, scale time.Duration) int16 {
	turn := min(max(float64(elapsed)/float64(scale), 0), 1)
	return int16(math.Round(turn * 360 * 4))
}

// Ticking is the state s of an elapsed time with figures and hand as a clock's that
// ticks: they move once a second.
func Ticking(s StopwatchState, elapsed time.Duration, down bool) StopwatchState {
	whole := elapsed.Truncate(time.Second)
	if down && whole < elapsed {
		whole += time.Second
	}
	s.Text, s.Hand = Clock(whole, down), handAt(whole, s.Scale)
	if whole < time.Minute {
		s.Text = strconv.Itoa(int(whole / time.Second))
	}
	return s
}

// Ticked is the state next where it may wait to be shown: with the hand as it was,
// while the figures are the same ones. Figures with tenths move the hand ten times
// a second, and others before it is five degrees behind.
func Ticked(was, next StopwatchState) StopwatchState {
	const most = 5 * 4
	still := next
	still.Hand = was.Hand
	if still == was && max(next.Hand-was.Hand, was.Hand-next.Hand) < most {
		return was
	}
	return next
}

// Clock prints a time as a stopwatch does: tenths below a minute, rounded down
// going up and up going down, so that zero is never shown too soon.
func Clock(d time.Duration, down bool) string {
	if d < 0 {
		d = 0
	}
	const tenth = 100 * time.Millisecond
	if down {
		d += tenth - 1
	}
	if d >= time.Minute {
		s := int(d / time.Second)
		return fmt.Sprintf("%d:%02d", s/60, s%60)
	}
	t := int(d / tenth)
	return fmt.Sprintf("%d.%d", t/10, t%10)
}

// Still is the state with only what does not move: what Face draws.
func (s StopwatchState) Still() StopwatchState {
	return StopwatchState{Window: s.Window, Scale: s.Scale, Limit: s.Limit}
}

// SameFace reports whether two states differ only in what moves.
func SameFace(a, b StopwatchState) bool {
	return a.Still() == b.Still()
}

const ringWidth = 0.165 // of the radius

// Face draws the ring, its figures, the hatched window and the ideal.
func (c Stopwatch) Face(p *Pen, s StopwatchState) {
	inner := c.R * (1 - ringWidth)
	k := max(1, c.R/170) // what is drawn about the ring grows with a large one
	p.Sector(c.X, c.Y, inner, c.R, 0, 360, p.Raised, color.NRGBA{}, 0)
	switch {
	case s.Window.Zero():
	case s.Window.Min == 0:
		c.open(p, s)
	default:
		from, to := c.deg(s.Window.Min, s.Scale), c.deg(s.Window.Max, s.Scale)
		p.Sector(c.X, c.Y, inner, c.R, from, to, theme.Mix(p.Raised, p.OK, 0.32), color.NRGBA{}, 0)
		p.HatchSector(c.X, c.Y, inner, c.R, from, to, p.OK, 9*k, 3.2*k)
		if s.Window.Ideal > 0 {
			a := c.deg(s.Window.Ideal, s.Scale)
			x0, y0 := On(c.X, c.Y, inner-7*k, a)
			x1, y1 := On(c.X, c.Y, c.R+7*k, a)
			p.Segment(x0, y0, x1, y1, 3.6*k, p.Ink)
		}
	}
	step := dialStep(s.Scale)
	for t := time.Duration(0); t < s.Scale-step/2; t += step {
		x, y := On(c.X, c.Y, c.R+18*k, c.deg(t, s.Scale))
		p.Text(figureOf(t, step), x, y+5*k, Middle, Body.Weighted(0).Sized(Body.Size*k), p.Ink2)
	}
}

// open draws a window that is open from the start: a thin band up to its end,
// and a line across the ring there, red and doubled where it is a limit.
func (c Stopwatch) open(p *Pen, s StopwatchState) {
	to := c.deg(s.Window.Max, s.Scale)
	p.Sector(c.X, c.Y, c.R-4, c.R, 0, to, p.OK, color.NRGBA{}, 0)
	line := func(a float64, col color.NRGBA) {
		x0, y0 := On(c.X, c.Y, c.R*(1-ringWidth)-7, a)
		x1, y1 := On(c.X, c.Y, c.R+7, a)
		p.Segment(x0, y0, x1, y1, 3.6, col)
	}
	if s.Limit {
		line(to+3.5, p.Warn)
		line(to, p.Warn)
		return
	}
	line(to, p.Ink)
}

func (c Stopwatch) deg(t, scale time.Duration) float64 {
	return min(float64(t)/float64(scale), 1) * 360
}

// dialStep is the distance between figures: no more than twelve of them.
func dialStep(scale time.Duration) time.Duration {
	for _, s := range []time.Duration{1, 2, 5, 10, 15, 30, 60, 120, 300, 600} {
		if scale/(s*time.Second) <= 12 {
			return s * time.Second
		}
	}
	return scale / 4
}

func figureOf(t, step time.Duration) string {
	if step >= time.Minute {
		return strconv.Itoa(int(t/time.Minute)) + "′"
	}
	return strconv.Itoa(int(t / time.Second))
}

// Hand draws what moves: the hand, the label, the figures, the line below.
func (c Stopwatch) Hand(p *Pen, s StopwatchState) {
	k := c.R / 122
	hand := p.Now
	mid := c.R * (1 - ringWidth/2)
	if s.Hand > 0 {
		p.Arc(c.X, c.Y, mid, 8.5*k, 0, float64(s.Hand)/4, hand, true)
	}
	labelInk := p.Ink2
	if s.Late {
		p.Triangle(c.X, c.Y-66*k, 14*k, p.Caution)
		labelInk = p.Caution
	}
	p.Text(s.Label, c.X, c.Y-40*k, Middle, p.Fit(s.Label, Group.Sized(15*k), c.R*1.35, 8), labelInk)
	ink := p.Ink
	if s.Idle {
		ink = p.Ink3
	}
	p.Text(s.Text, c.X, c.Y+23*k, Middle, p.Fit(s.Text, Numeral.Sized(72*k), c.R*1.5, 30), ink)
	lines := p.Wrap(s.Sub, Body.Sized(15*k), c.R*1.35)
	for i, l := range lines {
		if i == 2 {
			break
		}
		p.Text(l, c.X, c.Y+(51+float64(i)*19)*k, Middle, Body.Sized(15*k), p.Ink2)
	}
}
