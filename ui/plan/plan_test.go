package plan

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"kickover/assets"
	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/flowfile"
	"kickover/procedure/planner"
	"kickover/procedure/realstart"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// desk is a screen in a window without a display, with the window's goroutine in
// the test's hands.
type desk struct {
	*Screen
	calls chan func()
}

func newDesk(t *testing.T, starts func() ([]realstart.Start, error)) *desk {
	t.Helper()
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	// The Brindle 180 first.
	if libraries[0].Aircraft.ID != "brindle-180" {
		libraries[0], libraries[1] = libraries[1], libraries[0]
	}
	d := &desk{calls: make(chan func())}
	w := test.NewTempApp(t).NewWindow("plan")
	d.Screen = New(Options{
		Theme: theme.Dusk, Libraries: libraries, Starts: starts, Workers: 2,
		Do: func(f func()) { d.calls <- f }, Precision: brief,
	})
	w.SetContent(d.Content())
	w.Resize(fyne.NewSize(1280, 740))
	d.Focus(w)
	t.Cleanup(func() { d.Close(); d.land(t); w.Close() })
	return d
}

// How well a survey is flown. Its workers fly on while the window's goroutine does
// something else, so one that is to be called off must not come to its end by then:
// a brief one may, an open cell of a thorough one takes 1,067 trials, by the half-width
// of even odds, where a plain one takes 64, and an endless one has no cell done in an hour.
var (
	brief    = planner.Precision{Most: 12}
	thorough = planner.Precision{HalfWidth: 0.03, Most: 1e6}
	endless  = planner.Precision{HalfWidth: 1e-9, Most: 1e6}
)

// land lets the flight that is shown come to its end.
func (d *desk) land(t *testing.T) {
	t.Helper()
	for d.flight.running() {
		(<-d.calls)()
	}
}

// A day is flown as soon as it is asked about, and the aim is the handbook's.
func TestADay(t *testing.T) {
	d := newDesk(t, nil)
	if !d.flight.running() || d.advice.head != "Working it out…" || d.learn != nil {
		t.Fatalf("it shows %q", d.advice.head)
	}
	d.land(t)
	if d.flight.state != flown || d.advice.head != "Aim at 4.2 s" || !strings.Contains(strings.Join(d.advice.lines, " "), planner.HandbookRules) {
		t.Errorf("it shows %q, %v", d.advice.head, d.advice.lines)
	}
	if d.picture.image.Image == nil || d.progress.part != 1 || !strings.Contains(d.picture.title.Text, "Cold start") {
		t.Errorf("picture %q, progress %g", d.picture.title.Text, d.progress.part)
	}
	d.steppers[2].Select(2) // 20 min
	d.land(t)
	if d.advice.head != "Aim at 1.4 s" {
		t.Errorf("twenty minutes after a flight it shows %q", d.advice.head)
	}
}

// Asked another question in mid flight, it drops the old one: what still comes in
// of that is not shown.
func TestAnotherQuestion(t *testing.T) {
	d := newDesk(t, nil)
	d.land(t)
	d.o.Precision = endless
	d.steppers[0].Select(1)
	old := d.flight
	d.o.Precision = brief
	d.steppers[0].Select(0)
	if d.flight == old || !d.flight.running() {
		t.Fatal("the old flight goes on")
	}
	d.land(t)
	for old.running() {
		(<-d.calls)()
	}
	if old.state != calledOff || d.flight.survey.Rows[0].Conditions.OATCelsius != -20 || !strings.Contains(d.picture.title.Text, "−20 °C") {
		t.Errorf("the old flight is %v; shown is %q", old.state, d.picture.title.Text)
	}
}

