package timer

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/timer"
	"kickover/ui/panel"
	"kickover/ui/theme"
	"kickover/ui/theme/wcag"
)

// stopped is a ledger whose time stands until it is moved.
type stopped struct {
	*world
	at time.Duration
}

func (s *stopped) Now() time.Duration { return s.at }

// stage is a screen in a window, its time in the test's hand.
type stage struct {
	*Screen
	clock *stopped
	w     fyne.Window
}

func show(t *testing.T, size fyne.Size, dress theme.Tokens) *stage {
	t.Helper()
	return showOf(t, library(), size, dress)
}

func showOf(t *testing.T, lib *procedure.Library, size fyne.Size, dress theme.Tokens) *stage {
	t.Helper()
	a := test.NewApp()
	a.Settings().SetTheme(dress.Fyne())
	clock := &stopped{world: newWorld()}
	s, err := newScreen(Options{
		Dress: dress, Library: lib, Registration: "BR-180", Celsius: -4, AltitudeM: math.NaN(), Ledger: clock,
		Redress: func(d theme.Tokens) { a.Settings().SetTheme(d.Fyne()) },
	})
	if err != nil {
		t.Fatal(err)
	}
	w := test.NewWindow(s.Content())
	w.SetPadded(false)
	w.Resize(size)
	s.Focus(w)
	t.Cleanup(func() { w.Close(); s.driver.errands.close() })
	g := &stage{Screen: s, clock: clock, w: w}
	g.pass(0)
	return g
}

// pass lets time go by and shows what there is to show then.
func (g *stage) pass(d time.Duration) {
	g.clock.at += d
	for {
		select {
		case f := <-g.driver.in:
			f()
			continue
		default:
		}
		break
	}
	g.driver.carry(g.driver.machine.Apply(timer.Event{Kind: timer.Tick, At: g.clock.at}))
	g.latest.Store(g.driver.picture())
	g.again()
}

func (g *stage) space(d time.Duration) {
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(d)
	g.surface.KeyUp(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(0)
}

func (g *stage) state() timer.State { return g.latest.Load().State }

func TestSpaceIsTheButton(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(2 * sec)
	if got := g.state(); got != timer.Priming {
		t.Errorf("space down: %s", got)
	}
	g.surface.KeyUp(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(0)
	if p := g.latest.Load(); p.State != timer.Setting || p.Clock.Elapsed != 2*sec {
		t.Errorf("space up: %s, %v given", p.State, p.Clock.Elapsed)
	}
}

// A window may be pressed before its keys are stamped: that press and its release
// count as the toolkit tells them, and no later one does.
func TestAPressBeforeKeysAreStamped(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	k := keyboard{g.Screen, time.Now()}
	k.Keys([]fyne.KeyName{fyne.KeySpace})
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(2 * sec)
	if got := g.state(); got != timer.Priming {
		t.Fatalf("the press was lost: %s", got)
	}
	g.surface.KeyUp(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(sec)
	if p := g.latest.Load(); p.State != timer.Setting || p.Clock.Elapsed != 2*sec {
		t.Fatalf("its release was lost: %s, %v given", p.State, p.Clock.Elapsed)
	}
	k.Key(fyne.KeySpace, true, time.Since(k.began))
	k.Key(fyne.KeySpace, false, time.Since(k.began))
	g.pass(sec)
	if got := g.state(); got != timer.Looking {
		t.Fatalf("a stamped tap: %s", got)
	}
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(0)
	g.surface.KeyUp(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(0)
	if p := g.latest.Load(); p.Area == nil || p.Area.Looks != 0 {
		t.Errorf("the toolkit's own was taken beside the stamped one: %+v", p.Area)
	}
}

func TestAnyMouseButtonAnywhereIsTheButton(t *testing.T) {
	for _, b := range []desktop.MouseButton{desktop.MouseButtonPrimary, desktop.MouseButtonSecondary, desktop.MouseButtonTertiary} {
		for _, at := range []fyne.Position{{X: 2, Y: 2}, {X: 300, Y: 300}, {X: 1020, Y: 598}} {
			g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
			e := &desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: at}, Button: b}
			g.surface.MouseDown(e)
			g.pass(sec)
			if got := g.state(); got != timer.Priming {
				t.Errorf("button %v at %v: %s", b, at, got)
			}
			g.surface.MouseUp(e)
			g.surface.DragEnd() // as the toolkit does after a pointer that moved
			g.pass(0)
			if got := g.state(); got != timer.Setting {
				t.Errorf("button %v at %v let go: %s", b, at, got)
			}
		}
	}
}

// A situation is chosen where its name stands, and only before the prime.
func TestSituationsAreChosen(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	places := g.view.chipPlates(g.view.chips.Value())
	if len(places) != 2 {
		t.Fatalf("%d situations", len(places))
	}
	k := float32(g.view.w) / 1024
	at := fyne.NewPos(float32(places[1].at.X+10)/k, float32(places[1].at.Y+10)/k)
	g.surface.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: at}})
	g.pass(0)
	if p := g.latest.Load(); p.Flow.ID != "flooded" || p.State != timer.Ready {
		t.Errorf("%s, %s", p.Flow.ID, p.State)
	}
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.Key1})
	g.pass(0)
	if p := g.latest.Load(); p.Flow.ID != "cold" {
		t.Errorf("key 1 chooses %s", p.Flow.ID)
	}
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.Key9})
	g.pass(0)
	if p := g.latest.Load(); p.Flow.ID != "cold" {
		t.Errorf("a key without a situation chooses %s", p.Flow.ID)
	}
}

