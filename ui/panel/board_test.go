package panel

import (
	"bytes"
	"image/color"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/ui/theme"
)

// A board that was let go of holds no picture, nor do the rasters that it showed;
// fitted again it shows what it did.
func TestABoardThatIsFreeHoldsNoPicture(t *testing.T) {
	ink := color.NRGBA{0xff, 0xff, 0xff, 0xff}
	box := func(p *Pen, r Rect) { p.Box(r, 0, ink, color.NRGBA{}, 0) }
	b := NewBoard(theme.Dusk, func(float64, float64) {}, func(p *Pen) { box(p, Rect{40, 40, 200, 200}) })
	live, inlay := NewCell(b, box), NewInlay(b, box)
	live.Area, inlay.Area = Rect{400, 40, 100, 100}, Rect{600, 40, 100, 100}
	fit := func() {
		b.Resize(fyne.NewSize(LeastW, LeastH), 1)
		live.Show(Rect{410, 50, 20, 20})
		inlay.Show(Rect{610, 50, 20, 20})
		b.Commit()
	}
	pictures := func(shown []fyne.CanvasObject) (all [][]byte) {
		for _, o := range shown {
			img := o.(*canvas.Raster).Generator(0, 0)
			if img == nothing {
				continue
			}
			w, h := img.Bounds().Dx(), img.Bounds().Dy()
			pixels := make([]byte, 0, w*h)
			for y := range h {
				for x := range w {
					r, _, _, _ := img.At(x, y).RGBA()
					pixels = append(pixels, byte(r>>8))
				}
			}
			all = append(all, pixels)
		}
		return all
	}
	fit()
	shown := b.Objects()
	before := pictures(shown)
	if len(before) < 3 { // the box, the live cell, the inlay
		t.Fatalf("%d pictures are shown, want three or more", len(before))
	}
	b.Free()
	if held := len(pictures(shown)) + len(pictures(b.Objects())); held != 0 || b.base != nil || b.img != nil || inlay.img != nil || live.pen != nil {
		t.Errorf("%d pictures are held by what was shown", held)
	}
	live.Show(Rect{410, 50, 30, 30}) // what comes late finds nothing to paint on
	b.Commit()
	live.Show(Rect{410, 50, 20, 20})
	fit()
	after := pictures(b.Objects())
	if len(after) != len(before) {
		t.Fatalf("%d pictures after it was fitted again, %d before", len(after), len(before))
	}
	for i := range after {
		if !bytes.Equal(after[i], before[i]) {
			t.Errorf("picture %d is another than before", i)
		}
	}
}
