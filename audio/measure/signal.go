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

// The pump's hum while this is measured: without a break, and a whole number of
// its periods long is the window in which its phase is found.
const (
	humHz     = 118
	humWindow = audio.Rate * 6 / humHz
	humHop    = audio.Rate / 100
)

// silence is a place where there was nothing in the hum.
type silence struct{ at, length int }

// dryRuns finds the places where silence was put into the hum: the stream had
// nothing to give.
func dryRuns(x []float64) []silence {
	const least = audio.Rate / 1000
	var found []silence
	run := 0
	for i, v := range x {
		if v != 0 {
			run = 0
			continue
		}
		if run++; run == least {
			found = append(found, silence{at: i + 1 - least})
		}
		if run >= least {
			found[len(found)-1].length = run
		}
	}
	return found
}

// jumps finds where the hum jumps in phase: samples went missing, or silence was
// put in.
func jumps(x []float64) []int {
	var found []int
	var last float64
	since := audio.Rate
	for at := 0; at+humWindow < len(x); at += humHop {
		phase := humPhase(x[at:at+humWindow], at)
		turn := phase - last
		turn -= 2 * math.Pi * math.Round(turn/(2*math.Pi))
		if since += humHop; at > 0 && math.Abs(turn) > 0.25 && since > 8*humHop {
			found, since = append(found, at+humWindow/2), 0
		}
		last = phase
	}
	return found
}

func humPhase(x []float64, at int) float64 {
	var re, im float64
	for i, v := range x {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/humWindow)
		angle := 2 * math.Pi * humHz * float64(at+i) / audio.Rate
		re += v * w * math.Cos(angle)
		im += v * w * math.Sin(angle)
	}
	return math.Atan2(im, re)
}

// far are those of places that lie far from every silence, more than reach samples.
func far(places []int, silences []silence, reach int) (alone []int) {
	for _, p := range places {
		if !slices.ContainsFunc(silences, func(s silence) bool { return p-s.at-s.length < reach && s.at-p < reach }) {
			alone = append(alone, p)
		}
	}
	return alone
}

// narrow brings what was recorded to the rate of clips, by a windowed sinc that
// takes off what lies above half of it.
func narrow(x []float64) []float64 {
	const by, half = audio.Rate / speech.ClipRate, 24 * audio.Rate / speech.ClipRate
	var taps [2*half + 1]float64
	sum := 0.0
	for k := range taps {
		d := float64(k - half)
		taps[k] = math.Cos(math.Pi*d/(2*(half+1))) * math.Cos(math.Pi*d/(2*(half+1)))
		if d != 0 {
			taps[k] *= math.Sin(math.Pi*d/by) / (math.Pi * d / by)
		}
		sum += taps[k]
	}
	y := make([]float64, (len(x)+by-1)/by)
	for i := range y {
		for k, t := range taps {
			if at := i*by + k - half; at >= 0 && at < len(x) {
				y[i] += t / sum * x[at]
			}
		}
	}
	return y
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
