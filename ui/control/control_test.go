package control

import (
	"context"
	"math"
	"strings"
	"testing"
	"testing/synctest"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

// An open fold shows its text whole, however narrow it is.
func TestAnOpenFoldCutsNothing(t *testing.T) {
	test.NewTempApp(t)
	const text = "Fuel dripping or a strong smell of it, black smoke, a start that was tried again and again with the mixture forward."
	for _, width := range []float32{300, 560} {
		f := NewFold(theme.Dusk, "Flooded", text, "no prime", func() {})
		f.Open(true)
		w := test.NewWindow(f)
		w.Resize(fyne.NewSize(width, f.High(width)))
		var shown []string
		bottom := float32(0)
		for _, o := range f.lines.Objects[0].(*fyne.Container).Objects {
			shown = append(shown, o.(*canvas.Text).Text)
			bottom = f.lines.Objects[0].Position().Y + o.Position().Y + o.Size().Height
		}
		if got := strings.Join(shown, " "); got != text {
			t.Errorf("%g wide it shows %q", width, got)
		}
		if bottom > f.High(width) {
			t.Errorf("%g wide its text ends at %g of %g", width, bottom, f.High(width))
		}
		f.Open(false)
		if f.High(width) != foldClosed {
			t.Error("a closed fold keeps its height")
		}
		w.Close()
	}
}

// The keys that mean the same everywhere get through whatever has the focus, and
// those that write do not.
func TestKeysWithoutAMeaningReachTheWindow(t *testing.T) {
	test.NewTempApp(t)
	e := NewEntry("")
	b := NewButton(theme.Dusk, "Press", "", Plain, func() {})
	s := NewStepper(theme.Dusk, "", []string{"1", "2"}, 0, nil)
	w := test.NewWindow(container.NewWithoutLayout(e, b, s))
	defer w.Close()
	var heard []fyne.KeyName
	w.Canvas().SetOnTypedKey(func(k *fyne.KeyEvent) { heard = append(heard, k.Name) })
	for _, f := range []fyne.Focusable{e, b, s} {
		heard = nil
		w.Canvas().Focus(f)
		for _, k := range []fyne.KeyName{fyne.KeyF1, fyne.KeyEscape, fyne.KeyRight} {
			f.TypedKey(&fyne.KeyEvent{Name: k})
		}
		want := 2
		if f == fyne.Focusable(b) {
			want = 3 // a button alone has no use for an arrow
		}
		if len(heard) != want {
			t.Errorf("%T passes on %v", f, heard)
		}
	}
	if s.Selected() != 1 {
		t.Error("the arrow did not step")
	}
}

// What gets the focus is scrolled into sight.
func TestFocusIsSeen(t *testing.T) {
	test.NewTempApp(t)
	last := NewButton(theme.Dusk, "Last", "", Plain, func() {})
	page := Flow(200, func(width float32) float32 {
		Put(last, 0, 900, width, 44)
		return 960
	}, last)
	w := test.NewWindow(Scrolling(page))
	defer w.Close()
	w.Resize(fyne.NewSize(300, 300))
	w.Canvas().Focus(last)
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(last).Y
	if at < 0 || at+44 > 300 {
		t.Errorf("the focus stands at %g of a window 300 high", at)
	}
}

// Something that takes long leaves the window's goroutine alone, tells how far it
// is, and is not shown once it was called off.
func TestWorkIsDoneBesideTheWindow(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		test.NewTempApp(t)
		var w Work
		release, told, shown := make(chan struct{}), make(chan string, 8), make(chan string, 8)
		begin := func(name string) {
			w.Start(func(ctx context.Context, news func(string)) func() {
				news(name + " is half done")
				select {
				case <-release:
				case <-ctx.Done():
				}
				return func() { shown <- name }
			}, func(words string) { told <- words })
		}
		begin("first") // returns while the first is still being done
		if !w.Busy() {
			t.Error("what is not done yet is over")
		}
		begin("second")
		close(release)
		if got := <-shown; got != "second" {
			t.Errorf("shown is %q, want what was asked for last", got)
		}
		heard := map[string]bool{}
		for len(told) > 0 {
			heard[<-told] = true
		}
		if !heard[""] || len(heard) < 2 || w.Busy() {
			t.Errorf("told %v, busy %v", heard, w.Busy())
		}

		// No time passes in a bubble while something is done.
		w.Start(func(context.Context, func(string)) func() { return func() { shown <- "at once" } }, func(string) { t.Error("a moment is no waiting") })
		if got := <-shown; got != "at once" {
			t.Errorf("shown is %q", got)
		}
	})
}

// On a first frame software OpenGL makes machine code for every kind of picture,
// and one whose width or height is a power of two is of another kind (Mesa 22.3,
// struct lp_static_texture_state). No size of type has such a height, at the usual
// scale, and no hairline.
func TestAFirstFrameNeedsOneKindOfPicture(t *testing.T) {
	test.NewTempApp(t)
	power := func(n int) bool { return n&(n-1) == 0 }
	for _, size := range []float32{Small, Label, Body, Title, Figure} {
		const below = 1 // that the toolkit leaves for descenders
		line := Text("Aeroplane", size, fonts.WeightRegular, theme.Dusk.Ink)
		if high := int(math.Ceil(float64(line.MinSize().Height + below))); power(high) {
			t.Errorf("a line of size %g is %d pixels high", size, high)
		}
	}
	if b := Hairline(theme.Dusk.Line).Image.Bounds(); power(b.Dx()) || power(b.Dy()) {
		t.Errorf("a hairline is a picture of %v", b)
	}
}

// A picker as wide as it says shows its value whole, and not a word is cut.
func TestAPickerSaysHowWideItsValueIs(t *testing.T) {
	test.NewTempApp(t)
	const value = "28 September 2026, 09:30, demonstrate"
	p := NewPicker(theme.Day, "Run", []string{"none", value}, 1, nil)
	test.NewWindow(p)
	for width, whole := range map[float32]bool{p.Whole(): true, p.Whole() - 2: false} {
		p.Resize(fyne.NewSize(width, 44))
		if (p.value.Text == value) != whole {
			t.Errorf("%g wide it shows %q", width, p.value.Text)
		}
		if at := p.value.Position().X + p.value.MinSize().Width; at > p.mark.Position().X {
			t.Errorf("%g wide its value ends at %g, its mark begins at %g", width, at, p.mark.Position().X)
		}
	}
}
