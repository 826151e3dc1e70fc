package classroom

import (
	"fmt"
	"time"

	"kickover/procedure/classroom"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// doorState is what is said of a join code beside it: how long it is good, and for
// a while after it changed which one is good no more.
type doorState struct {
	left string // "12 min"
	old  string // digits that are good no more; empty when that is long ago
	shut bool
}

// changedFor is how long it is told that the code has changed: who typed the old one
// looks up again within that time.
const changedFor = 3 * time.Minute

func doorOf(d classroom.Door) doorState {
	s := doorState{left: leftWords(d.Left), shut: d.Shut}
	if d.Old != "" && d.OldFor < changedFor {
		s.old = d.Old[:3] + " " + d.Old[3:]
	}
	return s
}

// leftWords counts minutes, and the last one in tens of seconds: what is read from
// a projector must not change while it is read.
func leftWords(left time.Duration) string {
	const few = 10 * time.Second
	if left > time.Minute {
		return fmt.Sprintf("%d min", (left+time.Minute-1)/time.Minute)
	}
	return fmt.Sprintf("%d s", (left+few-1)/few*(few/time.Second))
}

const nobodyNew = "Nobody new is let in"

func (s doorState) String() string {
	switch {
	case s.shut:
		return nobodyNew
	case s.old != "":
		return s.old + " is no longer valid: this is the new code"
	}
	return "lets you in for " + s.left + ", then another code stands here"
}

// paint writes it, and gives how wide it is.
func (s doorState) paint(p *panel.Pen, t theme.Tokens, x, y float64, a panel.Anchor, text panel.Type) float64 {
	ink := t.Ink2
	if s.old != "" || s.shut {
		ink = t.Caution
	}
	return p.Text(s.String(), x, y, a, text, ink)
}
