package x11input

import "time"

// tick is the resolution of the server's clock.
const tick = time.Millisecond

// The least delay is taken over the last memory spells of reading, so that a
// server on another machine may drift. What is read within a spell counts once: a
// process that was stopped reads a hundred late repeats together, and they must
// not push out what was known before.
const (
	spell  = time.Second
	memory = 64
)

// stamps mends the stamps of strokes that were read late, because this process
// or the reading goroutine had to wait for a processor, by the server's own time.
//
// The server's time is ours but for a constant and less than a tick. The least
// difference seen lately is that constant as well as it can be known; a stroke
// that was read more than a tick after what it says was read late.
type stamps struct {
	begun bool
	zero  uint32 // the server's time of the first stroke, for wrapping round
	since []delay
}

// delay is ours less the server's time, at least, in a spell of reading.
type delay struct{ from, least time.Duration }

// mend gives the time at which the stroke happened, as nearly as is known.
func (s *stamps) mend(server uint32, read time.Duration) time.Duration {
	if !s.begun {
		s.begun, s.zero = true, server
	}
	// The difference of two uint32 is right across the wrap every 49.7 days.
	theirs := time.Duration(int32(server-s.zero)) * time.Millisecond
	if n := len(s.since); n == 0 || read-s.since[n-1].from >= spell {
		s.since = append(s.since, delay{read, read - theirs})
	}
	last := &s.since[len(s.since)-1]
	last.least = min(last.least, read-theirs)
	if len(s.since) > memory {
		s.since = s.since[1:]
	}
	least := last.least
	for _, d := range s.since {
		least = min(least, d.least)
	}
	if latest := theirs + least + tick; read > latest {
		return latest - tick/2
	}
	return read
}
