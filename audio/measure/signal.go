package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing/fstest"

	"kickover/audio"
	"kickover/audio/speech"
)

// blips is a voice of one short sound, which a program can find to the sample:
// a burst of 3 kHz that begins at once.
func blips() (fstest.MapFS, error) {
	pcm := make([]int16, speech.ClipRate*30/1000)
	for i := range pcm {
		pcm[i] = int16(16000 * math.Cos(2*math.Pi*3000*float64(i)/speech.ClipRate) * (1 - float64(i)/float64(len(pcm))))
	}
	dir, err := os.MkdirTemp("", "kickover-measure-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "blip.wav")
	if err := speech.WriteWAV(file, pcm); err != nil {
		return nil, err
	}
	encoded, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	index, err := json.Marshal(speech.Index{Version: 1, Voices: []speech.Voice{{ID: "blip"}}, Clips: []speech.Entry{{Text: "blip", Voice: "blip", File: "blip.wav"}}})
	if err != nil {
		return nil, err
	}
	return fstest.MapFS{"index.json": {Data: index}, "blip.wav": {Data: encoded}}, nil
}

// onsets finds where each blip begins: the first sample above the level after
// quiet. The engine's hum lies far below.
func onsets(x []float64) []int {
	const level, quiet = 0.12, audio.Rate * 25 / 1000
	var found []int
	last := -quiet
	for i, v := range x {
		if math.Abs(v) > level {
			if i-last >= quiet {
				found = append(found, i)
			}
			last = i
		}
	}
	return found
}

// gaps counts the places where samples went missing or silence was put in: the
// boost pump's hum, which never stops while this is measured, jumps in phase.
func gaps(x []float64) int {
	const hz, window, hop = 118, audio.Rate * 6 / 118, audio.Rate / 100
	count, since := 0, 100
	var last float64
	for at := 0; at+window < len(x); at += hop {
		var re, im float64
		for i := range window {
			w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/window)
			angle := 2 * math.Pi * hz * float64(at+i) / audio.Rate
			re += x[at+i] * w * math.Cos(angle)
			im += x[at+i] * w * math.Sin(angle)
		}
		phase := math.Atan2(im, re)
		turn := phase - last
		turn -= 2 * math.Pi * math.Round(turn/(2*math.Pi))
		if since++; at > 0 && math.Abs(turn) > 0.25 && since > 8 {
			count, since = count+1, 0
		}
		last = phase
	}
	return count
}

// spread says how values are distributed.
type spread struct {
	N                       int
	P01, P50, P95, P99, Max float64
	Mean                    float64
}

func spreadOf(values []float64) spread {
	if len(values) == 0 {
		return spread{}
	}
	sorted := slices.Sorted(slices.Values(values))
	s := spread{N: len(sorted), P01: quantile(sorted, 0.01), P50: quantile(sorted, 0.5), P95: quantile(sorted, 0.95),
		P99: quantile(sorted, 0.99), Max: sorted[len(sorted)-1]}
	for _, v := range sorted {
		s.Mean += v / float64(len(sorted))
	}
	return s
}

// quantile takes the nearest rank.
func quantile(sorted []float64, q float64) float64 {
	return sorted[min(len(sorted)-1, max(0, int(math.Ceil(q*float64(len(sorted))))-1))]
}

func (s spread) String() string {
	return fmt.Sprintf("p50 %.2f, p95 %.2f, p99 %.2f, most %.2f (n=%d)", s.P50, s.P95, s.P99, s.Max, s.N)
}

// deviations are how far values lie from their median, without sign.
func deviations(values []float64) []float64 {
	middle := spreadOf(values).P50
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = math.Abs(v - middle)
	}
	return out
}
