package ui

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"testing"
	"testing/synctest"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/practice"
	"kickover/procedure/practice/learner"
	"kickover/procedure/proficiency"
	"kickover/procedure/rehearsal"
	"kickover/procedure/settings"
	"kickover/ui/classroom"
	"kickover/ui/control"
	"kickover/ui/paper"
	"kickover/ui/people"
	"kickover/ui/plan"
	"kickover/ui/progress"
	"kickover/ui/rehearse"
	"kickover/ui/rehearse/motion"
	"kickover/ui/review"
	"kickover/ui/runs"
	"kickover/ui/theme"
	"kickover/ui/theme/wcag"
)

// This file shows every screen with something on it, and looks at the pictures.

// lived is a window with an invented student's runs in its records.
type lived struct {
	*shell
	runs   []proficiency.Run
	latest *debrief.Report
}

func newLived(t *testing.T) *lived {
	t.Helper()
	s, _ := newShell(t, false)
	l := &lived{shell: s}
	l.fly(t)
	began := time.Date(2026, 3, 14, 9, 30, 0, 0, time.Local)
	student := people.Person{ID: "a", Name: "Ada Fenwick", Role: "student"}
	flow := progress.Flow{Aircraft: "brindle-180", Flow: "cold", Title: "Brindle 180, cold start", Runs: len(l.runs)}
	s.o.Past = func(string, int) ([]runs.Past, error) {
		return []runs.Past{
			{ID: "2", Began: began, Title: flow.Title, Note: "Ada Fenwick  ·  invented run  ·  Evaluate  ·  16 °C  ·  prime 4.2 s  ·  2 attempts", Outcome: procedure.Stopped},
			{ID: "1", Began: began, Title: flow.Title, Note: "Perform  ·  −5 °C  ·  no prime", Outcome: procedure.EndUnsafe},
		}, nil
	}
	s.o.Records = Records{
		Flying: func() people.Person { return student }, FileFor: func(name string) string { return "/home/ada/Documents/" + name },
		People: func() ([]people.Person, error) {
			return []people.Person{student, {ID: "t", Name: "Tom Harrow", Role: "instructor"}}, nil
		},
		Traces: func(string) (string, error) { return "50 runs, 2 sign-offs", nil },
		Flown:  func(string) ([]progress.Flow, error) { return []progress.Flow{flow}, nil },
		Look: func(context.Context, string, progress.Flow, func(string)) (progress.Look, error) {
			return progress.Look{Report: proficiency.Of(l.runs), Next: practice.Next(l.runs, began.AddDate(0, 0, 20), practice.Options{})}, nil
		},
		Runs: func(string, progress.Flow) ([]paper.Run, error) {
			return []paper.Run{{ID: "2", Words: "14 March 2026, 09:30, evaluate"}}, nil
		},
		Make: func(paper.Order) (paper.Document, error) { return nil, errors.New("the page is another test's") },
	}
	s.header.flying(student.Name)
	return l
}

// fly has the student fly a dozen cold starts.
func (l *lived) fly(t *testing.T) {
	t.Helper()
	lib := l.o.Libraries[0]
	flow, ok := lib.Flow("cold")
	if !ok {
		t.Fatal("there is no cold start")
	}
	const of = 12
	for n := 1; n <= of; n++ {
		o := rehearsal.Options{Library: lib, Flow: flow.ID, Phase: procedure.Evaluate, Seed: uint64(n),
			Conditions: rehearsal.Conditions{OATCelsius: 10, PressureAltM: 120, SinceShutdown: 12 * time.Hour, BatteryCharge: .88}}
		events, err := learner.Improving(7, n).Fly(o)
		if err != nil {
			t.Fatal(err)
		}
		report, err := debrief.Of(debrief.Subject{Library: lib, Flow: flow.ID, Phase: o.Phase, OATCelsius: 10, Events: events})
		if err != nil {
			t.Fatal(err)
		}
		l.latest = report
		l.runs = append(l.runs, proficiency.Observe(learner.When(n, of, time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)), flow, o.Phase, report, events))
	}
}

