package classroom

import (
	"fmt"

	"kickover/procedure/classroom"
	"kickover/ui/panel"
)

const headHeight = 122

// headState is the board's head.
type headState struct {
	class, drill, state, address, code, counts, notice string
	told                                               string // who has what was ordered last; it stands where a notice does
	door                                               doorState
	public                                             bool
	invited                                            bool // how to join is shown large already
}

func (b *Board) headNow() headState {
	t, door := b.o.Class.Tally(), b.o.Class.Door()
	h := headState{class: b.o.Class.Class().Name, drill: "No drill yet", code: door.Code.String(), door: doorOf(door),
		counts: counts(t), public: b.o.Public}
	if a := b.o.Class.Addresses(); len(a) > 0 {
		h.address = a[0]
	}
	if d, ok := b.o.Class.Drill(); ok {
		h.drill = b.o.FlowTitle(d.Situation) + ", " + string(d.Mode)
		h.state = stateWord(d, t)
	}
	if b.o.Public {
		return h
	}
	if told, ok := b.o.Class.Told(); ok {
		h.told = toldWords(told, false)
	}
	if n := b.o.Class.Notices(); len(n) > 0 && h.told == "" {
		h.notice = n[len(n)-1]
	}
	return h
}

// counts says how many are where.
func counts(t classroom.Tally) string {
	text := fmt.Sprintf("%d here", t.Here)
	for _, c := range []struct {
		n    int
		word string
	}{{t.Away, "✗ %d away"}, {t.Outside, "%d to be let in"}, {t.Unsafe, "■ %d unsafe"}, {t.Finished, "%d finished"}} {
		if c.n > 0 {
			text += "    " + fmt.Sprintf(c.word, c.n)
		}
	}
	return text
}

func stateWord(d classroom.Drill, t classroom.Tally) string {
	switch {
	case d.Paused:
		return "paused"
	case d.State == classroom.Announced:
		return fmt.Sprintf("%d of %d ready", t.Ready, t.Here)
	case d.State == classroom.Going:
		return "under way"
	}
	return "over"
}

// paintHead draws the class and its drill on the left, and on the right how to
// join, for those who come late.
func (b *Board) paintHead(p *panel.Pen, h headState) {
	t := b.o.Theme
	w := b.head.Area.W
	drill, state := panel.Head, panel.Lead.Sized(22)
	if h.public {
		drill, state = panel.Head.Sized(38), panel.Head.Sized(34)
	}
	room := w*0.6 - 24
	text := h.counts
	if h.state != "" {
		text = h.state + "    " + text
	}
	y1, y2 := 46.0, 92.0
	if !h.public {
		y1, y2 = 42, 80 // a line follows
	}
	p.Text(p.Clip(h.drill, drill, room), 24, y1, panel.Start, drill, t.Ink)
	p.Text(p.Clip(text, state, room), 24, y2, panel.Start, state, t.Ink2)
	small, aside := panel.Body.Sized(18), 0.0
	if !h.invited && h.address != "" {
		aside = h.door.paint(p, t, w-24, headHeight-6, panel.End, small) + 24
	}
	last, ink := h.notice, t.Caution
	if h.told != "" {
		last, ink = h.told, t.Ink
	}
	if last != "" {
		p.Text(p.Clip(last, small, w-48-aside), 24, headHeight-6, panel.Start, small, ink)
	}
	switch {
	case h.invited:
		p.Text(h.class, w-24, 46, panel.End, panel.Head, t.Ink2)
		return
	case h.address == "":
		p.Text("No network: one machine only", w-24, 52, panel.End, panel.Lead, t.Ink2)
		return
	}
	p.Text(h.address, w-24, 46, panel.End, panel.Head, t.Ink)
	ink = t.Ink
	if h.door.shut {
		ink = t.Ink3
	}
	code := p.Fit(h.code, panel.Head, w*0.4-24, 20)
	p.Text(h.code, w-24, 90, panel.End, code, ink)
}
