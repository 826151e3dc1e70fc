package speech

import (
	"math"
	"testing"
	"time"
)

func sine(rate int, hz, amplitude, phase, seconds float64) []float64 {
	x := make([]float64, int(seconds*float64(rate)))
	for i := range x {
		x[i] = amplitude * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)+phase)
	}
	return x
}

// ITU-R BS.1770-4, annex 1: a 997 Hz sine at full scale in one channel reads
// -3.01 LKFS. It must do so at any sample rate.
func TestLoudnessOfTheReferenceSine(t *testing.T) {
	for _, rate := range []int{16000, 48000} {
		if got := MaxMomentary(sine(rate, 997, 1, 0, 1), rate); math.Abs(got+3.01) > 0.05 {
			t.Errorf("at %d Hz: %.2f LUFS, want -3.01", rate, got)
		}
	}
}

// EBU Tech 3341 (2016), minimum requirements: the momentary meter takes 400 ms;
// the loudest window of a tone shorter than that holds the tone and silence.
func TestLoudnessOfAShortSound(t *testing.T) {
	long := MaxMomentary(sine(48000, 997, 0.5, 0, 1), 48000)
	short := MaxMomentary(sine(48000, 997, 0.5, 0, 0.1), 48000)
	if got, want := short-long, 10*math.Log10(0.1/0.4); math.Abs(got-want) > 0.1 {
		t.Errorf("a tone of 100 ms reads %.2f LU from one of a second, want %.2f", got, want)
	}
	if got := MaxMomentary(make([]float64, 1000), 16000); got != Silence {
		t.Errorf("silence reads %.1f", got)
	}
}

// EBU Tech 3341 (2016), table of true-peak signals, 15 to 18: a sine of half the
// full scale, -6.0 dBTP, at a quarter, sixth and eighth of the sample rate, where
// the samples miss the peak by up to 3 dB; tolerance +0.2, -0.4 dB. The signals
// are faded here as the specification's files are.
func TestTruePeakBetweenSamples(t *testing.T) {
	for _, c := range []struct{ part, degrees float64 }{{4, 0}, {4, 45}, {6, 60}, {8, 67.5}} {
		x := sine(48000, 48000/c.part, 0.5, c.degrees*math.Pi/180, 0.2)
		for i := range 480 {
			x[i] *= float64(i) / 480
			x[len(x)-1-i] *= float64(i) / 480
		}
		if got := TruePeak(x); got > -6.02+0.2 || got < -6.02-0.4 {
			t.Errorf("1/%g of the rate at %g degrees: %.2f dBTP, want -6.0", c.part, c.degrees, got)
		}
	}
}

// A vowel that swells evenly for 100 ms is heard at the middle of its swelling,
// by the definition of Cummins and Port; the smoothing is even to both sides.
func TestCentreOfASwellingVowel(t *testing.T) {
	x := make([]float64, ClipRate)
	for i := range x {
		at := float64(i) / ClipRate
		x[i] = min(1, max(0, (at-0.3)/0.1)) * math.Sin(2*math.Pi*1000*at)
		if at > 0.7 {
			x[i] *= max(0, 1-(at-0.7)/0.1)
		}
	}
	got, ok := Centre(x, ClipRate, 0, 0)
	if off := (got - 350*time.Millisecond).Abs(); !ok || off > 5*time.Millisecond {
		t.Errorf("the centre is at %v, want 350 ms within 5", got)
	}
	if _, ok := Centre(make([]float64, 1000), ClipRate, 0, 0); ok {
		t.Error("silence has a centre")
	}
}

// Hiss is not a vowel: a word that begins with s is heard at what follows it.
func TestCentrePassesOverAConsonant(t *testing.T) {
	x := make([]float64, ClipRate)
	n := uint64(1)
	var before float64
	for i := range x {
		at := float64(i) / ClipRate
		switch {
		case at > 0.1 && at < 0.25:
			n ^= n << 13
			n ^= n >> 7
			n ^= n << 17
			white := float64(int64(n)) / (1 << 63)
			x[i] = 0.3 * (white - before) // differences: bright, as an s is
			before = white
		case at > 0.28 && at < 0.6:
			x[i] = 0.6 * min(1, (at-0.28)/0.03) * (math.Sin(2*math.Pi*500*at) + math.Sin(2*math.Pi*1100*at))
		}
	}
	got, _ := Centre(x, ClipRate, 0, 0)
	if got < 260*time.Millisecond || got > 340*time.Millisecond {
		t.Errorf("the centre is at %v, want near the vowel's onset at 280 ms", got)
	}
}

