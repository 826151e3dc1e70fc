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
	for _, ppm := range []float64{100, -100} {
		var c sampleClock
		start := time.Now()
		// Crystals are within 100 parts in a million; the clock looks back 5 s, so it
		// may lag by 0.5 ms, and the promptest request is hardly late.
		pullPattern(&c, start, 0, time.Hour, ppm, 0, late)
		pos := int64(3600 * Rate * (1 + ppm*1e-6))
		if off := c.heard(pos).Sub(start.Add(time.Hour)).Abs(); off > 700*time.Microsecond {
			t.Errorf("after an hour at %g ppm a sample is taken to be heard %v off", ppm, off)
		}
	}
}

// A device that asks every millisecond is followed as any other.
func TestClockFollowsADeviceThatAsksOften(t *testing.T) {
	var c sampleClock
	start := time.Now()
	for at := time.Duration(0); at < time.Minute; at += time.Millisecond {
		c.observe(int64(at.Seconds()*Rate*(1+100e-6)), start.Add(at))
	}
	if off := c.heard(int64(60 * Rate * (1 + 100e-6))).Sub(start.Add(time.Minute)).Abs(); off > 700*time.Microsecond {
		t.Errorf("after a minute at 100 ppm a sample is taken to be heard %v off", off)
	}
}

// What the machine is busy with makes requests late by milliseconds, and by how
// many changes by the second; two call-outs keep their distance within 1 ms.
func TestCallOutsKeepTheirDistanceOnABusyMachine(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	n := 0
	late := func() time.Duration {
		n++
		most := []int{300, 12_000, 2000, 18_000}[n/100%4]
		return time.Duration(random.IntN(most)) * time.Microsecond
	}
	var c sampleClock
	start := time.Now()
	var least, most time.Duration
	for at := time.Duration(0); at < 10*time.Minute; at += time.Second {
		pullPattern(&c, start, at, at+time.Second, 20, 0, late)
		if at < 10*time.Second {
			continue
		}
		off := c.heard(int64(at.Seconds() * Rate * (1 + 20e-6))).Sub(start.Add(at))
		if least == 0 {
			least, most = off, off
		}
		least, most = min(least, off), max(most, off)
	}
	if most-least > time.Millisecond {
		t.Errorf("the clock wanders by %v, want within 1 ms", most-least)
	}
	if c.moves > 0 {
		t.Errorf("it began anew %d times, and the device never ran dry", c.moves)
	}
}

// A device that takes 1200 samples every 25 ms, out of a queue that is filled in
// pieces of 480: how far the queue is filled when a piece is asked for changes,
// and that is no change of time.
func TestClockKnowsWhatWaitsInTheQueue(t *testing.T) {
	m := NewMixer(testClips, 0)
	start := time.Now()
	block := make([][2]float64, 480)
	queued := 0
	for n := range 2000 {
		if n > 1 {
			queued -= 1200
		}
		for now := start.Add(time.Duration(n) * 25 * ms); queued < 2400; queued += len(block) {
			m.pullAhead(now, queued, block)
		}
		if n < 100 {
			continue
		}
		taken := int64(n-1) * 1200
		if off := m.clock.heard(taken).Sub(start.Add(time.Duration(n) * 25 * ms)).Abs(); off > 100*time.Microsecond {
			t.Fatalf("after %d requests what is taken is believed %v off its time", n, off)
		}
	}
}

func TestClockBelievesAGapWithinAFifthOfASecond(t *testing.T) {
	prompt := func() time.Duration { return 0 }
	var c sampleClock
	start := time.Now()
	pullPattern(&c, start, 0, 10*time.Second, 0, 0, prompt)
	// The device had nothing for half its buffer, 25 ms, and then ran dry for 7 ms:
	// from now on every position comes 7 ms later.
	const gap = Rate * 7 / 1000
	c.observe(10*Rate, start.Add(10*time.Second+32*time.Millisecond))
	pullPattern(&c, start, 10*time.Second+40*time.Millisecond, 10*time.Second+200*time.Millisecond, 0, -gap, prompt)
	want := start.Add(11 * time.Second)
	pos, _ := c.position(want)
	if off := pos - (11*Rate - gap); off < -2 || off > 2 {
		t.Errorf("0.2 s after the gap the clock is still off by %d samples", off)
	}
}

// A device that was just given the stream takes its first samples into room that
// there is only once.
func TestClockBelievesNotOnlyTheFirstRequest(t *testing.T) {
	var c sampleClock
	start := time.Now()
	c.observe(0, start.Add(-7*time.Millisecond))
	pullPattern(&c, start, 20*time.Millisecond, 200*time.Millisecond, 0, 0, func() time.Duration { return 0 })
	if off := c.heard(Rate).Sub(start.Add(time.Second)).Abs(); off > time.Millisecond {
		t.Errorf("after 0.2 s the clock is off by %v", off)
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
	c.reset(80*time.Millisecond, 0)
	start := time.Now()
	pullPattern(&c, start, 0, time.Second, 0, 0, func() time.Duration { return 0 })
	for _, pos := range []int64{0, 1, Rate, 24 * 3600 * Rate} {
		back, _ := c.position(c.heard(pos))
		if math.Abs(float64(back-pos)) > 1 {
			t.Errorf("sample %d comes back as %d", pos, back)
		}
	}
}
