package main

import (
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"time"

	"kickover/audio"
	"kickover/audio/speech"
)

// apart is how far the beats lie apart: no count is longer.
const apart = 700 * time.Millisecond

var counts = strings.Fields("one two three four five six seven eight nine ten")

// centres plays n counts, half of them in each voice, each on its beat, and
// measures where in the recording they are heard, by the same method that the
// clips' centres were found with.
func centres(out io.Writer, n int, busy bool) error {
	if busy {
		defer burn(runtime.NumCPU())()
	}
	for _, name := range []string{"slt", "rms"} {
		if err := centresOf(out, name, n/20); err != nil {
			return err
		}
	}
	return nil
}

func centresOf(out io.Writer, name string, rounds int) error {
	entries, err := shippedEntries(name)
	if err != nil {
		return err
	}
	entries = slices.DeleteFunc(entries, func(e speech.Entry) bool { return !slices.Contains(counts, e.Text) })
	s, err := open(audio.Options{Voice: name})
	if err != nil {
		return err
	}
	s.hush()
	type beat struct {
		entry speech.Entry
		at    time.Time
	}
	var beats []beat
	next := time.Now().Add(time.Second)
	for range rounds {
		for _, e := range entries {
			beats = append(beats, beat{e, next})
			time.Sleep(time.Until(next.Add(-500 * time.Millisecond)))
			s.player.Say(audio.Line{Text: e.Text, Beat: next, Priority: audio.Count})
			next = next.Add(apart)
		}
	}
	time.Sleep(time.Until(next))
	dry := s.player.Status().Dry
	s.close()

	var off []float64
	var words []string
	for _, b := range beats {
		heard, err := heardCentre(s.rec, b.entry, b.at)
		if err != nil {
			fmt.Fprintf(out, "  %v\n", err)
			continue
		}
		off, words = append(off, milliseconds(heard.Sub(b.at))), append(words, b.entry.Text)
	}
	usual := spreadOf(off).P50
	for i, word := range words {
		if d := off[i] - usual; d < -10 || d > 10 {
			fmt.Fprintf(out, "  %s: %+.1f ms\n", word, d)
		}
	}
	fmt.Fprintf(out, "%s, counts: perceptual centre against its second, ms: %v; against the clock, p50 %.1f; device ran dry %d times\n",
		name, spreadOf(deviations(off)), spreadOf(off).P50, dry)
	return nil
}

// heardCentre finds a count near its beat in the recording. The shelf is taken
// off again, since the method was made for natural speech.
func heardCentre(rec *recording, e speech.Entry, at time.Time) (time.Time, error) {
	const margin = 50 * time.Millisecond
	length := time.Duration(e.Length * float64(time.Millisecond))
	centre := time.Duration(e.Centre * float64(time.Millisecond))
	first := rec.sampleAt(at.Add(-centre - margin))
	last := rec.sampleAt(at.Add(-centre + length + margin))
	if first < 0 || last <= first || last > len(rec.samples) {
		return time.Time{}, fmt.Errorf("the recording does not hold %q at its time", e.Text)
	}
	x := narrow(rec.samples[first:last])
	// Within the clip's own bounds, as its centre was found.
	found, ok := speech.CentreOfClip(x, margin, margin+length)
	if !ok {
		return time.Time{}, fmt.Errorf("%q is not heard at its time", e.Text)
	}
	if e.Pinned {
		own, err := clipSamples(e)
		if err != nil {
			return time.Time{}, err
		}
		there, _ := speech.CentreOfClip(own, 0, 0)
		found += centre - there
	}
	return rec.at(first).Add(found), nil
}

// sampleAt is the sample that was played at t.
func (r *recording) sampleAt(t time.Time) int {
	i := int(t.Sub(r.began).Seconds() * audio.Rate)
	for range 3 {
		i += int(t.Sub(r.at(i)).Seconds() * audio.Rate)
	}
	return i
}
