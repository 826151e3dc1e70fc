package x11input

import "time"

// tick is the resolution of the server's clock.
const tick = time.Millisecond

// memory is how many strokes the least delay is taken over, so that a server on
// another machine may drift.
const memory = 64

// stamps mends the stamps of strokes that were read late, because this process
// or the reading goroutine had to wait for a processor, by the server's own time.
//
// The server's time is ours but for a constant and less than a tick. The least
// difference seen lately is that constant as well as it can be known; a stroke
// that was read more than a tick after what it says was read late.
type stamps struct {
	begun bool
	zero  uint32          // the server's time of the first stroke, for wrapping round
	since []time.Duration // ours less the server's, of the last strokes
}

// mend gives the time at which the stroke happened, as nearly as is known.
func (s *stamps) mend(server uint32, read time.Duration) time.Duration {
	if !s.begun {
		s.begun, s.zero = true, server
	}
	// The difference of two uint32 is right across the wrap every 49.7 days.
	theirs := time.Duration(int32(server-s.zero)) * time.Millisecond
	s.since = append(s.since, read-theirs)
	if len(s.since) > memory {
		s.since = s.since[1:]
	}
	least := s.since[0]
	for _, d := range s.since[1:] {
		least = min(least, d)
	}
	if latest := theirs + least + tick; read > latest {
		return latest - tick/2
	}
	return read
}
