package motion

import (
	"image"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"kickover/procedure"
	"kickover/ui/rehearse"
	"kickover/ui/theme"
)

func screen(tb testing.TB, t theme.Tokens, w, h float32) (*rehearse.Screen, fyne.Window) {
	tb.Helper()
	s := rehearse.New(rehearse.Options{Theme: t, Now: func() time.Duration { return time.Minute }, Emit: func(procedure.Event) {},
		SkipRest: func() {}, Pause: func() {}, Leave: func() {}, Finish: func() {}})
	win := test.NewWindow(s.Content())
	win.SetPadded(false)
	win.Resize(fyne.NewSize(w, h))
	return s, win
}

// plain is the share of an image that has one colour.
func plain(img image.Image, of [3]uint32) float64 {
	n, b := 0, img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y += 3 {
		for x := b.Min.X; x < b.Max.X; x += 3 {
			if r, g, bl, _ := img.At(x, y).RGBA(); [3]uint32{r, g, bl} == of {
				n++
			}
		}
	}
	return float64(n) * 9 / float64(b.Dx()*b.Dy())
}

func TestEverySceneIsDrawnInEveryDress(t *testing.T) {
	app := test.NewTempApp(t)
	for _, d := range theme.All() {
		app.Settings().SetTheme(d.Fyne())
		s, w := screen(t, d, 1280, 800)
		seen := map[Scene]image.Image{}
		for _, sc := range Scenes() {
			s.Show(At(sc, 0))
			img := w.Canvas().Capture()
			r, g, b, _ := d.Ground.RGBA()
			if share := plain(img, [3]uint32{r, g, b}); share > 0.5 {
				t.Errorf("%s in %s: %.0f %% of the window is bare", sc, d.Name, share*100)
			}
			for other, o := range seen {
				if same(img, o) {
					t.Errorf("%s looks like %s in %s", sc, other, d.Name)
				}
			}
			seen[sc] = img
		}
		w.Close()
	}
}

func same(a, b image.Image) bool {
	x, okA := a.(*image.NRGBA)
	y, okB := b.(*image.NRGBA)
	if !okA || !okB || len(x.Pix) != len(y.Pix) {
		return false
	}
	for i := range x.Pix {
		if x.Pix[i] != y.Pix[i] {
			return false
		}
	}
	return true
}

// Night must not dazzle, not for one frame and not where edges are blended:
// nothing may be brighter than its warning colour.
func TestNightHasNoBrightPixel(t *testing.T) {
	app := test.NewTempApp(t)
	app.Settings().SetTheme(theme.Night.Fyne())
	s, w := screen(t, theme.Night, 1280, 800)
	defer w.Close()
	most := luma(theme.Night.Warn.R, theme.Night.Warn.G, theme.Night.Warn.B) + 2
	for _, sc := range []Scene{Prime, Clear, Alert, NoStart, Explain} {
		s.Show(At(sc, 0))
		img, ok := w.Canvas().Capture().(*image.NRGBA)
		if !ok {
			t.Fatal("the test driver's picture is of another kind")
		}
		for i := 0; i < len(img.Pix); i += 4 {
			if l := luma(img.Pix[i], img.Pix[i+1], img.Pix[i+2]); l > most {
				t.Fatalf("%s has a pixel %v", sc, img.Pix[i:i+3])
			}
		}
	}
}

// luma is the brightness of ITU-R BT.709.
func luma(r, g, b uint8) float64 {
	return 0.2126*float64(r) + 0.7152*float64(g) + 0.0722*float64(b)
}

// BenchmarkShowFullMotion is the processor time of one snapshot in which
// everything moves, without the toolkit's painting of the window.
func BenchmarkShowFullMotion(b *testing.B) {
	test.NewTempApp(b)
	s, w := screen(b, theme.Dusk, 1280, 800)
	defer w.Close()
	frames := make([]time.Duration, 210)
	for i := range frames {
		frames[i] = time.Duration(i) * time.Second / 30
	}
	s.Show(At(Full, 0))
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		b.StopTimer()
		n := At(Full, frames[i%len(frames)])
		b.StartTimer()
		s.Show(n)
	}
}

// BenchmarkShowNothingNew is a snapshot in which nothing has changed.
func BenchmarkShowNothingNew(b *testing.B) {
	test.NewTempApp(b)
	s, w := screen(b, theme.Dusk, 1280, 800)
	defer w.Close()
	n := At(Idle, 0)
	s.Show(n)
	b.ReportAllocs()
	for b.Loop() {
		s.Show(n)
	}
}
