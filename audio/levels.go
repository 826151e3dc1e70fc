package audio

import "math"

// Levels are where the faders stand, each from 0, silent, to 1, as it was made.
// The middle is heard as about half as loud.
type Levels struct {
	Volume float64 // of everything
	Voice  float64 // of lines and tones
	Engine float64
	Muted  bool // everything, whatever the faders say; captions go on
}

// FullLevels is how a Mixer begins.
var FullLevels = Levels{Volume: 1, Voice: 1, Engine: 1}

// SetLevels moves the faders, without a click. A level outside 0 to 1 is taken
// to be the nearer of the two.
func (m *Mixer) SetLevels(l Levels) {
	l.Volume, l.Voice, l.Engine = faderRange(l.Volume), faderRange(l.Voice), faderRange(l.Engine)
	m.mu.Lock()
	defer m.mu.Unlock()
	m.levels = l
	m.voiceGain.target, m.engineGain.target, m.master.target = faderGain(l.Voice), faderGain(l.Engine), faderGain(l.Volume)
	if l.Muted {
		m.master.target = 0
	}
}

// Levels are where the faders stand.
func (m *Mixer) Levels() Levels {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.levels
}

func faderRange(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return min(max(v, 0), 1)
}

// faderGain makes the middle 12 dB quieter: 10 dB is heard as half as loud
// (S. S. Stevens, "The measurement of loudness", 1955).
func faderGain(v float64) float64 { return v * v }

// slider is a gain that moves without a click.
type slider struct{ value, target float64 }

func (s *slider) next() float64 {
	s.value += (s.target - s.value) * (1 / (0.010 * Rate))
	return s.value
}
