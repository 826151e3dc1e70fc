package classroom

import (
	"cmp"
	"slices"
	"time"

	"kickover/procedure"
)

// Board is the live board: where every station stands. It is fed with what the
// stations say of themselves and with times, and draws nothing.
type Board struct {
	stations map[StationID]*Row
}

// Row is one station on the board.
type Row struct {
	Station  StationID
	Number   int
	Name     string
	Here     bool          // connected
	HeardAt  time.Duration // class time of its last position
	Live     Live
	UnsafeAt time.Duration // when the last breach came to the board; zero when there is none in this drill
	Need     Need
	Trouble  string // what it tried that an honest station does not
}

// Need is how much somebody needs the instructor.
type Need int

// The needs, from none to the most pressing.
const (
	NeedNothing Need = iota
	NeedFinished
	NeedReady
	NeedSlow   // past the present step's window, or with steps missed
	NeedLetIn  // all began without it, and it waits
	NeedLost   // long past the window: stuck
	NeedAway   // not connected, or silent
	NeedUnsafe // did something that could hurt somebody
)

// When a station counts as stuck and as silent. Common practice, no source: an
// instructor lets ten seconds pass before asking.
const (
	stuckAfter  = 10 * time.Second
	silentAfter = 3 * time.Second
)

// NewBoard is an empty board.
func NewBoard() *Board { return &Board{stations: make(map[StationID]*Row)} }

// Join puts a station on the board, or renames it.
func (b *Board) Join(s StationID, number int, name string) {
	r := b.row(s)
	r.Number, r.Name = number, name
}

func (b *Board) row(s StationID) *Row {
	r := b.stations[s]
	if r == nil {
		r = &Row{Station: s}
		b.stations[s] = r
	}
	return r
}

// Connected notes that a station came or went.
func (b *Board) Connected(s StationID, here bool, now time.Duration) {
	if r := b.stations[s]; r != nil {
		r.Here = here
		if here {
			r.HeardAt = now
		}
	}
}

// Position takes what a station says of itself.
func (b *Board) Position(s StationID, l Live, now time.Duration) {
	r := b.stations[s]
	if r == nil {
		return
	}
	before := r.Live
	if before.Drill != l.Drill || before.Run != l.Run {
		before = Live{}
		if r.Live.Drill != l.Drill {
			r.UnsafeAt = 0
		}
	}
	if l.Unsafe > before.Unsafe {
		r.UnsafeAt = max(now, 1)
	}
	r.Live, r.HeardAt, r.Here = l, now, true
}

// Trouble notes that a station misbehaved and was cut off.
func (b *Board) Trouble(s StationID, what string) {
	if r := b.stations[s]; r != nil {
		r.Trouble, r.Here = what, false
	}
}

// Row gives one station.
func (b *Board) Row(s StationID, now time.Duration) (Row, bool) {
	r := b.stations[s]
	if r == nil {
		return Row{}, false
	}
	out := *r
	out.Need = need(&out, now)
	return out, true
}

// Rows gives all stations: by who needs help most when helpFirst, else by number.
func (b *Board) Rows(now time.Duration, helpFirst bool) []Row {
	out := make([]Row, 0, len(b.stations))
	for s := range b.stations {
		r, _ := b.Row(s, now)
		out = append(out, r)
	}
	slices.SortFunc(out, func(x, y Row) int {
		byNumber := cmp.Or(cmp.Compare(x.Number, y.Number), cmp.Compare(x.Station, y.Station))
		if !helpFirst {
			return byNumber
		}
		return cmp.Or(cmp.Compare(y.Need, x.Need), cmp.Compare(y.UnsafeAt, x.UnsafeAt),
			cmp.Compare(y.Live.Overdue/time.Second, x.Live.Overdue/time.Second), cmp.Compare(y.Live.Missed, x.Live.Missed), byNumber)
	})
	return out
}

func need(r *Row, now time.Duration) Need {
	l := &r.Live
	switch {
	case r.UnsafeAt > 0:
		return NeedUnsafe
	case !r.Here, now-r.HeardAt > silentAfter:
		return NeedAway
	case l.Waits:
		return NeedLetIn
	case l.Done && (l.Outcome == procedure.Started || l.Outcome == procedure.Stopped):
		return NeedFinished
	case l.Overdue >= stuckAfter:
		return NeedLost
	case l.Overdue > 0, l.Missed > 0, l.Tries > 1, l.Done, l.Missing != "":
		return NeedSlow
	case l.Ready:
		return NeedReady
	}
	return NeedNothing
}

// Tally counts a board for its heading.
type Tally struct {
	Here, Away, Ready, Flying, Finished, Unsafe int
	Outside                                     int // wait to be let into a drill that all began without them
	Waiting                                     int // events that stations still have to deliver
}

// Tally counts the stations.
func (b *Board) Tally(now time.Duration) Tally {
	var t Tally
	for s := range b.stations {
		r, _ := b.Row(s, now)
		if !r.Here || now-r.HeardAt > silentAfter {
			t.Away++
		} else {
			t.Here++
		}
		switch {
		case r.Need == NeedLetIn:
			t.Outside++
		case r.Live.Done:
			t.Finished++
		case r.Live.Run != "":
			t.Flying++
		case r.Live.Ready:
			t.Ready++
		}
		if r.UnsafeAt > 0 {
			t.Unsafe++
		}
		t.Waiting += r.Live.Waiting
	}
	return t
}
