package main

import (
	"fmt"
	"io"
	"runtime"
	"time"

	"kickover/assets/voice"
	"kickover/audio"
	"kickover/audio/speech"
)

// wear is what hours of use did to a mixer.
type wear struct {
	spent  time.Duration // by the machine
	beats  int           // that were said
	worst  time.Duration // how far one was off its time
	growth int64         // of the heap, in bytes, after the first four minutes
	made   uint64        // allocations since then
}

func soak(out io.Writer, hours float64) error {
	w, err := use(hours)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%.1f simulated hours in %.0f s: %d beats, the worst %v off its time; heap %+d kB; %d allocations after the first four minutes\n",
		hours, w.spent.Seconds(), w.beats, w.worst, w.growth/1024, w.made)
	return nil
}

// use runs hours of a class through the mixer, as fast as it goes: a start every
// two minutes, with its lines and tones and the engine.
func use(hours float64) (wear, error) {
	library, err := speech.Open(voice.Files, "", "")
	if err != nil {
		return wear{}, err
	}
	for _, l := range spokenStart {
		library.Clip(l.text)
	}
	const warm = 4 * time.Minute
	c := &classUse{m: audio.NewMixer(library, 0), start: time.Now(), block: make([][2]float64, audio.Rate/200)}
	c.m.Pull(c.start, nil)
	begun := time.Now()
	c.until(warm)
	before := memory()
	c.until(time.Duration(hours * float64(time.Hour)))
	c.wear.spent = time.Since(begun)
	after := memory()
	c.wear.growth, c.wear.made = int64(after.HeapAlloc)-int64(before.HeapAlloc), after.Mallocs-before.Mallocs
	return c.wear, nil
}

func memory() (m runtime.MemStats) {
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m
}

// classUse is a mixer in a class, at a moment.
type classUse struct {
	m     *audio.Mixer
	start time.Time
	at    time.Duration // since start
	block [][2]float64
	act   act
	wear  wear
}

const everyStart = 2 * time.Minute

func (c *classUse) until(end time.Duration) {
	for ; c.at < end; c.at += 5 * time.Millisecond {
		now := c.start.Add(c.at)
		if c.at%everyStart == 0 {
			c.act = act{}
			for _, l := range spokenStart {
				c.m.Say(audio.Line{Text: l.text, Priority: l.priority, Beat: now.Add(time.Duration(l.at * float64(time.Second)))})
			}
			c.m.Tone(audio.ToneCaution)
		}
		if c.act.at < actEnd {
			c.m.SetEngine(c.act.step(1.0/200, 24))
		} else {
			c.m.SetEngine(audio.EngineState{})
		}
		c.m.Pull(now, c.block)
		c.take()
	}
}

// take notes how far off its time each line was said.
func (c *classUse) take() {
	for {
		select {
		case said := <-c.m.Captions():
			offset := said.Beat.Sub(c.start) % everyStart
			for _, l := range spokenStart {
				if d := (offset - time.Duration(l.at*float64(time.Second))).Abs(); l.text == said.Text && !said.Cut && d < time.Second {
					c.wear.worst, c.wear.beats = max(c.wear.worst, d), c.wear.beats+1
				}
			}
		default:
			return
		}
	}
}
