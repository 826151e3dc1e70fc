package timer

import (
	"fmt"
	"strings"

	"kickover/procedure/timer"
	"kickover/ui/panel"
)

// plate is a place beside the button that may be pressed.
type plate struct {
	at     panel.Rect
	does   deed // empty: a press there is nothing
	number int
}

// deed is what a plate does.
type deed string

const (
	doesChoose deed = "choose" // the situation or the note of a number
	doesBoard  deed = "board"  // the aeroplane of a number
	doesType   deed = "type"
	doesAir    deed = "air"
	doesFleet  deed = "fleet"
	doesHelp   deed = "help"
	doesDress  deed = "dress"
	doesUndo   deed = "undo"
	doesEscape deed = "escape" // close the page, or leave
	doesFill   deed = "fill"
	doesPrime  deed = "prime"  // by holding, or by two presses
	doesWarmer deed = "warmer" // by number degrees
	doesHigher deed = "higher" // by number steps
	doesLonger deed = "longer"
)

// chipsState is what may be chosen below the button, by name: situations before
// the prime, notes once the engine runs.
type chipsState struct {
	names  string // joined by line feeds
	chosen int
	rows   int  // zero: there is nothing to choose
	typed  bool // the last is for one's own words
}

// Rows of each.
const (
	situationRows = 2
	noteRows      = 3
)

func chipsOf(p *picture) chipsState {
	switch {
	case p.State == timer.Ready:
		return situationsOf(p)
	case p.State == timer.Noting:
		return chipsState{names: strings.Join(append(shortened(p.Notes), "write…"), "\n"), chosen: p.Note, rows: noteRows, typed: true}
	}
	return chipsState{}
}

// shortened leaves a long note's beginning.
func shortened(notes []string) []string {
	var out []string
	for _, n := range notes {
		if r := []rune(n); len(r) > 24 {
			n = string(r[:23]) + "…"
		}
		out = append(out, n)
	}
	return out
}

// situationsOf names the situations; where two are alike, by their title.
func situationsOf(p *picture) chipsState {
	s := chipsState{chosen: -1, rows: situationRows}
	var names []string
	count := map[string]int{}
	for _, f := range p.Flows {
		count[f.Situation]++
	}
	for i, f := range p.Flows {
		name := f.Situation
		if count[name] > 1 {
			name = strings.ToLower(f.Title)
		}
		names = append(names, name)
		if f.ID == p.Flow.ID {
			s.chosen = i
		}
	}
	s.names = strings.Join(names, "\n")
	return s
}

const (
	chipHigh = 38
	chipGap  = 8
)

// chipsArea is where so many rows of them are.
func (l *layout) chipsArea(rows int) panel.Rect {
	h := float64(rows) * (chipHigh + chipGap)
	return panel.Rect{X: l.textAt.X, Y: l.rule - h, W: l.textAt.W, H: h - chipGap + 4}
}

// chipPlates lays the names out in rows that are as even as they come.
func (v *view) chipPlates(s chipsState) []plate {
	names := strings.Split(s.names, "\n")
	area := v.chipsArea(s.rows)
	var out []plate
	y := area.Y
	for _, row := range evenRows(names, s.rows) {
		x := area.X
		room := area.W - chipGap*float64(len(row)-1)
		for _, n := range row {
			w := room * float64(letters(n)) / float64(letters(row...))
			p := plate{at: panel.Rect{X: x, Y: y, W: w, H: chipHigh}, does: doesChoose, number: len(out)}
			if s.typed && len(out) == len(names)-1 {
				p.does = doesType
			}
			out = append(out, p)
			x += w + chipGap
		}
		y += chipHigh + chipGap
	}
	return out
}

// letters is about how wide names are, with their numbers and margins.
func letters(names ...string) int {
	n := 0
	for _, s := range names {
		n += len([]rune(s)) + 4
	}
	return n
}

// evenRows splits names, in order, into rows of which the widest is as narrow as
// can be.
func evenRows(names []string, rows int) [][]string {
	if rows <= 1 || len(names) <= 1 {
		return [][]string{names}
	}
	var best [][]string
	for i := 1; i < len(names); i++ {
		split := append([][]string{names[:i]}, evenRows(names[i:], rows-1)...)
		if best == nil || widest(split) < widest(best) {
			best = split
		}
	}
	return best
}

func widest(rows [][]string) int {
	w := 0
	for _, r := range rows {
		w = max(w, letters(r...))
	}
	return w
}

func (v *view) paintChips(p *panel.Pen, s chipsState) {
	names := strings.Split(s.names, "\n")
	for i, c := range v.chipPlates(s) {
		line, ink, width := p.Line, p.Ink2, 1.5
		if i == s.chosen {
			line, ink, width = p.Now, p.Ink, 3
		}
		p.Box(c.at, 9, p.Raised, line, width)
		text := fmt.Sprintf("%d %s", i+1, names[i])
		if c.does == doesType {
			text = "T " + names[i]
		}
		p.Text(text, c.at.X+c.at.W/2, c.at.Y+26, panel.Middle, p.Fit(text, panel.Label.Sized(20), c.at.W-14, 12), ink)
	}
}
