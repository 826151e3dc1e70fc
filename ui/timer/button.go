package timer

import (
	"image/color"

	"kickover/assets/fonts"
	"kickover/procedure/timer"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// buttonState is the one button.
type buttonState struct {
	timer.Button
	held  int // sixtieths of the hold that means something else
	alarm bool
	quiet bool // how it is pressed needs no saying: it is held, or keys are letters now
}

func (v *view) paintButton(p *panel.Pen, s buttonState) {
	r := v.buttonAt
	s.Button.Held = 0
	fill, line, ink, width := p.Raised, p.Now, p.Ink, 5.0
	switch {
	case s.Warn && s.alarm:
		fill, line, ink = p.Warn, p.Warn, p.OnWarn
	case s.Warn:
		fill, line, ink = theme.Mix(p.Raised, p.Warn, 0.25), p.Warn, p.Warn
	case s.Rest:
		line, ink, width = p.Line, p.Ink2, 3
	}
	p.Box(r, 32, fill, line, width)
	mid := r.Y + r.H*0.40
	t := p.Fit(s.Text, panel.Head.Sized(80).Weighted(fonts.WeightBold), r.W-48, 30)
	p.Text(s.Text, r.X+r.W/2, mid, panel.Middle, t, ink)
	sub := panel.Body.Sized(30)
	y := mid + 58
	room := r.W - 60
	if one := p.Fit(s.Sub, sub, room, 26); p.Measure(s.Sub, one) <= room {
		sub = one // which is better than a word on a line of its own
	}
	if len(p.Wrap(s.Sub, sub, room)) > 2 {
		sub = p.Fit(s.Sub, sub, room*1.9, 20)
	}
	subInk := p.Ink2
	switch { // on a field of the warning's colour labels are too dim
	case s.Warn && s.alarm:
		subInk = p.OnWarn
	case s.Warn:
		subInk = p.Ink
	}
	p.Paragraph(s.Sub, r.X+r.W/2, y, room, sub.Size*1.2, 2, panel.Middle, sub, subInk)
	v.paintHold(p, r, s, subInk)
}

// paintHold says, at the button's foot, what holding it down does, and shows how
// far the hold has come; or how it is pressed.
func (v *view) paintHold(p *panel.Pen, r panel.Rect, s buttonState, ink color.NRGBA) {
	y := r.Y + r.H - 34
	if s.Hold == "" {
		if s.Warn && s.alarm || s.quiet {
			return
		}
		p.Text("space, or press anywhere", r.X+r.W/2, y, panel.Middle, panel.Body.Sized(21), p.Ink3)
		return
	}
	text := "hold: " + s.Hold
	t := p.Fit(text, panel.Title.Sized(27), r.W-60, 16)
	bar := panel.Rect{X: r.X + 28, Y: y - 40, W: r.W - 56, H: 58}
	p.Box(bar, 12, p.Ground, p.Line, 1.5)
	if s.held > 0 {
		p.Box(panel.Rect{X: bar.X, Y: bar.Y, W: max(24, bar.W*float64(s.held)/60), H: bar.H}, 12, theme.Mix(p.Ground, p.Now, 0.45), transparent, 0)
	}
	p.Text(text, r.X+r.W/2, y-2, panel.Middle, t, p.Ink)
}
