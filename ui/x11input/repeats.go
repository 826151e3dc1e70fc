package x11input

import "time"

// stroke is a key's press or release as the server sent it.
type stroke struct {
	code byte
	down bool
	time uint32        // the server's, in milliseconds
	at   time.Duration // ours, when it was read
}

// repeats takes out the release and the press that the server sends for each
// repeat of a key that is held. A release is kept back until it is known whether
// its press follows; it keeps its own stamp.
type repeats struct {
	held    [256]bool
	waiting *stroke
}

// feed takes the next stroke and gives those that are certain now.
func (f *repeats) feed(s stroke) []stroke {
	if w := f.waiting; w != nil && s.down && s.code == w.code && s.time == w.time {
		f.waiting = nil
		return nil
	}
	out := f.flush()
	switch {
	case !s.down && f.held[s.code]:
		f.waiting = &s
	case s.down:
		// Held already means that its release went to another window.
		f.held[s.code] = true
		out = append(out, s)
	}
	return out
}

// flush gives the release that was kept back: no press came with it.
func (f *repeats) flush() []stroke {
	if f.waiting == nil {
		return nil
	}
	s := *f.waiting
	f.waiting = nil
	f.held[s.code] = false
	return []stroke{s}
}