// screens show every screen but the timer, a run in the moments that count.
func (l *lived) screens() map[string]func() {
	all := map[string]func(){
		homePlace: l.showHome, "Runs": l.showRuns, "Progress": l.showProgress, settingsPlace: l.showSettings,
		peopleScreen: l.showPeople, welcomeScreen: l.showWelcome,
		"Paper": l.showPaper, "Paper, a record": func() { l.printOf("a", progress.Flow{Aircraft: "brindle-180", Flow: "cold"}, "2") },
		"Plan": func() { // before any start of it was flown
			screen := plan.New(plan.Options{Theme: l.o.Dress, Libraries: l.o.Libraries, Workers: 1, Do: func(func()) {}})
			l.page("Plan", screen.Content(), screen.Focus)
			l.leave = screen.Close
		},
		"Help": func() { l.showHome(); l.help() },
		"Class": func() {
			open := classroom.NewOpen(classroom.OpenOptions{Theme: l.o.Dress, Networks: []classroom.Network{{Name: "wlan0", Host: "192.168.178.120"}, {Name: "lo", Host: "127.0.0.1"}},
				Aloud: func() {}, Join: func() {}, UseSchool: func(string) error { return nil }})
			l.page(classPlace, open.Content(), open.Focus)
		},
		"Class, joining": func() {
			join := classroom.NewJoin(classroom.JoinOptions{Theme: l.o.Dress, Back: func() {}})
			l.page(classPlace, join.Content(), join.Focus)
		},
		debriefScreen: func() {
			screen := review.New(review.Debriefing{ID: "2", Caption: "Brindle 180 · cold start · 10 °C · Evaluate", Phase: procedure.Evaluate, Report: l.latest},
				review.Options{Theme: l.o.Dress, Again: func() {}, Next: func() {}, NextIs: "Choose the next", Replay: func() {}, Print: func() {}, Sign: &review.Signing{}})
			l.page(debriefScreen, screen.Content(), screen.Focus)
		},
	}
	for _, scene := range []motion.Scene{motion.Prime, motion.Clear, motion.Alert, motion.NoStart, motion.Started} {
		all["Rehearse, "+string(scene)] = func() {
			screen := rehearse.New(rehearse.Options{Theme: l.o.Dress, Now: func() time.Duration { return 0 }, Emit: func(procedure.Event) {},
				SkipRest: func() {}, Pause: func() {}, Leave: func() {}, Finish: func() {}})
			l.wholly(runScreen, screen.Content(), screen.Focus)
			screen.Show(motion.At(scene, 0))
		}
	}
	return all
}

// inBubble shows screens where what they read is there at once.
func inBubble(t *testing.T, look func(*testing.T, *lived)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		l := newLived(t)
		look(t, l)
		l.end()
		l.working.Wait()
		synctest.Wait()
	})
}

// On a display of 1024 by 700, which is the least that is promised, and with every
// size of text, no place is wider than the window: whoever scrolls sideways loses
// the beginning of each line.
func TestNoPlaceIsWiderThanASmallWindow(t *testing.T) {
	const frame = 2 // of the desktop's around the window, in pixels
	inBubble(t, func(t *testing.T, l *lived) {
		for _, text := range settings.Texts {
			scale := float32(settings.Scale(text))
			width := (1024 - frame) / scale
			l.window.Resize(fyne.NewSize(width, (700-frame)/scale))
			for name, show := range l.screens() {
				show()
				for _, o := range append(l.window.Canvas().Overlays().List(), l.window.Content()) {
					beyond(o, 0, width, func(o fyne.CanvasObject, from, to float32) {
						t.Errorf("%s, %s text: %s lies from %.0f to %.0f of %.0f", name, text, what(o), from, to, width)
					})
				}
				l.closeHelp()
			}
		}
	})
}

// beyond finds what lies beside a window of a width; a scroller's content may not
// either, if it is to be seen without scrolling sideways.
func beyond(o fyne.CanvasObject, x, width float32, found func(o fyne.CanvasObject, from, to float32)) {
	if !o.Visible() {
		return
	}
	x += o.Position().X
	if c, ok := o.(*fyne.Container); ok {
		for _, child := range c.Objects {
			beyond(child, x, width, found)
		}
		return
	}
	w := o.Size().Width
	switch o := o.(type) {
	case *container.Scroll:
		if o.Content.MinSize().Width > w+1 {
			found(o.Content, x, x+o.Content.MinSize().Width)
		}
		beyond(o.Content, x, width, found)
		return
	case *control.Entry:
		// What somebody writes may be longer than its line; what asks for it may not.
		if asks := control.Width(o.PlaceHolder, control.Body, fonts.WeightRegular); o.Text == "" && asks > w-16 {
			found(o, x, x+asks+16)
		}
		return
	case *canvas.Text:
		if w = o.MinSize().Width; o.Text == "" {
			return
		}
	case fyne.Widget:
		for _, part := range test.WidgetRenderer(o).Objects() {
			beyond(part, x, width, found)
		}
	}
	if x < -1 || x+w > width+1 {
		found(o, x, x+w)
	}
}

func what(o fyne.CanvasObject) string {
	switch o := o.(type) {
	case *canvas.Text:
		return fmt.Sprintf("%q", o.Text)
	case *control.Entry:
		return fmt.Sprintf("%q", o.PlaceHolder)
	}
	return fmt.Sprintf("%T", o)
}

// legible is the least contrast of what must be read in time: WCAG 2.2, success
// criterion 1.4.6; and of a debrief's, which is read at a desk, 1.4.3.
func legible(screen string) float64 {
	if screen == debriefScreen {
		return 4.5
	}
	return 7
}

