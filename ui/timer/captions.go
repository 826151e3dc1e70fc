package timer

import (
	"slices"
	"time"

	"kickover/procedure"
	"kickover/procedure/timer"
)

// captions stands in for the voice: the latest line that is due, for as long as
// it takes to say.
type captions struct {
	waiting []timer.Effect
	shown   timer.Effect
	until   time.Duration
}

func (c *captions) say(e timer.Effect) { c.waiting = append(c.waiting, e) }

func (c *captions) hush(tag string) {
	kept := c.waiting[:0]
	for _, e := range c.waiting {
		if e.Tag != tag {
			kept = append(kept, e)
		}
	}
	c.waiting = kept
}

func (c *captions) at(now time.Duration) string {
	kept := c.waiting[:0]
	for _, e := range c.waiting {
		if e.At > now {
			kept = append(kept, e)
			continue
		}
		if now >= c.until || e.Priority >= c.shown.Priority && e.At >= c.shown.At {
			c.shown, c.until = e, e.At+readingTime(e.Line)
		}
	}
	c.waiting = kept
	if now >= c.until {
		return ""
	}
	return c.shown.Line.Caption
}

// next is when another caption is to be shown, or none.
func (c *captions) next(now time.Duration) (at time.Duration, ok bool) {
	if c.until > now {
		at, ok = c.until, true
	}
	for _, e := range c.waiting {
		if e.At > now && (!ok || e.At < at) {
			at, ok = e.At, true
		}
	}
	return at, ok
}

// missed drops what was due by now: it comes too late.
func (c *captions) missed(now time.Duration) {
	c.waiting = slices.DeleteFunc(c.waiting, func(e timer.Effect) bool { return e.At <= now })
}

// readingTime is about as long as a line takes to say.
func readingTime(l procedure.Line) time.Duration {
	return 700*time.Millisecond + time.Duration(len(l.Spoken()))*65*time.Millisecond
}
