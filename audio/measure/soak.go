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
	m := audio.NewMixer(library, 0)
	start := time.Now()
	now := start
	m.Pull(now, nil)
	block := make([][2]float64, audio.Rate/200)
	var before, after runtime.MemStats
	var a act
	var worst time.Duration
	beats := 0
	begun := time.Now()
	for n := 0; now.Sub(start).Hours() < hours; n++ {
		within := n % (200 * 120)
		if within == 0 {
			a = act{}
			for _, l := range spokenStart {
				m.Say(audio.Line{Text: l.text, Priority: l.priority, Beat: now.Add(time.Duration(l.at * float64(time.Second)))})
			}
			m.Tone(audio.ToneCaution)
		}
		if a.at < actEnd {
			m.SetEngine(a.step(1.0/200, 24))
		} else {
			m.SetEngine(audio.EngineState{})
		}
		m.Pull(now, block)
		now = now.Add(5 * time.Millisecond)
		for drained := false; !drained; {
			select {
			case c := <-m.Captions():
				offset := c.Beat.Sub(start) % (2 * time.Minute)
				for _, l := range spokenStart {
					if l.text == c.Text && !c.Cut {
						if d := (offset - time.Duration(l.at*float64(time.Second))).Abs(); d < time.Second {
							worst, beats = max(worst, d), beats+1
						}
					}
				}
			default:
				drained = true
			}
		}
		if n == 200*240 {
			runtime.GC()
			runtime.ReadMemStats(&before)
		}
	}
	w := wear{spent: time.Since(begun), beats: beats, worst: worst}
	runtime.GC()
	runtime.ReadMemStats(&after)
	w.growth, w.made = int64(after.HeapAlloc)-int64(before.HeapAlloc), after.Mallocs-before.Mallocs
	return w, nil
}
