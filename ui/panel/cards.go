package panel

import (
	"image/color"

	"kickover/ui/theme"
)

// Plate is a button drawn on a board.
type Plate struct {
	At   Rect
	Text string
	Key  string
	Main bool // the act that is asked for
	Down bool
}

// Paint draws the plate.
func (b Plate) Paint(p *Pen) {
	fill, line, w := p.Raised, p.Line, 1.2
	if b.Main {
		line, w = p.Now, 2
	}
	if b.Down {
		fill = theme.Mix(p.Raised, p.Ink, 0.12)
	}
	p.Box(b.At, 8, fill, line, w)
	t := p.Fit(b.Text, Label.Sized(14), b.At.W-20, 9)
	x, y := b.At.X+b.At.W/2, b.At.Y+b.At.H/2
	if b.Key == "" {
		p.Text(b.Text, x, y+5, Middle, t, p.Ink)
		return
	}
	kw := max(24, p.Measure(b.Key, Label.Sized(12))+14)
	t = p.Fit(b.Text, t, b.At.W-kw-30, 9)
	tw := p.Measure(b.Text, t)
	left := x - (tw+8+kw)/2
	p.Text(b.Text, left, y+5, Start, t, p.Ink)
	p.Key(b.Key, left+tw+8+kw/2, y)
}

// Card is a titled text over other things, with plates below it.
type Card struct {
	At Rect
}

// Lesson is a step explained: what it is for and what goes wrong.
type Lesson struct {
	Over, Title, Do, Why, Wrong string
	Place                       string // "4 of 16"
}

// PaintLesson draws a step explained, large.
func (c Card) PaintLesson(p *Pen, l Lesson) {
	r := c.At
	p.Box(r, 14, p.Panel, color.NRGBA{}, 0)
	p.Box(r, 14, color.NRGBA{}, p.Line, 1.2)
	x, w := r.X+28, r.W-56
	p.Text(l.Over, x, r.Y+34, Start, Group.Sized(12.5), p.Now)
	p.Text(l.Place, r.X+r.W-28, r.Y+34, End, Body, p.Ink2)
	p.Text(l.Title, x, r.Y+72, Start, p.Fit(l.Title, Head, w, 18), p.Ink)
	y := p.Paragraph(l.Do, x, r.Y+103, w, 24, 2, Start, Lead.Sized(18), p.Ink) + 8
	half, room := (w-28)/2, r.Y+r.H-66-y-30
	t, leading := Type{Size: 17}, 24.0
	if n := max(len(p.Wrap(l.Why, t, half)), len(p.Wrap(l.Wrong, t, half))); float64(n-1)*leading > room {
		t, leading = Type{Size: 15}, 20.0
	}
	lines := int(room/leading) + 1
	if l.Why != "" {
		p.Text("WHY", x, y+6, Start, Group, p.Ink2)
		p.Paragraph(l.Why, x, y+31, half, leading, lines, Start, t, p.Ink)
	}
	if l.Wrong != "" {
		x += half + 28
		p.Triangle(x+6, y+1.5, 12, p.Caution)
		p.Text("WHAT GOES WRONG", x+20, y+6, Start, Group, p.Caution)
		p.Paragraph(l.Wrong, x, y+31, half, leading, lines, Start, t, p.Ink)
	}
}

// Question is something that the student must answer.
type Question struct {
	Over, Title, Text string
	Caution           bool
}

// PaintQuestion draws a question over the room for its plates.
func (c Card) PaintQuestion(p *Pen, q Question) {
	r := c.At
	line := p.Line
	if q.Caution {
		line = p.Caution
	}
	p.Box(r, 14, p.Panel, line, 1.6)
	x, w := r.X+28, r.W-56
	over := p.Ink2
	if q.Caution {
		over = p.Caution
		p.Triangle(x+6, r.Y+29.5, 12, over)
		x += 20
	}
	p.Text(q.Over, x, r.Y+34, Start, Group, over)
	x = r.X + 28
	p.Text(q.Title, x, r.Y+70, Start, p.Fit(q.Title, Head.Sized(27), w, 16), p.Ink)
	p.Paragraph(q.Text, x, r.Y+98, w, 22, 3, Start, Type{Size: 15}, p.Ink2)
}

// PaintEnd draws how a run ended, beside the room for a plate at its right.
func (c Card) PaintEnd(p *Pen, q Question, room float64) {
	r := c.At
	line, over := p.Line, p.Ink2
	if q.Caution {
		line, over = p.Caution, p.Caution
	}
	p.Box(r, 14, p.Raised, line, 1.6)
	x, w := r.X+24, r.W-24-room-16
	at := x
	if q.Caution {
		p.Triangle(x+6, r.Y+22, 12, over)
		at += 20
	}
	p.Text(q.Over, at, r.Y+26.5, Start, Group, over)
	p.Text(q.Title, x, r.Y+57, Start, p.Fit(q.Title, Head.Sized(24), w, 15), p.Ink)
	p.Text(q.Text, x, r.Y+82, Start, p.Fit(q.Text, Type{Size: 15}, w, 12.5), p.Ink2)
}

// PaintCall draws an interruption: who speaks, and what was said.
func (c Card) PaintCall(p *Pen, who, text string) {
	r := c.At
	p.Box(r, 12, p.Raised, p.Now, 2)
	p.Speaker(r.X+32, r.Y+28, 20, p.Now)
	p.Text(p.Clip(who, Label.Sized(14), r.W-70), r.X+56, r.Y+33, Start, Label.Sized(14), p.Now)
	p.Paragraph(text, r.X+16, r.Y+60, r.W-32, 20, 4, Start, Type{Size: 15}, p.Ink)
}
