package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"kickover/audio"
	"kickover/audio/speech"
)

// farOff is by how many milliseconds a count must be off to be told by itself.
const farOff = 20

var counts = strings.Fields("one two three four five six seven eight nine ten")

// centres plays n counts in each voice, or in one, each on its beat, and measures
// where in the recording they are heard, by the same method that the clips'
// centres were found with.
func centres(out io.Writer, on *server, n int, only string, busy bool) error {
	if busy {
		defer load()()
	}
	for _, name := range []string{"slt", "rms"} {
		if only != "" && only != name {
			continue
		}
		if err := centresOf(out, on, name, n/len(counts)); err != nil {
			return err
		}
	}
	return nil
}

// beat is a count that was asked for.
type beat struct {
	entry speech.Entry
	at    time.Time
}

func centresOf(out io.Writer, on *server, name string, rounds int) error {
	entries, err := shippedEntries(name)
	if err != nil {
		return err
	}
	entries = slices.DeleteFunc(entries, func(e speech.Entry) bool { return !slices.Contains(counts, e.Text) })
	s, err := open(audio.Options{Voice: name}, on)
	if err != nil {
		return err
	}
	s.hush()
	beats := s.count(entries, rounds)
	s.close()

	var off []float64
	byWord := map[string][]float64{}
	for _, b := range beats {
		heard, err := heardCentre(s.rec, b.entry, b.at)
		if err != nil {
			fmt.Fprintf(out, "  %v\n", err)
			continue
		}
		late := milliseconds(heard.Sub(b.at))
		if math.Abs(late) > farOff {
			fmt.Fprintf(out, "  %q at %.3f s is heard %+.1f ms off\n", b.entry.Text, b.at.Sub(s.rec.began).Seconds(), late)
		}
		off, byWord[b.entry.Text] = append(off, late), append(byWord[b.entry.Text], late)
	}
	usual := spreadOf(off).P50
	fmt.Fprintf(out, "%s, counts: perceptual centre against its second, ms: %v; against the clock, p50 %.1f\n",
		name, spreadOf(deviations(off)), usual)
	for _, word := range counts {
		w := spreadOf(byWord[word])
		fmt.Fprintf(out, "  %s: median %+.1f, from %+.1f to %+.1f at the 1st and 99th percentile\n", word, w.P50-usual, w.P01-usual, w.P99-usual)
	}
	fmt.Fprintf(out, "  the device ran dry %d times\n", len(s.dried))
	for _, t := range s.dried {
		fmt.Fprintf(out, "  noticed at %.3f s\n", t.Sub(s.rec.began).Seconds())
		s.witness.tellNear(out, t)
	}
	s.witness.tellWorst(out)
	return nil
}

// count has each count said in turn, as close together as they are not cut.
func (s *session) count(entries []speech.Entry, rounds int) []beat {
	const between = 40 * time.Millisecond
	var beats []beat
	begins := time.Now().Add(time.Second)
	for range rounds {
		for _, e := range entries {
			at := begins.Add(time.Duration(e.Centre * float64(time.Millisecond)))
			beats = append(beats, beat{e, at})
			time.Sleep(time.Until(at.Add(-400 * time.Millisecond)))
			s.player.Say(audio.Line{Text: e.Text, Beat: at, Priority: audio.Count})
			begins = begins.Add(time.Duration(e.Length*float64(time.Millisecond)) + between)
		}
	}
	time.Sleep(time.Until(begins))
	return beats
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
