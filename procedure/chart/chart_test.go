package chart_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"kickover/procedure/chart"
	"kickover/procedure/debrief"
	"kickover/procedure/practice/learner"
)

var printed = time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)

// oneRun are the charts of a run: a prime held too long, a slow hand, a step left
// out.
func oneRun(t testing.TB) map[string]*chart.Chart {
	t.Helper()
	r, _ := fly(t, &learner.Hand{
		Prime: 7400 * time.Millisecond, Crank: 6 * time.Second, Think: time.Second,
		Slow: "throttle-prime", Forgets: "mixture-throttle",
	})
	return map[string]*chart.Chart{"vapour": chart.Vapour(r), "timeline": chart.Timeline(r), "prime": chart.Prime(r)}
}

func TestSameChartSameBytes(t *testing.T) {
	write := func(c *chart.Chart) []byte {
		var b bytes.Buffer
		if err := errors.Join(
			c.WritePNG(&b, c.Width, c.Height, 72), c.WriteSVG(&b, c.Width, c.Height),
			c.WritePDF(&b, c.Width, c.Height, printed),
		); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	first, second := oneRun(t), oneRun(t)
	for name := range first {
		if !bytes.Equal(write(first[name]), write(second[name])) {
			t.Errorf("%s: the same run gave two different files", name)
		}
	}
}

func TestImageHasTheAskedSize(t *testing.T) {
	for name, c := range oneRun(t) {
		for _, scale := range []float64{1, 1.5, 2} {
			got := c.Image(400, 240, scale).Bounds().Size()
			want := image.Pt(int(400*scale), int(240*scale))
			if got != want {
				t.Errorf("%s at scale %g: %v, want %v", name, scale, got, want)
			}
		}
	}
}

// TestScreenAndPaperAgree renders the PDF with poppler, a program that shares no
// code with this one, and compares it with the picture for the screen. Both are
// blurred by their own smoothing of edges, so a small difference is allowed.
func TestScreenAndPaperAgree(t *testing.T) {
	for name, c := range oneRun(t) {
		dir := t.TempDir()
		file := filepath.Join(dir, name+".pdf")
		var b bytes.Buffer
		if err := c.WritePDF(&b, c.Width, c.Height, printed); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("pdftoppm", "-r", "72", "-png", "-singlefile", file, filepath.Join(dir, name)).CombinedOutput()
		if err != nil {
			t.Fatalf("pdftoppm, of poppler-utils, is needed to look at the PDF: %v\n%s", err, out)
		}
		f, err := os.Open(filepath.Join(dir, name+".png"))
		if err != nil {
			t.Fatal(err)
		}
		page, err := png.Decode(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		if off := meanDifference(page, c.Image(c.Width, c.Height, 1)); off > 3 {
			t.Errorf("%s: the page differs from the screen by %.2f of 255 on average", name, off)
		}
	}
}

func meanDifference(a, b image.Image) float64 {
	var sum, n float64
	r := a.Bounds().Intersect(b.Bounds())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			ga := color.GrayModel.Convert(a.At(x, y)).(color.Gray).Y
			gb := color.GrayModel.Convert(b.At(x, y)).(color.Gray).Y
			sum += math.Abs(float64(ga) - float64(gb))
			n++
		}
	}
	return sum / n
}

func TestSVGIsWellFormedAndNeedsNoFont(t *testing.T) {
	for name, c := range oneRun(t) {
		var b bytes.Buffer
		if err := c.WriteSVG(&b, c.Width, c.Height); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), "<title>"+c.Title+"</title>") || !strings.Contains(b.String(), "<desc>") {
			t.Errorf("%s: says nothing to somebody who cannot see it", name)
		}
		d := xml.NewDecoder(&b)
		paths := 0
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if e, ok := tok.(xml.StartElement); ok {
				if e.Name.Local == "text" {
					t.Errorf("%s: has text that needs a font", name)
				}
				if e.Name.Local == "path" {
					paths++
				}
			}
		}
		if paths < 20 {
			t.Errorf("%s: only %d paths", name, paths)
		}
	}
}

func TestAltSaysWhatTheDrawingShows(t *testing.T) {
	charts := oneRun(t)
	for name, want := range map[string][]string{
		"vapour":   {"1.3 to 7.1 %", "Attempt 1: 7.4 s of prime"},
		"timeline": {"Prime: late 2.4 s.", "Throttle to the prime mark: late", "Brakes held: on time."},
		"prime":    {"held 7.4 s", "window is 3.5 to 5.0 s", "levelled off at"},
	} {
		for _, words := range want {
			if !strings.Contains(charts[name].Alt, words) {
				t.Errorf("%s: %q does not say %q", name, charts[name].Alt, words)
			}
		}
	}
}

// TestNothingToShow draws a run that was ended before anything was done: the
// charts must say so rather than fail.
func TestNothingToShow(t *testing.T) {
	empty := &debrief.Report{Band: debrief.Band{Lean: 1.3, Rich: 7.1}}
	for _, c := range []*chart.Chart{chart.Vapour(empty), chart.Timeline(empty), chart.Prime(empty)} {
		if got := c.Image(300, 200, 1).Bounds().Size(); got != image.Pt(300, 200) {
			t.Errorf("%s: %v", c.Title, got)
		}
	}
	if alt := chart.Prime(empty).Alt; alt != "There was no prime." {
		t.Errorf("alt of no prime: %q", alt)
	}
}

// TestAnySize draws at sizes a window may pass through while it is resized.
func TestAnySize(t *testing.T) {
	for name, c := range oneRun(t) {
		for _, size := range [][2]float64{{0, 0}, {1, 1}, {40, 900}, {900, 40}, {2000, 30}} {
			if c.Image(size[0], size[1], 1) == nil {
				t.Errorf("%s at %v: no image", name, size)
			}
		}
	}
}

// BenchmarkImage is what a screen waits for: a chart of its size at a scale of 1.5.
func BenchmarkImage(b *testing.B) {
	for name, c := range oneRun(b) {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				c.Image(c.Width, c.Height, 1.5)
			}
		})
	}
}
