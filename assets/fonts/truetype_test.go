package fonts_test

import (
	"testing"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"kickover/assets/fonts"
)

// The letters of the screen and of the paper must be as wide: a line that fits on
// one fits on the other.
func TestTrueTypeHasTheSameLetters(t *testing.T) {
	for _, pair := range [][2][]byte{{fonts.Regular, fonts.RegularTrueType}, {fonts.SemiBold, fonts.SemiBoldTrueType}} {
		screen, err := sfnt.Parse(pair[0])
		if err != nil {
			t.Fatal(err)
		}
		paper, err := sfnt.Parse(pair[1])
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range "AZaz09°·–—−…“”’×≥≤→←↑↓äéñøß" {
			if a, b := width(t, screen, r), width(t, paper, r); a != b {
				t.Errorf("%q is %v wide on the screen, %v on paper", r, a, b)
			}
		}
	}
}

func width(t *testing.T, f *sfnt.Font, r rune) fixed.Int26_6 {
	t.Helper()
	var buf sfnt.Buffer
	g, err := f.GlyphIndex(&buf, r)
	if err != nil {
		t.Fatal(err)
	}
	a, err := f.GlyphAdvance(&buf, g, fixed.Int26_6(f.UnitsPerEm())<<6, 0)
	if err != nil {
		t.Fatal(err)
	}
	return a / 64
}
