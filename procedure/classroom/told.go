package classroom

import (
	"slices"
	"time"
)

// This file is what the instructor ordered last and who has it: a station's
// position says how far it has come with what it was told, so that nothing here is
// guessed.

// Told is what the instructor told stations last, and which of them have it.
type Told struct {
	Order Order // its kind alone where the whole drill was changed: paused, begun, ended
	Have  []int // numbers of the stations whose programs said that they have it
	Not   []int // of those that are here, and have not yet
	Away  []int // and of those that cannot be reached: they are told when they are back
}

// telling is a Told on its way.
type telling struct {
	order  Order
	rev    int               // of the drill, where that is what changed
	orders map[StationID]int // else the order's number at each station
	since  time.Duration     // class time
}

// toldFor is for how long it is of interest who has it, once everybody has.
const toldFor = 20 * time.Second

// Told is the last thing that stations were told, as long as that is of interest:
// until something else is to be read, or it has been in everybody's hands for a while.
func (i *Instructor) Told() (Told, bool) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.telling == nil || i.trouble != "" {
		return Told{}, false
	}
	out := Told{Order: i.telling.order}
	now := i.Time()
	for s, st := range i.stations {
		has, meant := i.has(s)
		switch r, here := i.board.Row(s, now); {
		case !meant || !here || st.Cut != "":
		case has:
			out.Have = append(out.Have, st.Number)
		case !r.Here || now-r.HeardAt > silentAfter:
			out.Away = append(out.Away, st.Number)
		default:
			out.Not = append(out.Not, st.Number)
		}
	}
	for _, numbers := range [][]int{out.Have, out.Not, out.Away} {
		slices.Sort(numbers)
	}
	return out, len(out.Not) > 0 || now-i.telling.since < toldFor
}

// has reports whether a station has what was told last, and whether it was meant at
// all; it wants mu held.
func (i *Instructor) has(s StationID) (has, meant bool) {
	r := i.board.stations[s]
	if r == nil {
		return false, false
	}
	if t := i.telling; t.orders != nil {
		n, meant := t.orders[s]
		return r.Live.Orders >= n, meant
	}
	return r.Live.Rev >= i.telling.rev, true
}

// flies reports whether a station is in a run of the present drill, in which
// something can be made to happen; it wants mu held.
func (i *Instructor) flies(s StationID) bool {
	r := i.board.stations[s]
	d, ok := i.present()
	return ok && d.State == Going && r != nil && r.Live.Drill == d.ID && r.Live.Run != "" && !r.Live.Done
}
