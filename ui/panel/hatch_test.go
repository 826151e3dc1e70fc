package panel

import (
	"image"
	"image/color"
	"testing"

	"kickover/ui/theme"
)

// Lines that are left out because they cross no part of the sector change no
// pixel of it.
func TestHatchWithoutTheLinesThatMissIt(t *testing.T) {
	ink := color.NRGBA{R: 255, A: 255}
	for _, s := range [][2]float64{{10, 40}, {80, 130}, {157, 225}, {170, 350}, {260, 280}, {0, 360}, {330, 350}} {
		short, long := hatched(), hatched()
		short.HatchSector(100, 100, 70, 90, s[0], s[1], ink, 7, 2)
		all := Rect{10, 10, 180, 180}
		long.hatch(func() {
			long.gc.NewSubPath()
			long.gc.DrawArc(100, 100, 90, rad(s[0]), rad(s[1]))
			long.gc.DrawArc(100, 100, 70, rad(s[1]), rad(s[0]))
			long.gc.ClosePath()
		}, all, all.Inset(-5), ink, 7, 2)
		most := 0
		for i := range short.img.Pix {
			d := int(short.img.Pix[i]) - int(long.img.Pix[i])
			most = max(most, d, -d)
		}
		// The rasteriser rounds a line's ends to a 64th of a pixel.
		if most > 8 {
			t.Errorf("%v: values differ by up to %d", s, most)
		}
	}
}

func hatched() *Pen {
	return newPen(image.NewRGBA(image.Rect(0, 0, 200, 200)), 1, image.Point{}, theme.Day)
}

func BenchmarkHatchSector(b *testing.B) {
	p := newPen(image.NewRGBA(image.Rect(0, 0, 600, 600)), 1, image.Point{}, theme.Day)
	for b.Loop() {
		p.HatchSector(300, 300, 225, 270, 157, 225, theme.Day.OK, 14, 5)
	}
}