// Control with a digit leads from place to place elsewhere, and chooses no situation
// here.
func TestAKeyWithControlIsNotTheTimers(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	flow := func(k fyne.KeyName) procedure.FlowID {
		g.surface.KeyDown(&fyne.KeyEvent{Name: k})
		g.pass(0)
		return g.latest.Load().Flow.ID
	}
	flow(desktop.KeyControlLeft)
	if got := flow(fyne.Key2); got != "cold" {
		t.Errorf("with Control, 2 chooses %s", got)
	}
	g.surface.KeyUp(&fyne.KeyEvent{Name: desktop.KeyControlLeft})
	if got := flow(fyne.Key2); got != "flooded" {
		t.Errorf("without, 2 chooses %s", got)
	}
	flow(desktop.KeySuperLeft)
	g.surface.FocusLost() // to what the key opened, which has its release
	if got := flow(fyne.Key1); got != "cold" {
		t.Errorf("after the keyboard was away, 1 chooses %s", got)
	}
}

func TestKeys(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	key := func(k fyne.KeyName) *picture {
		g.surface.KeyDown(&fyne.KeyEvent{Name: k})
		g.pass(0)
		return g.latest.Load()
	}
	if p := key(fyne.KeyUp); p.Celsius != -3 {
		t.Errorf("warmer: %v", p.Celsius)
	}
	if p := key(fyne.KeyDown); p.Celsius != -4 {
		t.Errorf("colder: %v", p.Celsius)
	}
	if p := key(fyne.KeyRight); p.AltitudeM != 0 {
		t.Errorf("an altitude that was not known begins at %v", p.AltitudeM)
	}
	if p := key(fyne.KeyRight); p.AltitudeM != 50 {
		t.Errorf("higher: %v", p.AltitudeM)
	}
	if p := key(fyne.KeyM); !p.Latch {
		t.Error("M does not change how the prime is given")
	}
	key(fyne.KeyM)
	key(fyne.KeyH)
	if !g.view.helped.Visible() {
		t.Error("no help")
	}
	key(fyne.KeyEscape)
	if g.view.helped.Visible() {
		t.Error("the help stays")
	}
	g.space(4 * sec)
	if p := key(fyne.KeyU); p.State != timer.Ready {
		t.Errorf("undone: %s", p.State)
	}
}

func TestFocusLostIsTold(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
	g.pass(2 * sec)
	g.surface.FocusLost()
	g.pass(sec)
	if p := g.latest.Load(); p.State != timer.Setting || p.Clock.Elapsed != 2*sec {
		t.Errorf("%s, %v given; want setting, 2s", p.State, p.Clock.Elapsed)
	}
}

