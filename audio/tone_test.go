package audio

import (
	"math"
	"testing"
)

func toneSamples(t Tone) []float64 {
	var g toneGenerator
	g.start(t)
	var out []float64
	block := make([][2]float64, 480)
	for g.sounding() {
		clear(block)
		g.add(block)
		for _, s := range block {
			out = append(out, s[0])
		}
	}
	return out
}

// A warning and a caution differ in everything a listener can go by: how many
// bursts, how fast, how high, which way the pitch goes, how bright.
func TestTonesCannotBeConfused(t *testing.T) {
	warning, caution := tones[ToneWarning], tones[ToneCaution]
	if len(warning) <= len(caution) {
		t.Error("a warning has more bursts")
	}
	for _, w := range warning {
		for _, c := range caution {
			if w.length > c.length/2 || min(w.from, w.to) < 1.25*max(c.from, c.to) || w.level <= c.level || w.bright < 3*c.bright {
				t.Errorf("burst %+v of the warning is too like %+v of the caution", w, c)
			}
			if (w.to > w.from) == (c.to > c.from) {
				t.Error("a warning rises, a caution falls")
			}
		}
	}
}

// Nothing relies on one ear or on above 4 kHz: 97 % of a tone's energy lies
// below, and most of a warning's between the 500 and 2500 Hz of ISO 7731.
func TestTonesLieWhereEverybodyHears(t *testing.T) {
	for _, tone := range []Tone{ToneWarning, ToneCaution, ToneTest} {
		x := toneSamples(tone)
		var all, low, middle float64
		for hz := 50.0; hz < 12000; hz += 20 {
			p := power(x, hz) * power(x, hz)
			all += p
			if hz < 4000 {
				low += p
			}
			if hz >= 500 && hz <= 2500 {
				middle += p
			}
		}
		if low < 0.97*all {
			t.Errorf("tone %d: %.1f %% of it lies below 4 kHz", tone, 100*low/all)
		}
		if tone == ToneWarning && middle < 0.7*all {
			t.Errorf("the warning: %.1f %% of it lies between 500 and 2500 Hz", 100*middle/all)
		}
	}
}

func TestBothChannelsCarryTheSame(t *testing.T) {
	m := NewMixer(testClips, 0)
	m.SetEngine(EngineState{RPM: 1000, Firing: 1, BoostPump: true, BusVolts: 24})
	m.Say(Line{Text: "warning"})
	m.Tone(ToneWarning)
	block := make([][2]float64, Rate)
	m.Stream(block)
	for _, s := range block {
		if s[0] != s[1] {
			t.Fatal("the channels differ")
		}
	}
}

func TestCautionDoesNotReplaceWarning(t *testing.T) {
	var g toneGenerator
	g.start(ToneWarning)
	g.add(make([][2]float64, 480))
	g.start(ToneCaution)
	if g.tone != ToneWarning {
		t.Error("a caution replaced a warning")
	}
	g.start(Tone(99))
	if g.tone != ToneWarning {
		t.Error("an unknown tone replaced a warning")
	}
}

func TestNothingPassesFullScale(t *testing.T) {
	for x := -5.0; x <= 5; x += 0.01 {
		y := soften(x)
		if math.Abs(y) >= 1 || math.Abs(x) <= 0.8 && y != x || math.Signbit(y) != math.Signbit(x) {
			t.Fatalf("soften(%g) = %g", x, y)
		}
	}
}
