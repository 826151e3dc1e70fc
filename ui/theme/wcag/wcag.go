// Package wcag is the contrast ratio of WCAG 2.2, by which tests of whichever
// package tell whether what is written can be read.
//
// Call [Contrast]. Pure.
package wcag

import (
	"image/color"
	"math"
)

// Contrast is the ratio of two opaque colours, from 1 to 21.
func Contrast(a, b color.NRGBA) float64 {
	la, lb := Luminance(a), Luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// Luminance is the relative luminance, from 0 to 1.
func Luminance(c color.NRGBA) float64 {
	linear := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}
