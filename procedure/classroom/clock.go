package classroom

import (
	"slices"
	"time"
)

// Comparison is one comparison of two clocks by four time stamps (RFC 5905,
// section 8): asked and answered by the station's clock, received and sent by
// the class's. Neither clock need be right, or even near.
type Comparison struct {
	Asked    time.Duration // T1, station
	Received time.Duration // T2, class
	Sent     time.Duration // T3, class
	Answered time.Duration // T4, station
}

// Offset is what must be added to the station's clock to give class time.
func (c Comparison) Offset() time.Duration {
	return ((c.Received - c.Asked) + (c.Sent - c.Answered)) / 2
}

// Delay is the time on the way, both ways together. Half of it is the most that
// Offset can be wrong by.
func (c Comparison) Delay() time.Duration {
	return (c.Answered - c.Asked) - (c.Sent - c.Received)
}

// comparisonsKept is how many comparisons the best is chosen from: enough that
// one of them met an idle network, few enough that quartz has not drifted away
// meanwhile (50 ppm in 16 comparisons of one each second is under 1 ms).
const comparisonsKept = 16

// ClassClock is a station's knowledge of class time. The zero value knows
// nothing.
type ClassClock struct {
	kept []Comparison
}

// Add takes one more comparison. A reply that seems to have been received before
// it was asked for, or that was on the way for longer than two seconds, is of no
// use and is dropped.
func (k *ClassClock) Add(c Comparison) {
	if d := c.Delay(); d < 0 || d > 2*time.Second || c.Sent < c.Received {
		return
	}
	k.kept = append(k.kept, c)
	if n := len(k.kept); n > comparisonsKept {
		k.kept = slices.Delete(k.kept, 0, n-comparisonsKept)
	}
}

// Forget drops what is known, as when the instructor's program was started anew.
func (k *ClassClock) Forget() { k.kept = nil }

// Known reports how many comparisons there are.
func (k *ClassClock) Known() int { return len(k.kept) }

// best is the comparison that spent the least time on the way.
func (k *ClassClock) best() (Comparison, bool) {
	if len(k.kept) == 0 {
		return Comparison{}, false
	}
	return slices.MinFunc(k.kept, func(a, b Comparison) int { return int(a.Delay() - b.Delay()) }), true
}

// Local turns a moment of class time into the station's own; false when nothing
// is known.
func (k *ClassClock) Local(class time.Duration) (time.Duration, bool) {
	c, ok := k.best()
	return class - c.Offset(), ok
}

// Class turns a moment of the station's clock into class time.
func (k *ClassClock) Class(local time.Duration) (time.Duration, bool) {
	c, ok := k.best()
	return local + c.Offset(), ok
}

// Error is the most that a conversion can be wrong by, drift aside.
func (k *ClassClock) Error() time.Duration {
	c, ok := k.best()
	if !ok {
		return 0
	}
	return c.Delay() / 2
}
