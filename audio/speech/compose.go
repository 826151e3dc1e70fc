package speech

import (
	"strconv"
	"strings"
	"time"
)

// A gap that keeps two words that were rendered apart from running together.
const wordGap = 15 * time.Millisecond

// compose puts a number together from the clips of its words, so that every
// reading of an instrument can be spoken: "24.6 volts", "one thousand twenty".
// Anything but number words and units is left alone: a sentence put together
// from words would be hard to follow. l.mu is held.
func (l *Library) compose(key string) (Clip, bool) {
	words, ok := numberWords(key)
	if !ok {
		return Clip{}, false
	}
	var out Clip
	for i, word := range words {
		c, ok := l.shipped(word)
		if !ok {
			return Clip{}, false
		}
		if i == 0 {
			out.Centre = c.Centre
		} else {
			out.PCM = append(out.PCM, make([]int16, samples(wordGap, PlayRate))...)
		}
		out.PCM = append(out.PCM, c.PCM...)
	}
	return out, true
}

var (
	units = strings.Fields("zero one two three four five six seven eight nine ten eleven twelve thirteen " +
		"fourteen fifteen sixteen seventeen eighteen nineteen")
	tens        = strings.Fields("twenty thirty forty fifty sixty seventy eighty ninety")
	numberParts = setOf(units, tens, strings.Fields("hundred thousand point minus volts amperes degrees percent seconds minutes"))
)

func setOf(lists ...[]string) map[string]bool {
	set := map[string]bool{}
	for _, list := range lists {
		for _, w := range list {
			set[w] = true
		}
	}
	return set
}

// numberWords spells a key's figures and checks that nothing but a number and
// its unit is in it.
func numberWords(key string) ([]string, bool) {
	var words []string
	for field := range strings.FieldsSeq(key) {
		if field[0] >= '0' && field[0] <= '9' {
			spelt, ok := spell(field)
			if !ok {
				return nil, false
			}
			words = append(words, spelt...)
		} else {
			words = append(words, field)
		}
	}
	for _, w := range words {
		if !numberParts[w] {
			return nil, false
		}
	}
	return words, len(words) > 1 || len(words) == 1 && words[0] != key
}

// spell says a figure below a million in words, digits after the point singly.
func spell(figure string) ([]string, bool) {
	whole, digits, hasPoint := strings.Cut(figure, ".")
	n, err := strconv.Atoi(whole)
	if err != nil || n >= 1_000_000 {
		return nil, false
	}
	words := spellWhole(n)
	if hasPoint {
		words = append(words, "point")
		for _, d := range digits {
			if d < '0' || d > '9' {
				return nil, false
			}
			words = append(words, units[d-'0'])
		}
	}
	return words, true
}

func spellWhole(n int) []string {
	switch {
	case n < 20:
		return []string{units[n]}
	case n < 100:
		words := []string{tens[n/10-2]}
		if n%10 > 0 {
			words = append(words, units[n%10])
		}
		return words
	case n < 1000:
		return withRest([]string{units[n/100], "hundred"}, n%100)
	default:
		return withRest(append(spellWhole(n/1000), "thousand"), n%1000)
	}
}

func withRest(words []string, rest int) []string {
	if rest > 0 {
		words = append(words, spellWhole(rest)...)
	}
	return words
}