// What is written in the ink of what must be read in time is found on the picture:
// each screen is painted twice, the second time in another ink, and where the two
// differ something is written.
func TestWhatMustBeReadInTimeStandsOutOnEveryScreen(t *testing.T) {
	inBubble(t, func(t *testing.T, l *lived) {
		l.window.Resize(fyne.NewSize(1024, 700))
		for _, dress := range theme.All() {
			paint := func(d theme.Tokens) map[string]*image.NRGBA {
				l.wear(d)
				out := map[string]*image.NRGBA{}
				for name, show := range l.screens() {
					show()
					l.window.Canvas().Unfocus()
					out[name] = l.window.Canvas().Capture().(*image.NRGBA)
					l.closeHelp()
				}
				return out
			}
			other := dress
			other.Ink = turned(dress.Ink)
			as, otherwise := paint(dress), paint(other)
			for name, picture := range as {
				if name == debriefScreen && dress.Name == "dusk" {
					continue // its page is the day's
				}
				judged := 0
				for _, w := range written(picture, otherwise[name]) {
					if w.pixels < 8 || w.at.Dy() < 5 {
						continue // a line, and no writing
					}
					judged++
					if c := w.contrast(dress.Ink); c < legible(name) {
						t.Errorf("%s, %s: what is written at %v has %.1f:1 to its surroundings, want %.1f:1", name, dress.Name, w.at, c, legible(name))
					}
				}
				if judged < 3 {
					t.Errorf("%s, %s: only %d words were found", name, dress.Name, judged)
				}
			}
		}
	})
}

// turned is a colour that differs much in every channel.
func turned(c color.NRGBA) color.NRGBA {
	return color.NRGBA{R: c.R ^ 0x80, G: c.G ^ 0x80, B: c.B ^ 0x80, A: 0xff}
}

// word is a piece of a picture in which something is written.
type word struct {
	at     image.Rectangle
	pixels int // that are written
	around []color.NRGBA
}

// contrast is that of an ink to what is around: for a shape that has another colour
// inside than outside, as the rim of a knob, to that of the two from which it
// differs more.
func (w word) contrast(ink color.NRGBA) float64 {
	most := 0.0
	for _, c := range w.around {
		most = max(most, wcag.Contrast(ink, c))
	}
	return most
}

// written finds words in a picture, given the same one in another ink.
func written(a, b *image.NRGBA) []word {
	size := a.Bounds()
	mark := map[image.Point]bool{}
	var marked []image.Point
	for y := size.Min.Y; y < size.Max.Y; y++ {
		for x := size.Min.X; x < size.Max.X; x++ {
			if apart(a.NRGBAAt(x, y), b.NRGBAAt(x, y)) > 12 {
				mark[image.Pt(x, y)] = true
				marked = append(marked, image.Pt(x, y))
			}
		}
	}
	seen := map[image.Point]bool{}
	var words []word
	for _, p := range marked {
		if !seen[p] {
			w := wordAt(p, mark, seen)
			w.around = surroundings(a, w.at.Inset(-2).Intersect(size), mark)
			words = append(words, w)
		}
	}
	return words
}

// wordAt gathers the letters that lie near each other, beginning with a pixel.
func wordAt(p image.Point, mark, seen map[image.Point]bool) word {
	var w word
	todo := []image.Point{p}
	seen[p] = true
	for len(todo) > 0 {
		p := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		w.pixels++
		w.at = w.at.Union(image.Rect(p.X, p.Y, p.X+1, p.Y+1))
		for dy := -2; dy <= 2; dy++ {
			for dx := -6; dx <= 6; dx++ {
				if q := p.Add(image.Pt(dx, dy)); mark[q] && !seen[q] {
					seen[q] = true
					todo = append(todo, q)
				}
			}
		}
	}
	return w
}

// surroundings are the colours that a tenth or more of what is not written has, or
// the one that most of it has.
func surroundings(a *image.NRGBA, within image.Rectangle, mark map[image.Point]bool) []color.NRGBA {
	count, all, most := map[color.NRGBA]int{}, 0, 0
	for y := within.Min.Y; y < within.Max.Y; y++ {
		for x := within.Min.X; x < within.Max.X; x++ {
			if !mark[image.Pt(x, y)] {
				count[a.NRGBAAt(x, y)]++
				most = max(most, count[a.NRGBAAt(x, y)])
				all++
			}
		}
	}
	var out []color.NRGBA
	for c, n := range count {
		if 10*n >= all || n == most {
			out = append(out, c)
		}
	}
	return out
}

// apart is how far two colours differ, in the channel that differs most.
func apart(a, b color.NRGBA) int {
	d := func(x, y uint8) int { return max(int(x), int(y)) - min(int(x), int(y)) }
	return max(d(a.R, b.R), d(a.G, b.G), d(a.B, b.B))
}
