package panel

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/ui/theme"
	"kickover/ui/theme/wcag"
)

// sheet is a board of the smallest size with a pen on it.
func sheet() (*image.RGBA, *Pen) {
	img := image.NewRGBA(image.Rect(0, 0, LeastW, LeastH))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Dusk.Panel), image.Point{}, draw.Src)
	return img, newPen(img, 1, image.Point{}, theme.Dusk)
}

func near(img *image.RGBA, x, y float64, want color.NRGBA) bool {
	c := img.RGBAAt(int(math.Round(x)), int(math.Round(y)))
	d := func(a, b uint8) int { return max(int(a), int(b)) - min(int(a), int(b)) }
	return d(c.R, want.R)+d(c.G, want.G)+d(c.B, want.B) < 60
}

// 14 CFR 23.1549, as it stood before amendment 23-64: (a) each maximum safe
// operating limit is a red radial, (b) the normal range a green arc, (c) a
// caution range a yellow arc.
func TestRangeMarkingsOfADial(t *testing.T) {
	d := Dial{X: 200, Y: 200, R: 86, Instrument: procedure.Instrument{Min: 0, Max: 100, Ranges: []procedure.Range{
		{Kind: procedure.Normal, From: 20, To: 60},
		{Kind: procedure.Caution, From: 60, To: 80},
		{Kind: procedure.Limit, From: 90, To: 90},
	}}}
	img, p := sheet()
	d.Face(p)
	at := func(v, r float64) (float64, float64) { return On(d.X, d.Y, r, d.angle(v)) }
	if x, y := at(41.7, d.R-6.5); !near(img, x, y, theme.Dusk.OK) {
		t.Errorf("the middle of the normal range is %v, not green", img.RGBAAt(int(x), int(y)))
	}
	amber := 0
	for v := 61.0; v < 79; v += 0.5 {
		if x, y := at(v, d.R-6.5); near(img, x, y, theme.Dusk.Caution) {
			amber++
		}
	}
	if amber < 10 {
		t.Errorf("%d of 36 places in the caution range are yellow; it is hatched, so at least ten should be", amber)
	}
	// A radial lies across the scale: red at both ends of it.
	for _, r := range []float64{d.R - 3, d.R - 18} {
		if x, y := at(90, r); !near(img, x, y, theme.Dusk.Warn) {
			t.Errorf("the limit is %v at radius %g, not red", img.RGBAAt(int(x), int(y)), r)
		}
	}
	if x, y := at(10, d.R-6.5); near(img, x, y, theme.Dusk.OK) {
		t.Error("outside the normal range it is green")
	}
}

func TestReadingsArePrintedAsAGaugeHasThem(t *testing.T) {
	volts := procedure.Instrument{Min: 18, Max: 30, Decimals: 1}
	amps := procedure.Instrument{Min: -60, Max: 60}
	rpm := procedure.Instrument{Min: 0, Max: 3000}
	for _, c := range []struct {
		in   procedure.Instrument
		v    float64
		want string
	}{
		{volts, 24.64, "24.6"},
		{amps, -9.4, "−9"},
		{amps, -0.3, "0"},
		{rpm, 1013.7, "1010"},
		{volts, math.NaN(), "–"},
	} {
		if got := Reading(c.in, c.v); got != c.want {
			t.Errorf("Reading(%g) = %q, want %q", c.v, got, c.want)
		}
	}
}

func TestStopwatchNeverShowsZeroBeforeItsTime(t *testing.T) {
	for _, c := range []struct {
		d    time.Duration
		down bool
		want string
	}{
		{3149 * time.Millisecond, false, "3.1"},
		{99 * time.Millisecond, false, "0.0"},
		{time.Nanosecond, true, "0.1"},
		{0, true, "0.0"},
		{45 * time.Second, true, "45.0"},
		{20 * time.Minute, false, "20:00"},
		{-time.Second, false, "0.0"},
	} {
		if got := Clock(c.d, c.down); got != c.want {
			t.Errorf("Clock(%v, down %t) = %q, want %q", c.d, c.down, got, c.want)
		}
	}
}

func TestStopwatchIsLateOnlyPastItsWindow(t *testing.T) {
	w := procedure.Window{Min: 3 * time.Second, Ideal: 4 * time.Second, Max: 5 * time.Second}
	c := Stopwatch{R: 100}
	if c.State("PRIME", "", 5*time.Second, 8*time.Second, w, true, false).Late {
		t.Error("late on the window's own edge")
	}
	if !c.State("PRIME", "", 5*time.Second+1, 8*time.Second, w, true, false).Late {
		t.Error("not late past the window")
	}
}

func TestEveryVerdictHasAShapeOfItsOwnMeaning(t *testing.T) {
	done := map[Mark]bool{}
	for _, v := range []procedure.Verdict{procedure.OnTime, procedure.Late, procedure.Missed, procedure.Unsafe} {
		m := MarkFor(v)
		if m == MarkNext || done[m] {
			t.Errorf("%s has mark %d, which another meaning has", v, m)
		}
		done[m] = true
	}
}

