package audio

import (
	"math"
	"slices"
	"time"
)

// Rate is the sample rate of the stream.
const Rate = 48000

// sampleClock ties positions in the stream to the monotonic clock by watching
// when the device asks for more. Each request comes early or late by some
// milliseconds; the median of the last requests does not, and it follows a
// device whose crystal runs a little fast or slow.
//
// When the device ran dry, or the machine slept, everything after is later than
// the median says. A request that is merely late is followed by one that is not;
// so when none of the last few is near the median, it is the median that is
// wrong, and it begins anew with those.
type sampleClock struct {
	origin  time.Time     // zero until first told
	latency time.Duration // from a sample's being asked for to its being heard
	leads   [200]float64  // seconds by which positions were ahead of time
	scratch [200]float64
	count   int // how many of leads are filled
	next    int
	lead    float64 // the median in use
	lastAt  time.Time
	off     [8]float64 // the last requests in a row that lie off the median, to one side
	offs    int
	moves   int // how often the median began anew, once it had settled
}

// A request that comes within burst of the last is the same request cut in
// pieces and says nothing new.
const (
	burst   = 2 * time.Millisecond
	offBy   = 0.0015 // seconds off the median
	farOff  = 0.100  // no request is late by that much: three in a row will do
	farOffs = 3
	settled = 50 // requests: before, a device is only filling its buffers
)

// reset forgets what was measured, since something else pulls from now on.
func (c *sampleClock) reset(latency time.Duration) {
	c.latency, c.count, c.next, c.offs = latency, 0, 0, 0
	c.lastAt = time.Time{}
}

// observe is told that the sample at position pos was asked for at now. It
// reports whether all positions moved by it.
func (c *sampleClock) observe(pos int64, now time.Time) (moved bool) {
	if c.origin.IsZero() {
		c.origin = now
	}
	recent := !c.lastAt.IsZero() && now.Sub(c.lastAt) < burst
	c.lastAt = now
	lead := float64(pos)/Rate - now.Sub(c.origin).Seconds()
	if recent && c.count > 0 {
		return false
	}
	if moved = c.count > 0 && c.moved(lead); moved {
		if c.count > settled {
			c.moves++
		}
		c.count, c.next = 0, 0
		for _, l := range c.off[:c.offs] {
			c.keep(l)
		}
		c.offs = 0
	} else {
		c.keep(lead)
	}
	sorted := c.scratch[:c.count]
	copy(sorted, c.leads[:c.count])
	slices.Sort(sorted)
	c.lead = (sorted[(c.count-1)/2] + sorted[c.count/2]) / 2
	return moved
}

func (c *sampleClock) keep(lead float64) {
	c.leads[c.next] = lead
	c.next = (c.next + 1) % len(c.leads)
	c.count = min(c.count+1, len(c.leads))
}

// moved reports whether the last requests all lie off the median to one side.
func (c *sampleClock) moved(lead float64) bool {
	d := lead - c.lead
	if math.Abs(d) < offBy {
		c.offs = 0
		return false
	}
	if c.offs > 0 && (c.off[0] > c.lead) != (d > 0) {
		c.offs = 0
	}
	c.off[c.offs] = lead
	c.offs++
	return c.offs == len(c.off) || c.offs >= farOffs && math.Abs(d) > farOff
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