// A map waits to be asked for, can be called off, and flown after all.
func TestTheMap(t *testing.T) {
	d := newDesk(t, nil)
	d.land(t)
	d.view.Select(viewMap)
	if d.flight.running() || d.flight.of != 273 || d.steppers[0].Visible() {
		t.Fatalf("of %d cells, running %v", d.flight.of, d.flight.running())
	}
	d.o.Precision = thorough
	d.press()
	for d.flight.done == 0 {
		(<-d.calls)()
	}
	d.press()
	d.land(t)
	if d.flight.state != calledOff || d.flight.done >= 273 || !strings.HasPrefix(d.progress.words.Text, "called off") {
		t.Errorf("called off it is %v after %d: %q", d.flight.state, d.flight.done, d.progress.words.Text)
	}
	d.o.Precision = brief
	d.press()
	d.land(t)
	if d.flight.state != flown || d.flight.done != 273 {
		t.Errorf("flown after all it is %v after %d", d.flight.state, d.flight.done)
	}
}

// The aeroplane's own starts are offered, learnt from, and said.
func TestLearning(t *testing.T) {
	start := realstart.Start{
		Registration: "BR-180", Aircraft: "brindle-180", At: time.Date(2026, 2, 1, 9, 0, 0, 0, time.UTC), Situation: "cold",
		OATCelsius: 4, AltitudeM: math.NaN(), SinceShutdown: 14 * time.Hour, ShutdownKnown: true,
		Prime: 3 * time.Second, Attempts: 1, Outcome: procedure.NotStarted,
	}
	useless := start
	useless.Registration, useless.OATCelsius = "BR-181", math.NaN()
	d := newDesk(t, func() ([]realstart.Start, error) { return []realstart.Start{start, useless}, nil })
	if d.learn == nil || len(d.registered) != 1 {
		t.Fatalf("offered are %v", d.registered)
	}
	d.learn.Select(1)
	d.land(t)
	if said := strings.Join(d.advice.lines, " "); d.flight.belief == nil || d.flight.belief.Starts != 1 || !strings.Contains(said, "Learnt from one real start") {
		t.Errorf("it says %q", said)
	}
}

// Records that cannot be read are said, and the plan goes on without them.
func TestRecordsThatCannotBeRead(t *testing.T) {
	d := newDesk(t, func() ([]realstart.Start, error) { return nil, errors.New("the disk is gone") })
	d.land(t)
	if !strings.Contains(d.notice, "the disk is gone") || d.advice.head != "Aim at 4.2 s" {
		t.Errorf("notice %q, advice %q", d.notice, d.advice.head)
	}
}

// A flow that primes not at all gets no aim; strokes are counted.
func TestTheHandPrimer(t *testing.T) {
	d := newDesk(t, nil)
	d.aircraft.Select(1)
	d.land(t)
	if d.advice.head != "Aim at 3 strokes" {
		t.Errorf("cold: %q", d.advice.head)
	}
	d.steppers[0].Select(len(temperatures) - 4)
	d.steppers[2].Select(4)
	d.land(t)
	if d.advice.head != "No aim" {
		t.Errorf("warm: %q, %v", d.advice.head, d.advice.lines)
	}
}

// In a narrow window everything has its place below what comes before it, and
// nothing is wider than the window: the answer stands between the question's halves.
func TestANarrowWindow(t *testing.T) {
	d := newDesk(t, nil)
	d.land(t)
	const width = 731
	high := d.placeNarrow(labels{
		title: control.Text("", control.Title, fonts.WeightBold, theme.Dusk.Ink), aircraft: control.Heading("", theme.Dusk),
		show: control.Heading("", theme.Dusk), day: control.Heading("", theme.Dusk), notice: container.NewWithoutLayout(),
	}, width, 0)
	bottom := float32(0)
	for _, o := range []fyne.CanvasObject{d.aircraft, d.begin, d.picture.box, d.advice.box, d.steppers[0], d.steppers[2]} {
		at, size := o.Position(), o.Size()
		if at.Y < bottom || at.X+size.Width > width-20 {
			t.Errorf("%T stands at %v, %v large, below what ends at %g", o, at, size, bottom)
		}
		bottom = at.Y + size.Height
	}
	if high < bottom {
		t.Errorf("the page is %g high, and its last row ends at %g", high, bottom)
	}
}