func TestLeverStandsWhereItIsPut(t *testing.T) {
	l := Lever{At: Rect{X: 100, Y: 100, W: 200, H: 260}, Notes: true,
		Control: procedure.Control{Kind: procedure.Lever, Unit: "mm", Travel: 80}}
	for _, p := range []procedure.Position{0, 9, 28, 80} {
		if got := l.Position(l.Y(p)); math.Abs(float64(got-p)) > 1e-9 {
			t.Errorf("put at %v it stands at %v", p, got)
		}
		if k := l.Knob(p); math.Abs(k.Y+k.H-l.Y(p)) > 1e-9 {
			t.Errorf("at %v the knob's aft edge is at %g, the mark at %g", p, k.Y+k.H, l.Y(p))
		}
	}
	if got := l.Position(-1000); got != 80 {
		t.Errorf("dragged beyond the end it stands at %v", got)
	}
}

// The lines on the mixture's knob stand out from its red, held and not (WCAG 2.2,
// success criterion 1.4.11: 3:1).
func TestTheMixturesKnobHasLinesThatAreSeen(t *testing.T) {
	l := Lever{At: Rect{X: 0, Y: 0, W: 200, H: 260}, Control: procedure.Control{ID: procedure.ControlMixture, Kind: procedure.Lever, Travel: 1}}
	for _, dress := range theme.All() {
		for _, held := range []bool{false, true} {
			img := image.NewRGBA(image.Rect(0, 0, 800, 1040))
			const scale = 4 // at which a line is whole pixels
			_, low, _ := l.Track()
			l.Paint(newPen(img, scale, image.Point{}, dress), LeverState{Pixel: int16(2 * (low - l.Y(0.5))), Held: held})
			k := l.Knob(0.5)
			least := 21.0
			for line := range 3 {
				most := 0.0
				for y := int((k.Y + 6 + float64(line)*5) * scale); y < int((k.Y+11+float64(line)*5)*scale); y++ {
					c := img.RGBAAt(int((k.X+k.W/2)*scale), y)
					most = max(most, wcag.Contrast(color.NRGBA{R: c.R, G: c.G, B: c.B, A: 255}, dress.Red))
				}
				least = min(least, most)
			}
			if least < 3 {
				t.Errorf("%s, held %v: a line has %.1f:1 to the knob", dress.Name, held, least)
			}
		}
	}
}

// Whatever is drawn must be shown by a tile or lie under a live cell, and no
// pixel may be paid for twice.
func TestTilesShowAllThatIsNotPlainOnce(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		img := image.NewRGBA(image.Rect(0, 0, 300+rng.IntN(200), 200+rng.IntN(150)))
		plain := theme.Dusk.Ground
		draw.Draw(img, img.Rect, image.NewUniform(plain), image.Point{}, draw.Src)
		spot := func() image.Rectangle {
			x, y := rng.IntN(img.Rect.Dx()), rng.IntN(img.Rect.Dy())
			return image.Rect(x, y, x+1+rng.IntN(90), y+1+rng.IntN(60)).Intersect(img.Rect)
		}
		for range rng.IntN(8) {
			draw.Draw(img, spot(), image.NewUniform(theme.Dusk.Ink), image.Point{}, draw.Src)
		}
		var live []image.Rectangle
		for range rng.IntN(5) {
			live = append(live, spot())
		}
		shown := image.NewAlpha(img.Rect)
		for _, r := range tilesFor(img, plain, live) {
			for y := r.Min.Y; y < r.Max.Y; y++ {
				for x := r.Min.X; x < r.Max.X; x++ {
					if shown.AlphaAt(x, y).A != 0 {
						t.Fatalf("pixel %d, %d is in two tiles", x, y)
					}
					shown.SetAlpha(x, y, color.Alpha{A: 1})
				}
			}
		}
		for y := range img.Rect.Dy() {
			for x := range img.Rect.Dx() {
				c := img.RGBAAt(x, y)
				if (c.R != plain.R || c.G != plain.G || c.B != plain.B) && shown.AlphaAt(x, y).A == 0 && !touches(image.Rect(x, y, x+1, y+1), live) {
					t.Fatalf("pixel %d, %d is drawn and not shown", x, y)
				}
			}
		}
	}
}

func TestTextThatDoesNotFitEndsInAnEllipsis(t *testing.T) {
	_, p := sheet()
	if got := p.Clip("Throttle to the prime mark", Body, 90); p.Measure(got, Body) > 90 || got[len(got)-3:] != "…" {
		t.Errorf("clipped to %q, %g wide", got, p.Measure(got, Body))
	}
	for _, l := range p.Wrap("Mixture full forward until the flow levels off, then fully back", Body, 150) {
		if p.Measure(l, Body) > 150 {
			t.Errorf("line %q is wider than asked", l)
		}
	}
	p.Paragraph("Antidisestablishmentarianism and more", 0, 20, 40, 12, 1, Start, Body, p.Ink)
}

// A step that is late and has a key to press has the longest line that the strip
// shows: it stays within the strip, which is 267 wide on the least board.
func TestTheLongestLineOfAStepStaysInTheStrip(t *testing.T) {
	strip := Strip{At: Rect{X: 10, Y: 0, W: 267, H: 600}}
	paint := func(window string) *image.RGBA {
		img := image.NewRGBA(image.Rect(0, 0, 400, 600))
		strip.Paint(newPen(img, 1, image.Point{}, theme.Dusk), StripState{Now: StripNow{Over: "NOW", Title: "Bus volts", Window: window, Late: true}})
		return img
	}
	with, without := paint("press T or the gauge · late · within 20 s"), paint("")
	for y := range 600 {
		for x := int(strip.At.X+strip.At.W) - 8; x < 400; x++ {
			if with.RGBAAt(x, y) != without.RGBAAt(x, y) {
				t.Fatalf("it reaches %d, %d", x, y)
			}
		}
	}
}