// At 80 cm the numerals must be 30 mm high on a screen of 13 inches. Such a
// screen of 1024 by 600 is 167 mm high, one of 1280 by 800 is 175 mm.
func TestNumeralsAreThirtyMillimetres(t *testing.T) {
	for _, c := range []struct {
		size   fyne.Size
		screen float64 // mm high
	}{{fyne.NewSize(1024, 600), 166.9}, {fyne.NewSize(1280, 800), 175.1}, {fyne.NewSize(1366, 768), 161.9}} {
		for what, elapsed := range map[string]time.Duration{"2.4": 2450 * ms, "12": 12450 * ms} {
			g := show(t, c.size, theme.Day)
			g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeySpace})
			g.pass(elapsed)
			img := g.w.Canvas().Capture()
			high := inkHeight(img, g.view, theme.Day.Ink)
			if mm := float64(high) * c.screen / float64(img.Bounds().Dy()); mm < 30 {
				t.Errorf("%v: %q is %d pixels or %.1f mm high, want 30", c.size, what, high, mm)
			}
		}
	}
}

// inkHeight is how high the ink stands in the middle of the clock.
func inkHeight(img image.Image, v *view, ink color.NRGBA) int {
	k := float64(img.Bounds().Dy()) / v.h
	x0, x1 := int((v.watchX-v.watchR*0.7)*k), int((v.watchX+v.watchR*0.7)*k)
	y0, y1 := int((v.watchY-v.watchR*0.36)*k), int((v.watchY+v.watchR*0.40)*k)
	first, last := -1, -1
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			if r, g, b, _ := img.At(x, y).RGBA(); near(r, ink.R) && near(g, ink.G) && near(b, ink.B) {
				if first < 0 {
					first = y
				}
				last = y
			}
		}
	}
	return last - first + 1
}

func near(v uint32, want uint8) bool { return math.Abs(float64(v>>8)-float64(want)) < 12 }

// The lines below the button keep clear of what may be chosen there.
func TestLinesKeepClearOfTheSituations(t *testing.T) {
	const apart = 7 // units, of which a pixel is a little more
	for _, size := range []fyne.Size{{Width: 1024, Height: 600}, {Width: 1280, Height: 800}} {
		g := showOf(t, shipped.Brindle180(t), size, theme.Day)
		for i, f := range g.latest.Load().Flows {
			g.choose(i)
			g.pass(0)
			top := g.view.chipsArea(situationRows).Y
			r := panel.Rect{X: g.view.textAt.X, Y: top - apart, W: g.view.textAt.W, H: apart - 2}
			if c := contrastIn(g, r); c > 1.01 {
				t.Errorf("%v, %s: something stands within %d units of the situations", size, f.ID, apart)
			}
			r.Y, r.H = top-60, 60-apart
			if c := contrastIn(g, r); c < 4.5 {
				t.Errorf("%v, %s: no lines stand above the situations", size, f.ID)
			}
		}
	}
}

// colours lists the colours of a picture.
func colours(img image.Image) map[color.NRGBA]bool {
	out := map[color.NRGBA]bool{}
	bounds := img.Bounds()
	flat := image.NewNRGBA(bounds)
	draw.Draw(flat, bounds, img, bounds.Min, draw.Src)
	for i := 0; i < len(flat.Pix); i += 4 {
		out[color.NRGBA{R: flat.Pix[i], G: flat.Pix[i+1], B: flat.Pix[i+2], A: 255}] = true
	}
	return out
}

// N goes round the dresses, and the picture with it; what stood still is drawn
// anew too.
func TestDressesGoRound(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Dusk)
	for _, want := range []theme.Tokens{theme.Day, theme.Night, theme.Dusk} {
		g.surface.KeyDown(&fyne.KeyEvent{Name: fyne.KeyN})
		g.pass(0)
		img := g.w.Canvas().Capture()
		for _, at := range []image.Point{{X: 3, Y: 3}, {X: 1020, Y: 596}, {X: 580, Y: 300}} {
			// The toolkit's OpenGL painter clears to the very ground, the tests' a step below.
			if got := color.NRGBAModel.Convert(img.At(at.X, at.Y)).(color.NRGBA); away(got.R, want.Ground.R) > 1 || away(got.G, want.Ground.G) > 1 || away(got.B, want.Ground.B) > 1 {
				t.Errorf("%s: the ground at %v is %v", want.Name, at, img.At(at.X, at.Y))
			}
		}
	}
}

