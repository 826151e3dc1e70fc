package fonts_test

import (
	"strings"
	"testing"

	"kickover/assets/fonts"
)

func TestEveryWeightOpensAndHasWhatTheScreensPrint(t *testing.T) {
	for w := fonts.WeightRegular; w <= fonts.WeightBold; w++ {
		face, err := fonts.Face(w, 16)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range "AZaz09°·–—−…“”’×≥≤→←↑↓äéñøß" {
			if _, ok := face.GlyphAdvance(r); !ok {
				t.Errorf("weight %d has no glyph for %q", w, r)
			}
		}
	}
}

func TestDigitsAreOfOneWidth(t *testing.T) {
	for w := fonts.WeightRegular; w <= fonts.WeightBold; w++ {
		face, err := fonts.Face(w, 64)
		if err != nil {
			t.Fatal(err)
		}
		zero, _ := face.GlyphAdvance('0')
		for _, r := range "123456789" {
			if a, _ := face.GlyphAdvance(r); a != zero {
				t.Errorf("weight %d: %q is %v wide, 0 is %v", w, r, a, zero)
			}
		}
	}
}

func TestLicenceTravelsWithTheFont(t *testing.T) {
	for _, want := range []string{"The Inter Project Authors", "SIL OPEN FONT LICENSE Version 1.1", "PERMISSION & CONDITIONS"} {
		if !strings.Contains(fonts.License, want) {
			t.Errorf("the licence text lacks %q", want)
		}
	}
}

func TestUnknownWeightIsAnError(t *testing.T) {
	if _, err := fonts.Face(7, 12); err == nil {
		t.Error("weight 7 was accepted")
	}
}

// Read from the font's own GPOS table with fontTools 4.38: in Inter Bold, T
// before A is drawn in by 252 of 2816 units.
func TestKerningScalesWithTheSize(t *testing.T) {
	for _, px := range []float64{12, 100, 1000} {
		face, err := fonts.Face(fonts.WeightBold, px)
		if err != nil {
			t.Fatal(err)
		}
		got, want := float64(face.Kern('T', 'A'))/64, -252.0/2816*px
		if got < want-1.0/32 || got > want+1.0/32 {
			t.Errorf("at %g px TA is kerned by %.3f px, want %.3f", px, got, want)
		}
	}
}
