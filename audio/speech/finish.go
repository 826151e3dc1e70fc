package speech

import (
	"errors"
	"math"
	"time"
)

// How every clip is finished. The shelf lifts what engine noise covers: with it
// a recogniser understood 29 of 30 call-outs 10 dB above the noise, without it
// 20.
const (
	ClipRate       = 16000 // samples a second in a stored clip
	TargetLUFS     = -18.0 // greatest momentary loudness
	CeilingDBTP    = -1.0
	shelfCornerHz  = 2000
	shelfGainDB    = 12
	silenceDB      = -46.0 // against the clip's own peak: room below it is trimmed
	leadIn         = 8 * time.Millisecond
	leadOut        = 40 * time.Millisecond
	ceilingTryouts = 40
)

// ErrSilent is a rendering in which nothing can be heard.
var ErrSilent = errors.New("speech: the rendering is silent")

// Finished is speech ready to be stored: trimmed, equalised, equally loud.
type Finished struct {
	PCM      []int16 // mono, ClipRate
	Trimmed  time.Duration
	Centre   time.Duration // from the start of PCM
	Loudness float64       // greatest momentary, LUFS
	Peak     float64       // dBTP
}

// Aim is how loud a clip is to be.
type Aim struct {
	LUFS float64 // greatest momentary loudness
	DBTP float64 // true peak that is not passed
}

// Standard is the aim of every clip.
var Standard = Aim{TargetLUFS, CeilingDBTP}

// Finish makes a clip of raw speech at ClipRate. from and to, in the raw
// speech's time, bound the word whose beat is wanted; zero is the whole line.
func Finish(raw []float64, from, to time.Duration, aim Aim) (Finished, error) {
	lo, hi := soundingPart(raw)
	if hi <= lo {
		return Finished{}, ErrSilent
	}
	x := trebleShelf(ClipRate, shelfCornerHz, shelfGainDB).run(raw[lo:hi])
	fade(x)
	x = normalise(x, aim)
	pcm := quantise(x)
	x = widen(pcm)
	trimmed := time.Duration(lo) * time.Second / ClipRate
	from, to = max(0, from-trimmed), max(0, to-trimmed)
	// The beat is sought in the speech as it was spoken: the method was made for
	// natural speech, and the shelf lifts a consonant's hiss into the band.
	centre, ok := Centre(raw[lo:hi], ClipRate, from, to)
	if !ok {
		return Finished{}, ErrSilent
	}
	return Finished{pcm, trimmed, centre, MaxMomentary(x, ClipRate), TruePeak(x)}, nil
}

func soundingPart(x []float64) (lo, hi int) {
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	if peak < 1e-4 {
		return 0, 0
	}
	level := peak * math.Pow(10, silenceDB/20)
	for lo = 0; math.Abs(x[lo]) < level; lo++ {
	}
	for hi = len(x); math.Abs(x[hi-1]) < level; hi-- {
	}
	return max(0, lo-samples(leadIn, ClipRate)), min(len(x), hi+samples(leadOut, ClipRate))
}

func fade(x []float64) {
	in, out := min(samples(leadIn, ClipRate), len(x)), min(samples(leadOut, ClipRate), len(x))
	for i := range in {
		x[i] *= float64(i) / float64(in)
	}
	for i := range out {
		x[len(x)-1-i] *= float64(i) / float64(out)
	}
}

// normalise brings x to the target, holding peaks under the ceiling; since a
// held peak is a little quieter, it is done again until both are met.
func normalise(x []float64, aim Aim) []float64 {
	const margin = 0.05 // dB, for rounding to 16 bits
	gain := aim.LUFS - MaxMomentary(x, ClipRate)
	var y []float64
	for range ceilingTryouts {
		y = limit(scale(x, gain), math.Pow(10, (aim.DBTP-margin)/20))
		short := aim.LUFS - MaxMomentary(y, ClipRate)
		if math.Abs(short) < 0.02 {
			break
		}
		gain += short
	}
	if over := TruePeak(y) - (aim.DBTP - margin/2); over > 0 {
		y = scale(y, -over)
	}
	return y
}

func scale(x []float64, decibels float64) []float64 {
	g := math.Pow(10, decibels/20)
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = v * g
	}
	return y
}

// limit holds the true peaks of x under a ceiling by turning it down around
// them, smoothly over 3 ms to either side.
func limit(x []float64, ceiling float64) []float64 {
	const factor, reach = 4, 3 * ClipRate / 1000
	over := oversample(x, factor)
	need := make([]float64, len(x))
	for i := range need {
		peak := 0.0
		for _, v := range over[i*factor : (i+1)*factor] {
			peak = max(peak, math.Abs(v))
		}
		need[i] = min(1, ceiling/max(peak, 1e-9))
	}
	// A raised cosine over as far as the minimum was held averages gains that are
	// all small enough at the peak itself.
	var window [2*reach + 1]float64
	total := 0.0
	for k := range window {
		window[k] = hann(float64(k-reach) / (reach + 1))
		total += window[k]
	}
	low := make([]float64, len(x)+2*reach)
	for i := range low {
		low[i] = 1
		for j := max(0, i-2*reach); j <= min(len(x)-1, i); j++ {
			low[i] = min(low[i], need[j])
		}
	}
	y := make([]float64, len(x))
	for i := range y {
		sum := 0.0
		for k, w := range window {
			sum += w * low[i+k]
		}
		y[i] = x[i] * sum / total
	}
	return y
}

func quantise(x []float64) []int16 {
	pcm := make([]int16, len(x))
	for i, v := range x {
		pcm[i] = int16(math.Round(min(max(v, -1), 1) * 32767))
	}
	return pcm
}

func widen(pcm []int16) []float64 {
	x := make([]float64, len(pcm))
	for i, v := range pcm {
		x[i] = float64(v) / 32767
	}
	return x
}

// Unshelve takes the shelf off again, for methods made for natural speech.
func Unshelve(x []float64) []float64 {
	return trebleShelf(ClipRate, shelfCornerHz, -shelfGainDB).run(x)
}
