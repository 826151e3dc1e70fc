package paper

import (
	"image"
	"image/color"
	"testing"

	"kickover/ui/theme"
	"kickover/ui/theme/wcag"
)

// At night nothing is brighter than the ink, and no sheet is white (the look's own
// rule); what is printed can still be read: 7:1, WCAG 2.2, success criterion 1.4.6.
func TestASheetIsDarkAtNight(t *testing.T) {
	page := image.NewGray(image.Rect(0, 0, 3, 1))
	page.Pix = []uint8{0xff, 0x80, 0}
	n := theme.Night
	shown := lit(page, n)
	at := func(x int) color.NRGBA { return color.NRGBAModel.Convert(shown.At(x, 0)).(color.NRGBA) }
	for x := range 3 {
		if wcag.Luminance(at(x)) > wcag.Luminance(n.Ink) {
			t.Errorf("%v is brighter than the ink", at(x))
		}
	}
	if c := wcag.Contrast(at(0), at(2)); c < 7 {
		t.Errorf("black on white is shown with %.1f:1", c)
	}
	if lit(page, theme.Day) != image.Image(page) {
		t.Error("by day the sheet is another")
	}
}
