package main

import (
	"math"
	"strings"
	"testing"
)

// Whatever is typed after a flag: a number that can be worked with, or a sentence
// that names the flag and shows how it is written.
func FuzzQuantity(f *testing.F) {
	for _, text := range []string{"10 degC", "-40 degF", "500 m", "1640.42 ft", "45 min", "88 %", "0.88", "", "NaN", "1e400 m", "0x1p4 m", "1_0 m", "٣ m", "10"} {
		for kind := range dimensions {
			f.Add(text, kind)
		}
	}
	f.Fuzz(func(t *testing.T, text, kind string) {
		d, known := dimensions[kind]
		if !known {
			return
		}
		v, err := quantity("--flag", text, kind)
		if err != nil {
			if !strings.Contains(err.Error(), "--flag") || !strings.Contains(err.Error(), d.example) {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%q is read as %v", text, v)
		}
	})
}
