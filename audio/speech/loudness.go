package speech

import "math"

// Silence is the loudness given to a clip in which nothing can be heard.
const Silence = -120.0

// MaxMomentary is the greatest momentary loudness of a mono signal in LUFS, as
// ITU-R BS.1770-4 defines loudness and EBU Tech 3341 the 400 ms window. The
// signal is taken to be followed by silence, since most clips are shorter than
// the window, and to be played by one loudspeaker.
func MaxMomentary(x []float64, rate int) float64 {
	return maxWindowLoudness(x, rate, rate*4/10)
}

func maxWindowLoudness(x []float64, rate, window int) float64 {
	y := kWeight(x, float64(rate))
	sum := make([]float64, len(y)+1)
	for i, v := range y {
		sum[i+1] = sum[i] + v*v
	}
	best, hop := 0.0, max(1, rate/100)
	for end := min(hop, len(y)); ; end = min(end+hop, len(y)) {
		energy := sum[end] - sum[max(0, end-window)]
		best = max(best, energy/float64(window))
		if end == len(y) {
			break
		}
	}
	if best < 1e-12 {
		return Silence
	}
	return -0.691 + 10*math.Log10(best)
}

// kWeight applies the two filters of BS.1770, whose published coefficients
// hold at 48 kHz only, from the analogue prototypes behind them (as B. De Man,
// "Evaluation of implementations of the EBU R128 loudness measurement", 2018,
// gives them).
func kWeight(x []float64, rate float64) []float64 {
	const (
		shelfHz, shelfDB, shelfQ = 1681.974450955533, 3.999843853973347, 0.7071752369554196
		passHz, passQ            = 38.13547087602444, 0.5003270373238773
	)
	k := math.Tan(math.Pi * shelfHz / rate)
	vh := math.Pow(10, shelfDB/20)
	vb := math.Pow(vh, 0.4996667741545416)
	a0 := 1 + k/shelfQ + k*k
	shelf := biquad{
		b0: (vh + vb*k/shelfQ + k*k) / a0, b1: 2 * (k*k - vh) / a0, b2: (vh - vb*k/shelfQ + k*k) / a0,
		a1: 2 * (k*k - 1) / a0, a2: (1 - k/shelfQ + k*k) / a0,
	}
	k = math.Tan(math.Pi * passHz / rate)
	a0 = 1 + k/passQ + k*k
	pass := biquad{b0: 1, b1: -2, b2: 1, a1: 2 * (k*k - 1) / a0, a2: (1 - k/passQ + k*k) / a0}
	return pass.run(shelf.run(x))
}

// TruePeak is the greatest level between the samples in dBTP, found by
// oversampling twelve times (BS.1770-4 annex 2 asks for 192 kHz).
func TruePeak(x []float64) float64 {
	peak := 0.0
	for _, v := range oversample(x, 12) {
		peak = max(peak, math.Abs(v))
	}
	if peak < 1e-6 {
		return Silence
	}
	return 20 * math.Log10(peak)
}

// oversample multiplies the sample rate by a whole number with a windowed sinc
// of 24 input samples; the result starts where x starts.
func oversample(x []float64, factor int) []float64 {
	const half = 12
	taps := make([][2 * half]float64, factor)
	for p := range taps {
		sum := 0.0
		for k := range taps[p] {
			d := float64(k-half+1) - float64(p)/float64(factor)
			taps[p][k] = sinc(d) * hann(d/half)
			sum += taps[p][k]
		}
		for k := range taps[p] {
			taps[p][k] /= sum
		}
	}
	// Silence around x spares the inner loop asking where x ends.
	padded := make([]float64, len(x)+2*half)
	copy(padded[half:], x)
	y := make([]float64, len(x)*factor)
	for i := range x {
		near := (*[2 * half]float64)(padded[i+1:])
		for p := range taps {
			sum := 0.0
			for k, t := range &taps[p] {
				sum += t * near[k]
			}
			y[i*factor+p] = sum
		}
	}
	return y
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// hann is the window at x of its half-width, one in the middle, none outside.
func hann(x float64) float64 {
	if x <= -1 || x >= 1 {
		return 0
	}
	return 0.5 + 0.5*math.Cos(math.Pi*x)
}
