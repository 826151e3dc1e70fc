package audio

import (
	"math"
	"testing"
)

// At the middle of its fader the voice is at a quarter of its gain: 12 dB down.
func TestLevelsOfVoiceAndEngine(t *testing.T) {
	r := newRig()
	r.SetLevels(Levels{Volume: 1, Voice: 0.5, Engine: 0})
	r.SetEngine(EngineState{BoostPump: true, BusVolts: 24})
	r.run(200 * ms)
	for _, s := range r.out[samplesIn(150*ms):] {
		if math.Abs(s[0]) > 1e-4 {
			t.Fatalf("the engine's fader is down and it is heard: %g", s[0])
		}
	}
	r.Say(Line{Text: "prompt"})
	r.run(500 * ms)
	if got := r.level(600 * ms); got < 745 || got > 755 {
		t.Errorf("the line's level is %d, want 750 of 3000", got)
	}
	r.SetLevels(Levels{Volume: 0.5, Voice: 1, Engine: 0})
	r.run(200 * ms)
	if got := r.level(850 * ms); got < 745 || got > 755 {
		t.Errorf("with the volume in the middle the line's level is %d, want 750 of 3000", got)
	}
}

func TestMuteTakesNoCaptionAway(t *testing.T) {
	r := newRig()
	levels := FullLevels
	levels.Muted = true
	r.SetLevels(levels)
	r.run(200 * ms)
	r.Say(Line{Text: "prompt"})
	r.run(500 * ms)
	if got := r.level(600 * ms); got != 0 {
		t.Errorf("muted, the level is %d", got)
	}
	if r.texts() != "prompt" {
		t.Error("mute took the caption away")
	}
	r.SetLevels(FullLevels)
	r.run(200 * ms)
	if got := r.level(850 * ms); got < 2990 {
		t.Errorf("no longer muted, the level is %d, want 3000", got)
	}
}

func TestLevelsMoveWithoutAClick(t *testing.T) {
	r := newRig()
	r.Say(Line{Text: "prompt"})
	r.run(300 * ms)
	r.SetLevels(Levels{})
	r.run(300 * ms)
	for i := samplesIn(290 * ms); i < samplesIn(600*ms); i++ {
		if step := math.Abs(r.out[i][0]-r.out[i-1][0]) * 32768; step > 3000*0.005 {
			t.Fatalf("the level jumps by %.0f of 3000 at once", step)
		}
	}
}

func TestLevelsOutOfRange(t *testing.T) {
	r := newRig()
	r.SetLevels(Levels{Volume: math.NaN(), Voice: -3, Engine: math.Inf(1)})
	if got := r.Levels(); got != (Levels{Volume: 0, Voice: 0, Engine: 1}) {
		t.Errorf("levels %+v", got)
	}
}
