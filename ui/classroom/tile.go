package classroom

import (
	"fmt"
	"image/color"
	"strings"
	"time"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/ui/panel"
)

// tileState is one station's tile.
type tileState struct {
	number, name, step, title, late, prime, tries, unsafe, word string
	need                                                        classroom.Need
	share                                                       int  // of the steps, in percent
	keyed                                                       bool // the keyboard is here
}

func tileOf(r classroom.Row, public bool) tileState {
	l := &r.Live
	s := tileState{number: fmt.Sprint(r.Number), need: r.Need, title: l.Title}
	if !public {
		s.name = r.Name
	}
	// A run that was ended has no present step, and did not come to its last.
	if ended := l.Done && l.Outcome == procedure.Abandoned; l.Run != "" && l.Steps > 0 && !ended {
		s.step = fmt.Sprintf("%d/%d", min(l.Step+1, l.Steps), l.Steps)
		s.share = 100 * l.Step / l.Steps
	}
	if l.Overdue >= time.Second {
		s.late = fmt.Sprintf("+%d s", int(l.Overdue.Seconds()))
	}
	if l.Prime > 0 {
		s.prime = fmt.Sprintf("prime %.1f s", l.Prime.Seconds())
	}
	if l.Tries > 0 {
		s.tries = fmt.Sprintf("attempt %d", l.Tries)
	}
	if r.Need == classroom.NeedUnsafe {
		s.unsafe = string(l.Breach)
		if l.Breach == "" {
			s.unsafe = "unsafe before"
		}
	}
	s.word = wordFor(r)
	return s
}

func wordFor(r classroom.Row) string {
	l := &r.Live
	switch {
	case r.Trouble != "":
		return "cut off"
	case !r.Here || r.Need == classroom.NeedAway:
		return "away"
	case l.Missing != "":
		return "cannot fly this"
	case l.Waits:
		return "waits to begin"
	case l.Done && l.Outcome == procedure.Started:
		return "✓ started"
	case l.Done && l.Outcome == procedure.Stopped:
		return "✓ stopped rightly"
	case l.Done && l.Outcome == procedure.NotStarted:
		return "○ not started"
	case l.Done && l.Outcome == procedure.Abandoned:
		return "broken off"
	case l.Done:
		return string(l.Outcome)
	case l.Paused:
		return "paused"
	case l.Engine != "":
		return l.Engine
	case l.Ready:
		return "ready"
	case l.Run == "":
		return "here"
	case l.LetIn:
		return "began late"
	}
	return ""
}

// paintTile draws a tile: the number large, what the station is at, and what is
// wrong with a shape as well as a colour.
func (b *Board) paintTile(p *panel.Pen, r panel.Rect, s tileState) {
	if b.o.Public {
		b.paintPublicTile(p, r, s)
		return
	}
	t := b.o.Theme
	ink, quiet := b.ground(p, r, s)
	k := min(max(r.H/120, 0.62), 1.9)
	x, y := r.X+14*k, r.Y+38*k
	nw := p.Text(s.number, x, y, panel.Start, panel.Head.Sized(32*k), ink)
	b.mark(p, s, x+nw+18*k, y-11*k, 16*k)
	if s.name != "" {
		name := panel.Body.Sized(15 * k)
		p.Text(p.Clip(s.name, name, r.W-nw-124*k), x+nw+34*k, y-2, panel.Start, name, quiet)
	}
	right := r.X + r.W - 14*k
	p.Text(s.step, right, y, panel.End, panel.Title.Sized(17*k), quiet)
	lead := panel.Lead.Sized(17 * k).Weighted(fonts.WeightSemiBold)
	text := s.title
	if s.unsafe != "" {
		text = s.unsafe
	}
	if text == "" {
		text = s.word
	}
	lead = p.Fit(text, lead, r.W-28*k, 13*k)
	p.Text(p.Clip(text, lead, r.W-28*k), x, y+26*k, panel.Start, lead, ink)
	b.foot(p, s, text, panel.Rect{X: x, Y: y + 50*k, W: r.W - 28*k}, panel.Body.Sized(15*k), ink, quiet)
	b.track(p, s, panel.Rect{X: x, Y: r.Y + r.H - 12, W: r.W - 28*k, H: 5}, t.Raised, quiet)
}

