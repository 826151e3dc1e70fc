package speech

import (
	"strconv"
	"strings"
	"time"
)

// Centre is the perceptual centre of the first beat of a stretch of sound: the
// moment at which a listener hears the word to fall. It is found as F. Cummins
// and R. Port did ("Rhythmic constraints on stress timing in English", Journal
// of Phonetics 26, 1998, appendix A): the energy about 1 kHz, where vowels are,
// smoothed to 10 Hz; the beat is midway between 10 % and 90 % of its rise. The
// filters run both ways, so that they add no delay.
//
// from and to bound the search; to = 0 is the end. The answer counts from the
// start of x. ok is false when the stretch has no rise.
func Centre(x []float64, rate int, from, to time.Duration) (centre time.Duration, ok bool) {
	env := vowelEnvelope(x, float64(rate))
	lo := clampIndex(samples(from, rate), len(x))
	hi := len(x)
	if to > 0 {
		hi = clampIndex(samples(to, rate), len(x))
	}
	if hi-lo < 2 {
		return 0, false
	}
	foot, top := firstRise(env[lo:hi])
	if top <= foot {
		return 0, false
	}
	foot, top = foot+lo, top+lo
	rise := env[top] - env[foot]
	early := crossing(env, foot, top, env[foot]+0.1*rise)
	late := crossing(env, foot, top, env[foot]+0.9*rise)
	return time.Duration((early + late) / 2 / float64(rate) * float64(time.Second)), true
}

func samples(d time.Duration, rate int) int { return int(d.Seconds() * float64(rate)) }

func clampIndex(i, n int) int { return min(max(i, 0), n) }

func vowelEnvelope(x []float64, rate float64) []float64 {
	// Filters that run both ways need room to ring at either end.
	pad := int(0.3 * rate)
	y := make([]float64, len(x)+2*pad)
	copy(y[pad:], x)
	y = bandPass(rate, 700, 1300).runZeroPhase(y)
	for i, v := range y {
		y[i] = max(v, -v)
	}
	y = lowPass(rate, 10).runZeroPhase(y)
	return y[pad : pad+len(x)]
}

// firstRise finds the first peak that stands out, and the foot before it. A
// peak counts when it has three tenths of the greatest: less is a consonant's.
func firstRise(env []float64) (foot, top int) {
	greatest := 0.0
	for _, v := range env {
		greatest = max(greatest, v)
	}
	for i := 1; i < len(env); i++ {
		last := i == len(env)-1
		if env[i] >= 0.3*greatest && env[i] >= env[i-1] && (last || env[i+1] < env[i]) {
			top = i
			break
		}
	}
	foot = top
	for foot > 0 && env[foot-1] < env[foot] {
		foot--
	}
	return foot, top
}

// crossing is where a rising curve passes a level, between samples.
func crossing(env []float64, foot, top int, level float64) float64 {
	for i := foot; i < top; i++ {
		if env[i+1] >= level {
			return float64(i) + (level-env[i])/(env[i+1]-env[i])
		}
	}
	return float64(top)
}

// Phone is one speech sound as a synthesiser timed it.
type Phone struct {
	Name  string
	Start time.Duration
	End   time.Duration
}

// ParsePhones reads the durations flite prints for -psdur: name:end pairs, the
// end in seconds. What does not read so is skipped.
func ParsePhones(printed string) []Phone {
	var phones []Phone
	var start time.Duration
	for field := range strings.FieldsSeq(printed) {
		name, end, ok := strings.Cut(field, ":")
		if !ok {
			continue
		}
		seconds, err := strconv.ParseFloat(end, 64)
		if err != nil {
			continue
		}
		at := time.Duration(seconds * float64(time.Second))
		phones = append(phones, Phone{name, start, at})
		start = at
	}
	return phones
}

// FirstVowel is the first phone that has a vowel in it, by the phone names of
// the CMU lexicon.
func FirstVowel(phones []Phone) (Phone, bool) {
	for _, p := range phones {
		if p.Name != "" && strings.Contains("aeiou", p.Name[:1]) {
			return p, true
		}
	}
	return Phone{}, false
}

// LastRun is where the sounds of word last occur within phones, pauses apart.
func LastRun(phones, word []Phone) []Phone {
	word = spoken(word)
	for i := len(phones) - len(word); i >= 0 && len(word) > 0; i-- {
		same := true
		for k := range word {
			same = same && phones[i+k].Name == word[k].Name
		}
		if same {
			return phones[i : i+len(word)]
		}
	}
	return nil
}

func spoken(phones []Phone) []Phone {
	var out []Phone
	for _, p := range phones {
		if p.Name != "pau" {
			out = append(out, p)
		}
	}
	return out
}
