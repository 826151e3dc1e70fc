package audio

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// pullPattern feeds a clock as a device with the given crystal error asks:
// every 20 ms, each request late by up to late.
func pullPattern(c *sampleClock, start time.Time, from, to time.Duration, ppm float64, offset int64, late func() time.Duration) {
	for at := from; at < to; at += 20 * time.Millisecond {
		pos := int64(at.Seconds()*Rate*(1+ppm*1e-6)) + offset
		c.observe(pos, start.Add(at+late()))
	}
}

func TestClockFollowsDrift(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	late := func() time.Duration { return time.Duration(random.IntN(4000)) * time.Microsecond }
	var c sampleClock
	start := time.Now()
	// Crystals are within 100 parts in a million; the median looks back 4 s, so
	// it may lag by half of that: 0.2 ms, and the requests' own lateness.
	pullPattern(&c, start, 0, time.Hour, 100, 0, late)
	pos := int64(3600 * Rate * (1 + 100e-6))
	got := c.heard(pos).Sub(start.Add(time.Hour))
	if got < 1500*time.Microsecond || got > 2700*time.Microsecond {
		t.Errorf("after an hour at 100 ppm a sample is taken to be heard %v late, want the requests' mean lateness of 2 ms within 0.7 ms", got)
	}
}

func TestClockBelievesAGapWithinAFifthOfASecond(t *testing.T) {
	prompt := func() time.Duration { return 0 }
	var c sampleClock
	start := time.Now()
	pullPattern(&c, start, 0, 10*time.Second, 0, 0, prompt)
	// The device ran dry for 7 ms: from now on every position comes 7 ms later.
	const gap = Rate * 7 / 1000
	pullPattern(&c, start, 10*time.Second, 10*time.Second+200*time.Millisecond, 0, -gap, prompt)
	want := start.Add(11 * time.Second)
	pos, _ := c.position(want)
	if off := pos - (11*Rate - gap); off < -2 || off > 2 {
		t.Errorf("0.2 s after the gap the clock is still off by %d samples", off)
	}
}

func TestClockIgnoresALateRequest(t *testing.T) {
	n := 0
	hiccup := func() time.Duration {
		if n++; n%50 == 0 {
			return 60 * time.Millisecond
		}
		return 0
	}
	var c sampleClock
	start := time.Now()
	pullPattern(&c, start, 0, time.Minute, 0, 0, hiccup)
	if off := c.heard(60 * Rate).Sub(start.Add(time.Minute)).Abs(); off > time.Millisecond {
		t.Errorf("requests that are late now and then moved the clock by %v", off)
	}
	if c.moves > 0 {
		t.Errorf("the clock began anew %d times over requests that were merely late", c.moves)
	}
}

func TestClockRoundTrip(t *testing.T) {
	var c sampleClock
	if _, ok := c.position(time.Now()); ok {
		t.Error("a clock that was told nothing knows a position")
	}
	c.reset(80 * time.Millisecond)
	start := time.Now()
	pullPattern(&c, start, 0, time.Second, 0, 0, func() time.Duration { return 0 })
	for _, pos := range []int64{0, 1, Rate, 24 * 3600 * Rate} {
		back, _ := c.position(c.heard(pos))
		if math.Abs(float64(back-pos)) > 1 {
			t.Errorf("sample %d comes back as %d", pos, back)
		}
	}
}