func away(a, b uint8) int { return max(int(a)-int(b), int(b)-int(a)) }

// At night the pointer is hidden or dim, wherever it is.
func TestTheNightsPointerIsDim(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Night)
	at := func(x, y float32) desktop.Cursor {
		g.surface.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x, y)}})
		return g.surface.Cursor()
	}
	if c := at(300, 300); c != desktop.HiddenCursor {
		t.Errorf("over the clock the pointer is %v", c)
	}
	img, _, _ := at(1000, 30).Image() // the air's plate
	if img == nil {
		t.Fatal("over a plate there is no pointer of the screen's own")
	}
	onGround := image.NewNRGBA(img.Bounds()) // as its thin edges are seen
	draw.Draw(onGround, img.Bounds(), image.NewUniform(theme.Night.Ground), image.Point{}, draw.Src)
	draw.Draw(onGround, img.Bounds(), img, img.Bounds().Min, draw.Over)
	for c := range colours(onGround) {
		if wcag.Luminance(c) > wcag.Luminance(theme.Night.Ink) {
			t.Errorf("the pointer's %v is brighter than the ink", c)
		}
	}
}

// The clock begins below the plates at the ends of the top line, and does not
// cover their edges.
func TestThePlatesAtTheTopAreWhole(t *testing.T) {
	for _, size := range []fyne.Size{{Width: 1024, Height: 600}, {Width: 1280, Height: 800}, {Width: 1600, Height: 900}} {
		g := show(t, size, theme.Day)
		left, watch := g.view.headEnd(false), g.view.watch.Area
		if bottom := left.Y + left.H + 1; bottom > watch.Y && watch.X < left.X+left.W {
			t.Errorf("%v: the plate ends at %g, the clock begins at %g", size, bottom, watch.Y)
		}
	}
}

// A notice is shown whole, in two lines where it needs them, of which the upper one
// is as high as the foot's keys and ends before them.
func TestNoticesAreShownWhole(t *testing.T) {
	g := show(t, fyne.NewSize(1024, 600), theme.Day)
	for _, long := range []string{
		"The sound device went away, so lines are shown and not spoken; everything else works. It is opened again by itself when it is back.",
		"The computer's clock went back since the last attempt. How long ago that was cannot be known: the starter's rest is counted from the restart.",
	} {
		for _, undo := range []bool{false, true} {
			var lines []string
			clear := false
			foot := panel.NewInlay(g.view.board, func(p *panel.Pen, s footState) {
				body, keys := panel.Body.Sized(20), g.view.footKeyAt(2).X
				lower := g.view.w - 2*edge
				if s.undo {
					lower = g.view.undoAt().X - 20 - edge
				}
				lines = s.noticed(p, body, keys-16-edge, lower)
				clear = len(lines) == 1 || len(p.Wrap(lines[0], body, keys-edge-noticeIn)) == 1
				g.view.paintFoot(p, s)
			})
			foot.Area = g.view.foot.Area
			foot.Show(footState{notice: long, undo: undo, free: true})
			g.view.board.Rebuild()
			if len(lines) > 2 || undo && len(lines) != 2 || strings.Join(lines, " ") != long {
				t.Errorf("undo %v: shown %q", undo, lines)
			}
			if !clear {
				t.Errorf("undo %v: %q runs under a key", undo, lines[0])
			}
		}
	}
}

func BenchmarkPicture(b *testing.B) {
	a := test.NewApp()
	a.Settings().SetTheme(theme.Day.Fyne())
	clock := &stopped{world: newWorld()}
	s, err := newScreen(Options{Dress: theme.Day, Library: library(), Ledger: clock, Celsius: -4, AltitudeM: math.NaN()})
	if err != nil {
		b.Fatal(err)
	}
	w := test.NewWindow(s.Content())
	w.Resize(fyne.NewSize(1024, 600))
	s.driver.machine.Apply(timer.Event{Kind: timer.Press})
	for b.Loop() {
		clock.at += time.Second / 30
		s.show(s.driver.picture())
	}
}
