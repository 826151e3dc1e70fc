package panel

import (
	"image/color"

	"kickover/procedure"
)

// CaptionBar shows what is spoken while it is spoken, and the standing caution.
type CaptionBar struct {
	At      Rect
	Caution [2]string
}

// CaptionState is what the bar shows.
type CaptionState struct {
	Text     string
	Hint     string
	Notice   string // something that is not working, in place of the hint
	Priority procedure.Priority
}

// Face draws the bar and the standing caution, always in the same place.
func (c CaptionBar) Face(p *Pen) {
	r := c.At
	p.Box(r, 14, p.Raised, color.NRGBA{}, 0)
	for i, l := range c.Caution {
		p.Text(l, r.X+r.W-20, r.Y+r.H/2-2+float64(i)*18-2, End, Small, p.Ink2)
	}
}

// Words is where the caption may stand.
func (c CaptionBar) Words(p *Pen) Rect {
	w := max(p.Measure(c.Caution[0], Small), p.Measure(c.Caution[1], Small))
	return Rect{c.At.X, c.At.Y, c.At.W - w - 44, c.At.H}
}

// Paint draws the caption: a count is large and in quotes, a warning red with a
// square.
func (c CaptionBar) Paint(p *Pen, s CaptionState) {
	r := c.Words(p)
	mid := r.Y + r.H/2
	icon, ink := p.Ink3, p.Ink
	text := s.Text
	if text != "" {
		icon = p.Now
		text = "“" + text + "”"
	}
	if s.Priority == procedure.PriorityWarning && s.Text != "" {
		icon, ink = p.Warn, p.Warn
		p.Square(r.X+44, mid, 22, icon)
	} else {
		p.Speaker(r.X+44, mid, 40, icon)
	}
	x := r.X + 86
	hint, hintInk := s.Hint, p.Ink2
	if s.Notice != "" {
		hint, hintInk = s.Notice, p.Caution
	}
	room := r.X + r.W - x
	big := p.Fit(text, Head.Sized(28), room*0.66, 18)
	if hint == "" {
		big = p.Fit(text, Head.Sized(28), room, 18)
	}
	tw := p.Text(p.Clip(text, big, room), x, mid+10, Start, big, ink)
	if hint == "" {
		return
	}
	if tw > 0 {
		tw += 32
	}
	left := room - tw
	if s.Notice != "" {
		p.Triangle(x+tw+7, mid-0.5, 13, hintInk)
		tw, left = tw+22, left-22
	}
	t := Type{Size: 17}
	if p.Measure(hint, t) <= left {
		p.Text(hint, x+tw, mid+6, Start, t, hintInk)
		return
	}
	if t = (Type{Size: 14}); len(p.Wrap(hint, t, left)) <= 2 {
		p.Paragraph(hint, x+tw, mid-3, left, 19, 2, Start, t, hintInk)
		return
	}
	p.Paragraph(hint, x+tw, mid-15, left, 17, 4, Start, Type{Size: 12.5}, hintInk)
}

// Banner is a breach, shown so that it cannot be missed: a red field with a
// square, over nothing that a hand needs.
type Banner struct{ At Rect }

// BannerState is what the banner says.
type BannerState struct{ Text string }

// Paint draws the banner.
func (b Banner) Paint(p *Pen, s BannerState) {
	r := b.At
	p.Box(r, 10, p.Warn, color.NRGBA{}, 0)
	mid := r.Y + r.H/2
	p.Square(r.X+30, mid, 22, p.OnWarn)
	p.Fill(Rect{r.X + 28.4, mid - 7, 3.2, 8}, p.Warn)
	p.Fill(Rect{r.X + 28.4, mid + 3.4, 3.2, 3.4}, p.Warn)
	p.Text(s.Text, r.X+56, mid+7.5, Start, p.Fit(s.Text, Head.Sized(22), r.W-76, 12), p.OnWarn)
}