// paintPublicTile draws a tile for the back of a room: the number, the sign, and
// how far the station is, each as large as the tile has room for.
func (b *Board) paintPublicTile(p *panel.Pen, r panel.Rect, s tileState) {
	ink, quiet := b.ground(p, r, s)
	k := min(max(r.H/120, 0.62), 2.4)
	x, y := r.X+14*k, r.Y+54*k
	nw := p.Text(s.number, x, y, panel.Start, panel.Head.Sized(54*k), ink)
	big := panel.Head.Sized(34 * k).Weighted(fonts.WeightSemiBold)
	p.Text(s.step, r.X+r.W-14*k, y, panel.End, p.Fit(s.step, big, r.W-42*k-nw, 8), ink)
	word := s.word
	switch {
	case s.unsafe != "":
		word = "UNSAFE"
	case s.need == classroom.NeedLost:
		word = "stuck"
	case s.need == classroom.NeedSlow && word == "":
		word = "slow"
	}
	at := x
	if s.need != classroom.NeedNothing && s.need != classroom.NeedReady {
		b.mark(p, s, x+14*k, y+27*k, 28*k)
		at += 38 * k
	}
	word = strings.TrimLeft(word, "✓○ ") // the sign is there
	room := r.X + r.W - 14*k - at
	big = p.Fit(word, big, room, 20*k)
	p.Text(p.Clip(word, big, room), at, y+38*k, panel.Start, big, ink)
	b.track(p, s, panel.Rect{X: x, Y: r.Y + r.H - 18, W: r.W - 28*k, H: 10}, b.o.Theme.Raised, quiet)
}

// ground fills a tile for what its station needs, and says in which colours it
// is written on.
func (b *Board) ground(p *panel.Pen, r panel.Rect, s tileState) (ink, quiet color.NRGBA) {
	t := b.o.Theme
	fill, line, width := t.Panel, t.Line, 2.0
	ink, quiet = t.Ink, t.Ink2
	switch s.need {
	case classroom.NeedUnsafe:
		fill, line, ink, quiet = t.Warn, t.Warn, t.OnWarn, t.OnWarn
	case classroom.NeedLost:
		line, width = t.Caution, 5
	case classroom.NeedSlow, classroom.NeedLetIn:
		line = t.Caution
	case classroom.NeedAway:
		fill, ink, quiet = t.Ground, t.Ink3, t.Ink3
	case classroom.NeedFinished:
		line = t.OK
	}
	p.Box(r.Inset(width/2), 10, fill, line, width)
	if s.keyed {
		ring := t.Now
		if s.need == classroom.NeedUnsafe {
			ring = t.OnWarn
		}
		p.Box(r.Inset(width+3), 8, color.NRGBA{}, ring, 4)
	}
	return ink, quiet
}

// track is how much of the flow is behind the station.
func (b *Board) track(p *panel.Pen, s tileState, r panel.Rect, under, over color.NRGBA) {
	p.Box(r, 2, under, color.NRGBA{}, 0)
	if s.share > 0 {
		r.W *= float64(s.share) / 100
		p.Box(r, 2, over, color.NRGBA{}, 0)
	}
}

// foot is the tile's last line: how late, then as much as there is room for.
func (b *Board) foot(p *panel.Pen, s tileState, said string, at panel.Rect, t panel.Type, ink, quiet color.NRGBA) {
	x := at.X
	if s.late != "" {
		x += p.Text(s.late, x, at.Y, panel.Start, t.Weighted(fonts.WeightBold), ink) + t.Size
	}
	for _, f := range []string{s.prime, s.word, s.tries} {
		if w := p.Measure(f, t); f != "" && f != said && x+w <= at.X+at.W {
			x += p.Text(f, x, at.Y, panel.Start, t, quiet) + t.Size
		}
	}
}

// mark is the tile's sign: each meaning has a shape too.
func (b *Board) mark(p *panel.Pen, s tileState, x, y, size float64) {
	t := b.o.Theme
	switch s.need {
	case classroom.NeedUnsafe:
		p.Square(x, y, size, t.OnWarn)
	case classroom.NeedLost, classroom.NeedSlow:
		p.Triangle(x, y, size, t.Caution)
	case classroom.NeedLetIn:
		p.Ring(x, y, size/2, size/6, t.Caution)
	case classroom.NeedAway:
		p.Cross(x, y, size, t.Ink3)
	case classroom.NeedFinished:
		p.Tick(x, y, size, t.OK)
	}
}
