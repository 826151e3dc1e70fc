package wcag_test

import (
	"image/color"
	"math"
	"testing"

	"kickover/ui/theme/wcag"
)

// Black on white is 21:1 by the standard's own definition of the ratio; #767676 is
// the lightest grey that has 4.5:1 on white, and #777777 has not (WCAG 2.2,
// understanding success criterion 1.4.3).
func TestContrast(t *testing.T) {
	grey := func(v uint8) color.NRGBA { return color.NRGBA{R: v, G: v, B: v, A: 0xff} }
	if c := wcag.Contrast(grey(0), grey(0xff)); math.Abs(c-21) > 1e-9 {
		t.Errorf("black on white is %v", c)
	}
	if a, b := wcag.Contrast(grey(0x76), grey(0xff)), wcag.Contrast(grey(0xff), grey(0x77)); a < 4.5 || b >= 4.5 {
		t.Errorf("#767676 is %v, #777777 %v", a, b)
	}
}
