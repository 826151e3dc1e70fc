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
	By       string // whose words they are; empty is the voice
	Hint     string
	Notice   string // something that is not working, on a line of its own
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

// Paint draws the caption: a count is large and in quotes, a warning has
// a red square before it.
func (c CaptionBar) Paint(p *Pen, s CaptionState) {
	r := c.Words(p)
	mid := r.Y + r.H/2
	icon, ink := p.Ink3, p.Ink
	text := s.Text
	if text != "" {
		icon = p.Now
		text = "“" + text + "”"
	}
	if s.By != "" {
		text = s.By + ": " + text
	}
	if s.Priority == procedure.PriorityWarning && s.Text != "" {
		icon = p.Warn
		p.Square(r.X+44, mid, 22, icon)
	} else {
		p.Speaker(r.X+44, mid, 40, icon)
	}
	x := r.X + 86
	room := r.X + r.W - x
	if s.Notice != "" {
		// Captions stand in for the voice that the notice may say is missing, so
		// they keep their place and it goes below them.
		t := p.Fit(s.Notice, Type{Size: 12.5}, room-20, 10.5)
		p.Triangle(x+6, mid+24, 11, p.Caution)
		p.Text(p.Clip(s.Notice, t, room-20), x+20, mid+28, Start, t, p.Ink)
		mid -= 11
	}
	c.words(p, s, text, Rect{x, mid, room, 0}, ink)
}

// words draws the caption and, beside it, its hint, centred on at.Y.
func (c CaptionBar) words(p *Pen, s CaptionState, text string, at Rect, ink color.NRGBA) {
	if s.Hint == "" {
		big := p.Fit(text, Head.Sized(28), at.W, 18)
		p.Text(p.Clip(text, big, at.W), at.X, at.Y+10, Start, big, ink)
		return
	}
	big := p.Fit(text, Head.Sized(28), at.W*0.66, 18)
	w := p.Text(p.Clip(text, big, at.W*0.72), at.X, at.Y+10, Start, big, ink)
	if w > 0 {
		w += 32
	}
	t := p.Fit(s.Hint, Type{Size: 17}, at.W-w, 14)
	if p.Measure(s.Hint, t) <= at.W-w {
		p.Text(s.Hint, at.X+w, at.Y+6, Start, t, p.Ink2)
		return
	}
	p.Paragraph(s.Hint, at.X+w, at.Y-3, at.W-w, 18, 2, Start, t, p.Ink2)
}

// Banner is a breach, shown so that it cannot be missed: a red field with a
// square, over nothing that a hand needs.
type Banner struct{ At Rect }

// BannerState is what the banner says.
type BannerState struct{ Text string }

// Paint draws the banner.
func (b Banner) Paint(p *Pen, s BannerState) {
	r := b.At
	p.Box(r, 10, p.Alarm, color.NRGBA{}, 0)
	mid := r.Y + r.H/2
	p.Square(r.X+30, mid, 22, p.OnAlarm)
	p.Fill(Rect{r.X + 28.4, mid - 7, 3.2, 8}, p.Alarm)
	p.Fill(Rect{r.X + 28.4, mid + 3.4, 3.2, 3.4}, p.Alarm)
	p.Text(s.Text, r.X+56, mid+7.5, Start, p.Fit(s.Text, Head.Sized(22), r.W-76, 12), p.OnAlarm)
}