func TestCentreWithinAWord(t *testing.T) {
	x := append(sine(ClipRate, 1000, 0.5, 0, 0.3), make([]float64, ClipRate*2/10)...)
	x = append(x, sine(ClipRate, 1000, 0.5, 0, 0.3)...)
	got, _ := Centre(x, ClipRate, 400*time.Millisecond, 0)
	if off := (got - 500*time.Millisecond).Abs(); off > 15*time.Millisecond {
		t.Errorf("the second word's centre is at %v, want 500 ms", got)
	}
}

// What flite 2.2 prints for "mixture back" with -psdur.
const printedPhones = "pau:0.224 m:0.252 ih:0.330 k:0.417 s:0.483 ch:0.581 er:0.690 b:0.780 ae:0.894 k:1.024 pau:1.161"

func TestPhones(t *testing.T) {
	phones := ParsePhones(printedPhones + "\nnot a phone x:y\n")
	if len(phones) != 11 {
		t.Fatalf("%d phones, want 11", len(phones))
	}
	back := LastRun(phones, ParsePhones("pau:0.2 b:0.257 ae:0.372 k:0.502 pau:0.639"))
	if len(back) != 3 || back[0].Start != 690*time.Millisecond || back[2].End != 1024*time.Millisecond {
		t.Errorf("back is at %+v, want 690 to 1024 ms", back)
	}
	if vowel, ok := FirstVowel(back); !ok || vowel.Name != "ae" {
		t.Errorf("its vowel is %+v", vowel)
	}
	if LastRun(phones, ParsePhones("z:0.1 z:0.2")) != nil {
		t.Error("a word was found that was not said")
	}
}

func TestFinish(t *testing.T) {
	raw := make([]float64, ClipRate)
	copy(raw[ClipRate/4:], sine(ClipRate, 300, 0.1, 0, 0.4))
	done, err := Finish(raw, 0, 0, Standard)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(done.Loudness-TargetLUFS) > 0.1 || done.Peak > CeilingDBTP {
		t.Errorf("%.2f LUFS and %.2f dBTP, want %g under %g", done.Loudness, done.Peak, TargetLUFS, Standard)
	}
	if off := done.Trimmed - 242*time.Millisecond; off.Abs() > 3*time.Millisecond {
		t.Errorf("%v trimmed, want the 250 ms of silence less 8", done.Trimmed)
	}
	if _, err := Finish(make([]float64, ClipRate), 0, 0, Standard); err == nil {
		t.Error("silence was finished")
	}
}

// A click is loud for an instant and quiet by the meter: the ceiling decides.
func TestFinishHoldsTheCeiling(t *testing.T) {
	raw := sine(ClipRate, 700, 0.02, 0, 0.5)
	for i := 0; i < len(raw); i += 1600 {
		raw[i] += 0.9
	}
	done, err := Finish(raw, 0, 0, Standard)
	if err != nil {
		t.Fatal(err)
	}
	if done.Peak > CeilingDBTP {
		t.Errorf("%.2f dBTP passes the ceiling", done.Peak)
	}
}

// The shelf's gain is what it was asked for far above its corner, half of it (in
// decibels) at the corner, none far below: the cookbook's definition.
func TestTrebleShelf(t *testing.T) {
	gain := func(hz float64) float64 {
		x := sine(ClipRate, hz, 1, 0, 1)
		y := trebleShelf(ClipRate, 2000, 12).run(x)
		rms := func(v []float64) (sum float64) {
			for _, s := range v[len(v)/2:] {
				sum += s * s
			}
			return sum
		}
		return 10 * math.Log10(rms(y)/rms(x))
	}
	for hz, want := range map[float64]float64{50: 0, 2000: 6, 7900: 12} {
		if got := gain(hz); math.Abs(got-want) > 0.3 {
			t.Errorf("%.1f dB at %g Hz, want %g", got, hz, want)
		}
	}
}

func TestWAVRoundTrip(t *testing.T) {
	file := t.TempDir() + "/a.wav"
	want := []int16{0, 1, -1, 12345, -32767, 32767, 16384}
	if err := WriteWAV(file, want); err != nil {
		t.Fatal(err)
	}
	x, err := ReadWAV(file)
	if err != nil || len(x) != len(want) {
		t.Fatalf("%d samples of %d: %v", len(x), len(want), err)
	}
	for i, v := range x {
		if math.Abs(v*32767-float64(want[i])) > 1 {
			t.Errorf("sample %d is %.1f, want %d", i, v*32767, want[i])
		}
	}
}
