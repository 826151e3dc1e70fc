package paper

import (
	"image"
	"image/color"
	"testing"

	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"kickover/ui/control"
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

// In a narrow window a choice that half of it would cut has a row of its own.
func TestANarrowWindowCutsNoChoice(t *testing.T) {
	test.NewTempApp(t)
	words := []string{"Record", "Brindle 180", "Cold start", "14 September 2026, 09:30, demonstrate", "Ada Fenwick"}
	l := &layout{t: theme.Day, title: &canvas.Text{}, text: container.NewWithoutLayout(), file: control.NewEntry(""),
		save: control.NewButton(theme.Day, "Save", "", control.Primary, func() {}), desk: &canvas.Rectangle{}, sheet: &canvas.Rectangle{}, image: &canvas.Image{}}
	for _, w := range words {
		l.rows = append(l.rows, control.NewPicker(theme.Day, "Run", []string{w}, 0, nil))
	}
	const width = 720 // of a window of 1024 with larger text, about
	l.placeNarrow(width)
	for i, r := range l.rows {
		p := r.(*control.Picker)
		if p.Size().Width < p.Whole() {
			t.Errorf("%q has %g of the %g that it wants", words[i], p.Size().Width, p.Whole())
		}
		if end := p.Position().X + p.Size().Width; end > width {
			t.Errorf("%q ends at %g of %d", words[i], end, width)
		}
	}
}
