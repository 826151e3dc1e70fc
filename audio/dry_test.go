package audio

import (
	"fmt"
	"math"
	"testing"
	"time"

	"kickover/audio/speech"
)

// taker is a device behind a sound server as it was recorded: it plays what it
// holds, takes a third of that as soon as there is room, and takes it from a queue
// that is filled again only when it has taken all that it may. While it is halted,
// as the program is that feeds it, it plays what it has and then nothing.
type taker struct {
	m           *Mixer
	start       time.Time
	queue, held []float64
	heard       []float64 // every sample since start
	dry         int
}

const takerHolds, takerTakes = Rate * 50 / 1000, Rate * 50 / 1000 / 3

func newTaker(clips Clips) *taker {
	m := NewMixer(clips, 0)
	m.retime(50*ms, 50*ms)
	return &taker{m: m, start: time.Now()}
}

func (d *taker) at() time.Duration { return time.Duration(len(d.heard)) * time.Second / Rate }

func (d *taker) run(until time.Duration, halted func(at time.Duration) bool) {
	const step = Rate / 1000
	for d.at() < until {
		if !halted(d.at()) {
			d.take()
		}
		n := min(step, len(d.held))
		d.heard = append(append(d.heard, d.held[:n]...), make([]float64, step-n)...)
		d.held, d.dry = d.held[n:], d.dry+step-n
	}
}

func (d *taker) take() {
	for len(d.held)+takerTakes <= takerHolds {
		n := min(takerTakes, len(d.queue))
		d.held = append(append(d.held, d.queue[:n]...), make([]float64, takerTakes-n)...)
		d.queue = d.queue[n:]
	}
	block := make([][2]float64, 480)
	for len(d.queue) < takerHolds {
		d.m.pullAhead(d.start.Add(d.at()), len(d.queue), block)
		for _, s := range block {
			d.queue = append(d.queue, s[0])
		}
	}
}

// marked is a clip whose first sample is louder than all others.
func marked(length time.Duration) speech.Clip {
	c := constant(3000, length, 90*ms)
	c.PCM[0] = 20000
	return c
}

// stalled has counts said every 600 ms while the device cannot ask for so long,
// and returns how late each was heard to begin; NaN is not at all.
func stalled(at, lasts time.Duration) (d *taker, due []time.Duration, late []float64) {
	d = newTaker(fakeClips{"count": marked(400 * ms)})
	never := func(time.Duration) bool { return false }
	for beat := 800 * ms; beat < 4*time.Second; beat += 600 * ms {
		d.run(beat-300*ms, func(now time.Duration) bool { return now >= at && now < at+lasts })
		d.m.Say(Line{Text: "count", Beat: d.start.Add(beat), Priority: Count})
		due = append(due, beat-90*ms)
	}
	d.run(5*time.Second, never)
	for _, t := range due {
		first := math.NaN()
		for i := samplesIn(t - 20*ms); i < samplesIn(t+440*ms); i++ {
			if d.heard[i] > 0.5 {
				first = 1000 * float64(i-samplesIn(t)) / Rate
				break
			}
		}
		late = append(late, first)
	}
	return d, due, late
}

// Whenever the program is held up, and for however long, a count that had not been
// mixed yet is heard on its second or not at all.
func TestNoCountIsLateAfterTheDeviceRanDry(t *testing.T) {
	for _, lasts := range []time.Duration{30 * ms, 60 * ms, 120 * ms, 190 * ms, 400 * ms} {
		for at := 2000 * ms; at < 2600*ms; at += 29 * ms {
			d, due, late := stalled(at, lasts)
			for i, l := range late {
				what := fmt.Sprintf("held up for %v at %v, the count of %v", lasts, at, due[i])
				// Device and queue hold up to 100 ms, and of each a third may be free.
				played, mixed := due[i] < at+30*ms, due[i] < at+100*ms
				passed := due[i] < at+lasts+60*ms
				switch {
				case (played || !passed) && (math.IsNaN(l) || math.Abs(l) > 1):
					t.Errorf("%s is heard %.1f ms late, want on time", what, l)
				case !mixed && math.Abs(l) > 20:
					t.Errorf("%s is heard %.1f ms late, want at most 20 or not at all", what, l)
				}
			}
			if most := samplesIn(lasts - 50*ms + 17*ms + ms); d.dry > samplesIn(50*ms)+max(0, most) {
				t.Errorf("held up for %v it was dry for %d samples", lasts, d.dry)
			}
		}
	}
}

// A count that waited in the queue when the device ran dry begins late, and says no
// more than was in the queue.
func TestCountThatWasInTheQueueIsCut(t *testing.T) {
	d, due, late := stalled(2510*ms-90*ms-70*ms, 200*ms)
	i := 3
	if due[i] != 2510*ms || late[i] < 100 {
		t.Fatalf("the count of %v comes %.0f ms late; the test is to hold up one that is in the queue", due[i], late[i])
	}
	said := 0
	for _, v := range d.heard[samplesIn(due[i]):samplesIn(due[i]+590*ms)] {
		if v != 0 {
			said++
		}
	}
	if said > samplesIn(108*ms) {
		t.Errorf("%d ms of it are heard, want no more than device, queue and a fade hold", said*1000/Rate)
	}
}

// A device that holds twice as much as was thought is merely late when it did not
// ask for as long as that lasts, and everything stays where it was.
func TestDeviceThatHoldsMoreIsOnlyLate(t *testing.T) {
	var c sampleClock
	c.reset(0, 50*ms)
	start := time.Now()
	prompt := func() time.Duration { return 0 }
	pullPattern(&c, start, 0, 10*time.Second, 0, 0, prompt)
	pullPattern(&c, start, 10*time.Second, 10*time.Second+20*ms, 0, 0, func() time.Duration { return 80 * ms })
	pullPattern(&c, start, 10*time.Second+100*ms, 11*time.Second, 0, 0, prompt)
	if off := c.heard(11 * Rate).Sub(start.Add(11 * time.Second)).Abs(); off > ms || c.moves != 0 {
		t.Errorf("positions are %v off, and it is said to have run dry %d times", off, c.moves)
	}
}
