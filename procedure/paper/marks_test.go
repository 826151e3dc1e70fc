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
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
)

// brindle180 is what most papers here are of.
var brindle180 = shipped.Brindle180

var printed = time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)

// document writes a PDF to a file for poppler's tools, which share no code with
// this program.
func document(t testing.TB, write func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "page.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

func run(t testing.TB, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s, of poppler-utils, is needed to look at the PDF: %v\n%s", name, err, out)
	}
	return string(out)
}

const dpi = 600

// cropTop and cropHeight are the part of the page that is rendered, in mm: what is
// measured lies in it.
const (
	cropTop    = 88.0
	cropHeight = 84.0
)

// rendered is that part of the first page at 600 dots per inch.
func rendered(t testing.TB, file string) image.Image {
	t.Helper()
	to := strings.TrimSuffix(file, ".pdf")
	run(t, "pdftoppm", "-r", fmt.Sprint(dpi), "-gray", "-png",
		"-y", fmt.Sprint(math.Round(cropTop*dpi/25.4)), "-H", fmt.Sprint(math.Round(cropHeight*dpi/25.4)), "-singlefile", file, to)
	f, err := os.Open(to + ".png")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// uprights measures where dark lines cross a height of the page: the middle of
// each, in mm from the page's left edge, weighed by how dark each dot is.
func uprights(img image.Image, y, from, to float64) []float64 {
	const mm = dpi / 25.4
	row := int((y - cropTop) * mm)
	var out []float64
	var sum, weight float64
	for x := int(from * mm); x <= int(to*mm); x++ {
		dark := 255 - float64(color.GrayModel.Convert(img.At(x, row)).(color.Gray).Y)
		if dark > 40 {
			sum += dark * (float64(x) + .5)
			weight += dark
			continue
		}
		if weight > 0 {
			out = append(out, sum/weight/mm)
			sum, weight = 0, 0
		}
	}
	return out
}

// The strip is measured as a person would measure the print, for both edges, both
// units and both sheets: each distance within 0.1 mm.
func TestMarksAreTrueToScale(t *testing.T) {
	const allowed = 0.1
	a := brindle180(t).Aircraft
	for _, c := range []struct {
		edge  Edge
		unit  Unit
		sheet Sheet
	}{{Rear, Millimetres, A4}, {Front, Inches, Letter}, {Front, Millimetres, A4}, {Rear, Inches, Letter}} {
		m, err := MarksOf(a, c.edge, c.unit, c.sheet, printed)
		if err != nil {
			t.Fatal(err)
		}
		img := rendered(t, document(t, m.Write))
		name := fmt.Sprint(c.edge, " edge, ", c.unit, ", ", c.sheet.Name)
		lines := uprights(img, markRow, marksMargin, m.zero()+m.Travel)
		want := []float64{0, 9, 28} // the aircraft's file: start mark 9 mm, prime mark 28 mm from the stop
		if len(lines) != len(want) {
			t.Fatalf("%s: lines at %v, want three", name, lines)
		}
		for i, w := range want {
			if got := lines[i] - lines[0]; math.Abs(got-w) > allowed {
				t.Errorf("%s: a mark %.3f mm from zero, want %g", name, got, w)
			}
		}
		for _, b := range []struct{ row, length float64 }{{bar100Row, 100}, {bar4inRow, 101.6}} {
			ends := uprights(img, b.row-barHeight+.3, marksMargin-3, c.sheet.Width-5)
			if len(ends) != 2 {
				t.Fatalf("%s: bar ends at %v", name, ends)
			}
			if got := ends[1] - ends[0]; math.Abs(got-b.length) > allowed {
				t.Errorf("%s: the bar of %g mm measures %.3f mm", name, b.length, got)
			}
		}
	}
}

func TestMarksSayWhatMatters(t *testing.T) {
	for _, c := range []struct {
		edge Edge
		unit Unit
		says []string
	}{
		{Rear, Millimetres, []string{"touches the rear edge", "28.0 mm", "9.0 mm"}},
		{Front, Inches, []string{"touches the front edge", "1.102 in", "(28.0 mm)", "0.354 in", "(9.0 mm)"}},
	} {
		m, err := MarksOf(brindle180(t).Aircraft, c.edge, c.unit, A4, printed)
		if err != nil {
			t.Fatal(err)
		}
		text := words(t, document(t, m.Write))
		for _, s := range append(c.says, "Print at 100 %", "check bar: 100 mm", "check bar: 4 inches (101.6 mm)",
			"needs whoever may approve it", "own handbook rules", "14 March 2026") {
			if !strings.Contains(text, s) {
				t.Errorf("%s edge, %s: the page does not say %q", c.edge, c.unit, s)
			}
		}
	}
}

// words is the text of a document with its lines joined.
func words(t testing.TB, file string) string {
	t.Helper()
	return strings.Join(strings.Fields(run(t, "pdftotext", "-layout", file, "-")), " ")
}

func TestMarksRefuseWhatCannotBePrinted(t *testing.T) {
	good, err := MarksOf(brindle180(t).Aircraft, "", "", A4, printed)
	if err != nil {
		t.Fatal(err)
	}
	if good.Edge != Rear || good.Unit != Millimetres {
		t.Errorf("the aircraft's own edge is %q in %q, want rear in mm", good.Edge, good.Unit)
	}
	for name, c := range map[string]struct {
		spoil func(*Marks)
		says  string
	}{
		"an edge that is none":   {func(m *Marks) { m.Edge = "side" }, "choose front or rear"},
		"a unit that is none":    {func(m *Marks) { m.Unit = "cubit" }, "choose mm or in"},
		"a lever off the sheet":  {func(m *Marks) { m.Travel = 300 }, "print on a larger sheet"},
		"no travel":              {func(m *Marks) { m.Travel = math.NaN() }, "measure the travel again"},
		"a mark off the travel":  {func(m *Marks) { m.Marks = []procedure.Mark{{Name: "prime", At: 90}} }, "travels 0 to 80 mm"},
		"a mark that is nowhere": {func(m *Marks) { m.Marks = []procedure.Mark{{Name: "prime", At: procedure.Position(math.NaN())}} }, "travels 0 to 80 mm"},
		"cautions off the sheet": {func(m *Marks) { m.Sheet = A5 }, "print on A4 or letter"},
		"bars off the sheet":     {func(m *Marks) { m.Sheet = Sheet{"slip", 120, 200}; m.Travel = 50 }, "print on A4 or letter"},
	} {
		m := good
		c.spoil(&m)
		var b bytes.Buffer
		if err := m.Write(&b); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want an error that says %q", name, err, c.says)
		}
		if b.Len() > 0 {
			t.Errorf("%s: something was written all the same", name)
		}
	}
	bare := &procedure.Aircraft{Name: "Glider"}
	if _, err := MarksOf(bare, "", "", A4, printed); err == nil || !strings.Contains(err.Error(), "aircraft file") {
		t.Errorf("an aircraft without marks: %v", err)
	}
}
