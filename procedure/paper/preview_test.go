package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// everything is one of each that is printed.
func everything(t testing.TB) map[string]interface {
	Write(io.Writer) error
	Preview(dpi int) ([]image.Image, error)
} {
	t.Helper()
	lib := brindle180(t)
	cold, _ := lib.Flow("cold")
	marks, err := MarksOf(lib.Aircraft, "", "", A4, printed)
	if err != nil {
		t.Fatal(err)
	}
	return map[string]interface {
		Write(io.Writer) error
		Preview(dpi int) ([]image.Image, error)
	}{
		"record": filled(t, A4), "marks": marks, "card": Card{Aircraft: lib.Aircraft, Flow: cold, Sheet: A5, Date: printed},
	}
}

// The preview must be what is printed: the same pages as poppler makes of the
// PDF. Both smooth edges in their own way, so squares of four millimetres are
// compared by how dark they are.
func TestPreviewIsThePrint(t *testing.T) {
	const dpi = 144
	for name, doc := range everything(t) {
		pages, err := doc.Preview(dpi)
		if err != nil {
			t.Fatal(err)
		}
		file := document(t, doc.Write)
		for i, page := range pages {
			to := fmt.Sprintf("%s-%d", file, i)
			run(t, "pdftoppm", "-r", strconv.Itoa(dpi), "-png", "-singlefile", "-f", strconv.Itoa(i+1), "-l", strconv.Itoa(i+1), file, to)
			f, err := os.Open(to + ".png")
			if err != nil {
				t.Fatalf("%s: the preview has page %d and the PDF has not: %v", name, i+1, err)
			}
			print, err := png.Decode(f)
			f.Close()
			if err != nil {
				t.Fatal(err)
			}
			if off, at := worstSquare(page, print, dpi*4/25); off > 12 {
				t.Errorf("%s, page %d: a square at %v differs from the print by %.1f of 255", name, i+1, at, off)
			}
		}
		if info := strings.Join(strings.Fields(run(t, "pdfinfo", file)), " "); !strings.Contains(info, fmt.Sprintf("Pages: %d ", len(pages))) {
			t.Errorf("%s: %d pages in the preview: %s", name, len(pages), info)
		}
	}
}

// worstSquare is the largest difference in darkness between squares of two
// pictures, and where it is.
func worstSquare(a, b image.Image, side int) (worst float64, at image.Point) {
	r := a.Bounds().Intersect(b.Bounds())
	for y := r.Min.Y; y+side <= r.Max.Y; y += side {
		for x := r.Min.X; x+side <= r.Max.X; x += side {
			square := image.Rect(x, y, x+side, y+side)
			if off := math.Abs(darkness(a, square) - darkness(b, square)); off > worst {
				worst, at = off, square.Min
			}
		}
	}
	return worst, at
}

func darkness(img image.Image, r image.Rectangle) float64 {
	var sum float64
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			sum += 255 - float64(color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y)
		}
	}
	return sum / float64(r.Dx()*r.Dy())
}

// A viewer must not shrink the page (ISO 32000-1, table 150), and the file must
// still be in order: its last number is where its table stands (7.5.5), and
// poppler has nothing to complain of.
func TestViewersAreAskedNotToScale(t *testing.T) {
	for name, doc := range everything(t) {
		var b bytes.Buffer
		if err := doc.Write(&b); err != nil {
			t.Fatal(err)
		}
		file := b.Bytes()
		if !bytes.Contains(file, []byte("/Type /Catalog\n/ViewerPreferences <</PrintScaling /None>>\n")) {
			t.Errorf("%s does not ask to be printed at 100 %%", name)
		}
		found := regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n$`).FindSubmatch(file)
		if found == nil {
			t.Fatalf("%s does not end as a PDF does", name)
		}
		at, _ := strconv.Atoi(string(found[1]))
		if !bytes.HasPrefix(file[at:], []byte("xref\n")) {
			t.Errorf("%s: its table is not where it says", name)
		}
		if out := run(t, "pdfinfo", document(t, doc.Write)); strings.Contains(out, "Error") || strings.Contains(out, "Warning") {
			t.Errorf("%s: %s", name, out)
		}
	}
}

// A file that does not look as expected is left alone.
func TestAtActualSizeLeavesWhatItDoesNotKnow(t *testing.T) {
	for _, s := range []string{
		"", "startxref\n", "/Type /Catalog\n", "/Type /Catalog\nendobj\nxref\nstartxref\n999\n", "startxref\n0\n/Type /Catalog\n",
		"/Type /Catalog\nendobj\nendobj\nxref\nstartxref\n29\n", "/Type /Catalog\nstartxref\n-5\n",
	} {
		if got := atActualSize([]byte(s)); string(got) != s {
			t.Errorf("%q became %q", s, got)
		}
	}
}
