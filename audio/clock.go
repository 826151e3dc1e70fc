package audio

import (
	"math"
	"time"
)

// Rate is the sample rate of the stream.
const Rate = 48000

// sampleClock ties positions in the stream to the monotonic clock by watching
// when the device takes what it is given. It can take late, by what the machine
// is busy with, and never early, since it takes only into room that it has
// played free. So the promptest of the last seconds is what counts, as in the
// clock filter of NTP (RFC 5905, section 10), and it follows a device whose
// crystal runs a little fast or slow. What is in use moves towards it slowly, so
// that two call-outs a second apart are apart by that.
//
// When the device ran dry, or the machine slept, all that comes after is later
// than that. How long a device can play what it was given is known, so the first
// request after one ran dry says by how much it did, and what is asked for from
// then on is given its new place at once; that is a guess, which the requests that
// follow replace. Where it is not known, or the guess was wrong: a device runs dry
// when it is given nothing for as long as half of its buffer lasts, and one that is
// merely late is followed by one that is not; so when one was that late and none of
// the next few is near, the clock begins anew with those.
type sampleClock struct {
	origin  time.Time     // zero until first told
	latency time.Duration // from a sample's being taken to its being heard
	holds   time.Duration // what the device has to play when it is full; zero where that is not known
	taken   int64         // the samples before it were taken when it was last told
	slots   [spans]slot
	slot    int64   // the number of the latest, counted from origin
	count   int     // how often it was told since it began anew
	lead    float64 // seconds by which positions are taken to be ahead of time
	lastAt  time.Time
	off     [8]float64 // the last of those in a row that lie off, to one side
	offs    int        // how many they are
	dry     bool       // one of them was so late that the device may have run dry
	moves   int        // how often it began anew, once it had settled
	guess   guess
}

// guess is what a device that ran dry is believed to be at until enough of its
// requests have been heard.
type guess struct {
	lead, before float64       // seconds; what was in use before it
	until        time.Duration // since origin; zero is none
}

// slot is the promptest of a quarter of a second.
type slot struct {
	lead   float64
	filled bool
}

const (
	spans    = 20 // slots that are looked back upon: five seconds
	slotTime = 250 * time.Millisecond
	burst    = 2 * time.Millisecond // what comes within it of the last is the same request in pieces
	offBy    = 0.003                // seconds off
	dryAfter = 0.020                // late by that much a device of DefaultBuffer may have run dry
	farOff   = 0.100                // and by that much it has: three in a row will do
	farOffs  = 3
	anyOffs  = 48 // where none was that late
	settled  = 50 // requests: before, a device is only filling its buffers
	guessFor = 250 * time.Millisecond
	slew     = 5e-4 // at most, a second; crystals differ by a fifth of that
)

// reset forgets what was measured, since something else pulls from now on, which
// plays for so long when it is full.
func (c *sampleClock) reset(latency, holds time.Duration) {
	c.latency, c.holds = latency, holds
	c.forget()
	c.lastAt = time.Time{}
}

func (c *sampleClock) forget() {
	c.slots, c.count, c.offs, c.dry, c.guess = [spans]slot{}, 0, 0, false, guess{}
}

// observe is told that the device had taken the samples before pos at now. It
// reports whether all positions moved by it, and which was the first that did.
func (c *sampleClock) observe(pos int64, now time.Time) (moved bool, from int64) {
	if c.origin.IsZero() {
		c.origin = now
	}
	since, at := now.Sub(c.lastAt), now.Sub(c.origin)
	known := c.taken
	c.taken = pos
	if c.count > 0 && since < burst {
		return false, 0
	}
	c.lastAt = now
	// Since it last was full it can have played what it holds and no more.
	if full := float64(known)/Rate + c.holds.Seconds() - at.Seconds(); c.holds > 0 && c.count > 0 && full < c.lead-offBy {
		c.guessAnew(full, at)
		return true, known
	}
	lead := float64(pos)/Rate - at.Seconds()
	if moved = c.count > 0 && c.moved(lead); moved {
		c.beginAnew(at)
	} else if c.count <= settled || math.Abs(lead-c.lead) < offBy {
		c.keep(lead, at)
	}
	c.follow(since, at)
	return moved, pos
}

// guessAnew takes a device that ran dry to be full again: it takes at once all
// that there is room for.
func (c *sampleClock) guessAnew(full float64, at time.Duration) {
	before := c.lead
	if c.guess.until > 0 {
		before = c.guess.before
	}
	c.forget()
	c.moves++
	c.count, c.lead = 1, full
	c.guess = guess{lead: full, before: before, until: at + guessFor}
}

// beginAnew believes the last requests and forgets those before.
func (c *sampleClock) beginAnew(at time.Duration) {
	if c.count > settled {
		c.moves++
	}
	off, offs := c.off, min(c.offs, len(c.off))
	c.forget()
	for _, lead := range off[:offs] {
		c.keep(lead, at)
	}
}

// keep notes the promptest of each slot.
func (c *sampleClock) keep(lead float64, at time.Duration) {
	number := int64(at / slotTime)
	for ; c.slot < number; c.slot++ {
		c.slots[(c.slot+1)%spans] = slot{}
	}
	s := &c.slots[c.slot%spans]
	if !s.filled || lead > s.lead {
		*s = slot{lead, true}
	}
	c.count++
}

// follow moves what is in use towards the promptest: at once until it has
// settled, then slowly.
func (c *sampleClock) follow(since, at time.Duration) {
	promptest := math.Inf(-1)
	for _, s := range c.slots {
		if s.filled {
			promptest = max(promptest, s.lead)
		}
	}
	switch {
	case c.guess.until == 0:
	case at < c.guess.until:
		promptest = max(promptest, c.guess.lead)
	default:
		if promptest > c.guess.before-offBy {
			c.moves-- // it was late, and holds more than was thought
		}
		c.guess = guess{}
	}
	most := slew * min(since, slotTime).Seconds()
	switch {
	case math.IsInf(promptest, -1): // all that came for five seconds was late
	case c.count <= settled:
		c.lead = promptest
	default:
		c.lead += min(max(promptest-c.lead, -most), most)
	}
}

// moved reports whether the last requests all lie off to one side.
func (c *sampleClock) moved(lead float64) bool {
	d := lead - c.lead
	if math.Abs(d) < offBy || c.offs > 0 && (c.off[0] > c.lead) != (d > 0) {
		c.offs, c.dry = 0, false
	}
	if math.Abs(d) < offBy {
		return false
	}
	c.off[c.offs%len(c.off)] = lead
	c.offs++
	c.dry = c.dry || d < -dryAfter
	switch {
	case c.offs >= farOffs && math.Abs(d) > farOff:
		return true
	case c.dry || d > 0 || c.count <= settled: // no device takes too early because somebody is busy
		return c.offs >= len(c.off)
	default:
		return c.offs >= anyOffs
	}
}

// heard is when the sample at pos leaves the device.
func (c *sampleClock) heard(pos int64) time.Time {
	since := (float64(pos)/Rate - c.lead) * float64(time.Second)
	return c.origin.Add(time.Duration(since) + c.latency)
}

// position is the sample that is heard at t; false before anything is known.
func (c *sampleClock) position(t time.Time) (int64, bool) {
	if c.origin.IsZero() {
		return 0, false
	}
	since := t.Sub(c.origin) - c.latency
	return int64(math.Round((since.Seconds() + c.lead) * Rate)), true
}
