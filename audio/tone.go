package audio

import "math"

// Tone is a signal that needs no words.
type Tone int

// The tones. A warning is fast, rising and bright, a caution slow, falling and
// soft: they differ in rhythm, direction, pitch and colour at once. All lie
// below 4 kHz, where small loudspeakers and old ears still hear, and sound
// alike in both channels.
const (
	ToneWarning Tone = iota
	ToneCaution
	ToneTest
	toneNone
)

// note is a part of a tone: a glide between two pitches.
type note struct {
	start, length float64 // seconds
	from, to      float64 // hertz
	level         float64
	bright        float64 // share of the second and third partial
}

var tones = [...][]note{
	// Three quick upward sweeps in the 500 to 2500 Hz that ISO 7731 asks of a
	// danger signal.
	ToneWarning: {
		{0.00, 0.09, 900, 1500, 0.30, 0.5},
		{0.13, 0.09, 900, 1500, 0.30, 0.5},
		{0.26, 0.09, 900, 1500, 0.30, 0.5},
	},
	// Two long, falling, nearly pure notes.
	ToneCaution: {
		{0.00, 0.28, 660, 650, 0.20, 0.1},
		{0.36, 0.40, 520, 510, 0.20, 0.1},
	},
	ToneTest: {{0, 1, 1000, 1000, 0.15, 0}},
}

// toneGenerator sounds one tone at a time. Its mixer guards it.
type toneGenerator struct {
	tone  Tone
	at    int64
	end   int64
	phase float64
}

func (g *toneGenerator) start(t Tone) {
	if t < 0 || t >= toneNone || g.sounding() && g.tone == ToneWarning && t != ToneWarning {
		return
	}
	notes := tones[t]
	last := notes[len(notes)-1]
	*g = toneGenerator{tone: t, end: int64((last.start + last.length) * Rate)}
}

func (g *toneGenerator) sounding() bool { return g.at < g.end }

// left is how many samples it still sounds.
func (g *toneGenerator) left() int64 { return max(0, g.end-g.at) }

func (g *toneGenerator) add(out [][2]float64) {
	for i := 0; i < len(out) && g.sounding(); i++ {
		x := g.sample(float64(g.at) / Rate)
		out[i][0] += x
		out[i][1] += x
		g.at++
	}
}

func (g *toneGenerator) sample(t float64) float64 {
	const edge = 0.008
	for _, n := range tones[g.tone] {
		u := t - n.start
		if u < 0 || u >= n.length {
			continue
		}
		g.phase += 2 * math.Pi * (n.from + (n.to-n.from)*u/n.length) / Rate
		envelope := min(1, u/edge, (n.length-u)/edge)
		return n.level * envelope * (math.Sin(g.phase) + n.bright*(0.6*math.Sin(2*g.phase)+0.3*math.Sin(3*g.phase)))
	}
	return 0
}
