package main

import (
	"math"
	"slices"
	"testing"
	"time"

	"kickover/assets/voice"
	"kickover/audio"
	"kickover/audio/speech"
)

// A recording in which each count is played at a known time, as the player plays
// it, says that it is heard there. What is left is the method's own error.
func TestCountsAreHeardWhereTheyArePlayed(t *testing.T) {
	for _, name := range []string{"slt", "rms"} {
		entries, err := shippedEntries(name)
		if err != nil {
			t.Fatal(err)
		}
		library, err := speech.Open(voice.Files, name, "")
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if !slices.Contains(counts, e.Text) {
				continue
			}
			clip, _ := library.Clip(e.Text)
			for _, first := range []int{audio.Rate, audio.Rate + 1, audio.Rate + 2} {
				rec := &recording{samples: make([]float64, 3*audio.Rate), began: time.Now()}
				rec.arrived = []arrival{{len(rec.samples), 3 * time.Second}}
				for i, v := range clip.PCM {
					rec.samples[first+i] = float64(v) / 32768
				}
				beat := rec.at(first).Add(clip.Centre)
				heard, err := heardCentre(rec, e, beat)
				if err != nil {
					t.Fatal(err)
				}
				if off := milliseconds(heard.Sub(beat)); math.Abs(off) > 1 {
					t.Errorf("%s, %s: heard %+.1f ms off", name, e.Text, off)
				}
			}
		}
	}
}
