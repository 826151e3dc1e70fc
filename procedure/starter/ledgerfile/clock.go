package ledgerfile

import "time"

// Moment is now by every clock there is.
type Moment struct {
	Boot     string        // which boot of the computer; empty when it cannot be told
	Since    time.Duration // since that boot, sleep included
	Wall     time.Time
	Hardware time.Time // the battery clock's; zero when there is none
}

// Clock tells the time. SystemClock is the computer's.
type Clock interface {
	// Now leaves Hardware out: that clock is slow to read.
	Now() Moment
	// Hardware reads the battery clock; zero when there is none.
	Hardware() time.Time
}

// SystemClock is the computer's own clocks.
func SystemClock() Clock { return system{} }

type system struct{}

// doubt is what is wrong with a gap between two moments.
type doubt int

const (
	certain    doubt = iota
	byWall           // counted by the wall clock alone, over a restart
	wentBack         // the wall clock went back
	disagreed        // the wall clock and the battery clock do not agree
	impossible       // the time since boot went back: a copy of a machine's state was restored
)

// surely is the least that gap can be when the wall clock is not believed.
func surely(a, b Moment) (time.Duration, doubt) {
	if d, doubt := gap(a, b); doubt != byWall {
		return d, doubt
	}
	if b.Boot == "" {
		return 0, byWall
	}
	return b.Since, byWall
}

// Clocks that agree may differ so much: the battery clock shows whole seconds,
// and a synchronised wall clock is drawn in slowly. Estimate.
const agreement = 3 * time.Second

// gap is the time from a to b, the least it can have been when that is in doubt.
func gap(a, b Moment) (time.Duration, doubt) {
	if a.Boot != "" && a.Boot == b.Boot {
		if b.Since < a.Since {
			return 0, impossible
		}
		return b.Since - a.Since, certain
	}
	least := time.Duration(0)
	if b.Boot != "" {
		least = b.Since // b's boot came after a
	}
	wall := b.Wall.Sub(a.Wall)
	if wall < least {
		return least, wentBack
	}
	if a.Hardware.IsZero() || b.Hardware.IsZero() {
		return wall, byWall
	}
	hardware := b.Hardware.Sub(a.Hardware)
	if d := wall - hardware; d > agreement || d < -agreement {
		return max(least, min(wall, hardware)), disagreed
	}
	return wall, certain
}
