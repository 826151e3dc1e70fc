package ui

import (
	"context"
	"errors"
	"os"
	"strings"
	"testing"
	"testing/synctest"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"kickover/assets"
	"kickover/assets/fonts"
	"kickover/procedure/flowfile"
	"kickover/procedure/settings"
	"kickover/ui/control"
	"kickover/ui/help"
	"kickover/ui/home"
	"kickover/ui/people"
	"kickover/ui/runs"
	settingsui "kickover/ui/settings"
	"kickover/ui/theme"
)

// newShell is the window without a display, with settings that are kept in memory.
func newShell(t *testing.T, first bool) (*shell, *settings.Settings) {
	t.Helper()
	test.NewTempApp(t)
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	kept := settings.Default()
	s := &shell{window: test.NewWindow(nil), o: Options{
		Libraries: libraries, Dress: theme.Dusk,
		Past: func(string, int) ([]runs.Past, error) { return nil, nil },
		Settings: Settings{
			Now: func() settings.Settings { return kept }, First: first,
			Change:     func(change func(*settings.Settings)) error { change(&kept); return nil },
			CheckStore: func(context.Context, string) error { return nil },
			Sound:      settingsui.Sound{Voices: []settingsui.Named{{ID: "a", Name: "A"}, {ID: "b", Name: "B"}}},
		},
		Records: Records{Flying: func() people.Person { return people.Person{} }},
	}}
	s.window.SetPadded(false)
	s.dress()
	s.window.Resize(fyne.NewSize(1280, 800))
	t.Cleanup(s.end)
	return s, &kept
}

func press(s *shell, k fyne.KeyName) {
	if f := s.window.Canvas().Focused(); f != nil {
		f.TypedKey(&fyne.KeyEvent{Name: k})
		return
	}
	s.key(&fyne.KeyEvent{Name: k})
}

func write(s *shell, r rune) { s.window.Canvas().Focused().TypedRune(r) }

// order is what Tab leads to from the first, by kind of control, in a whole round.
func order(s *shell) []fyne.Focusable {
	c := s.window.Canvas()
	c.Unfocus()
	var all []fyne.Focusable
	for {
		c.FocusNext()
		at := c.Focused()
		if at == nil || len(all) > 0 && at == all[0] || len(all) > 200 {
			return all
		}
		all = append(all, at)
	}
}

// The order is that in which one decides: the aeroplane, the flows, the phase, the
// day, and Begin; then who flies and the places.
func TestTabGoesThroughHomeInTheOrderOfDeciding(t *testing.T) {
	s, _ := newShell(t, false)
	s.showHome()
	var kinds []string
	for _, f := range order(s) {
		kinds = append(kinds, kindOf(f))
	}
	got := strings.Join(kinds, " ")
	flows, panel := 0, ""
	for _, f := range s.o.Libraries[0].Flows {
		if f.Entry {
			flows++
		}
	}
	if len(s.o.Libraries[0].Aircraft.Panels) > 1 {
		panel = "choice "
	}
	want := "choice " + strings.Repeat("fold ", flows) + "choice " + strings.Repeat("stepper ", 4) + "button " + panel + "button"
	if !strings.HasPrefix(got, want) {
		t.Errorf("Tab goes %s,\nwant %s …", got, want)
	}
	// The places and Help come after, and who flies.
	if rest := strings.Fields(strings.TrimPrefix(got, want)); len(rest) != len(s.header.places)+2 {
		t.Errorf("after Begin come %v, want who flies, %d places and Help", rest, len(s.header.places))
	}
}

func kindOf(f fyne.Focusable) string {
	switch f.(type) {
	case *control.Choice:
		return "choice"
	case *control.Fold:
		return "fold"
	case *control.Stepper:
		return "stepper"
	case *control.Button:
		return "button"
	}
	return "other"
}

// Down goes from flow to flow and chooses it; what is chosen shows all that is
// known of it.
// Enter begins what is chosen, as is written on the button, when a click has left the
// keyboard with nothing and when it is with what Enter means nothing to.
func TestEnterBeginsOnPractise(t *testing.T) {
	for _, from := range []string{"nothing", "stepper"} {
		s, _ := newShell(t, false)
		began := 0
		s.o.Begin = func(home.Chosen) (Session, error) { began++; return nil, errors.New("this test flies nothing") }
		s.showHome()
		s.window.Canvas().Unfocus()
		for c := s.window.Canvas(); from != "nothing" && (c.Focused() == nil || kindOf(c.Focused()) != from); {
			c.FocusNext()
		}
		press(s, fyne.KeyReturn)
		if began != 1 {
			t.Errorf("with the keyboard at %s, Enter began %d runs", from, began)
		}
	}
}

func TestArrowsWalkTheFlows(t *testing.T) {
	s, _ := newShell(t, false)
	s.showHome()
	c := s.window.Canvas()
	var folds []fyne.Focusable
	for _, f := range order(s) {
		if _, ok := f.(*control.Fold); ok {
			folds = append(folds, f)
		}
	}
	c.Focus(folds[0])
	press(s, fyne.KeyDown)
	press(s, fyne.KeyDown)
	if c.Focused() != folds[2] {
		t.Error("two downs did not lead to the third flow")
	}
	var began home.Chosen
	s.home = home.New(home.Options{Theme: theme.Dusk, Libraries: s.o.Libraries, Begin: func(c home.Chosen) { began = c }})
	s.showHome()
	press(s, fyne.KeyReturn)
	if began.Flow != "cold" {
		t.Errorf("Enter alone begins %q", began.Flow)
	}
}

// Within one key of the first start each user is where they want to be.
func TestTheFirstStartAsksOnce(t *testing.T) {
	s, kept := newShell(t, true)
	s.showWelcome()
	write(s, '1')
	if kept.Who != settings.Student || s.where != homePlace {
		t.Errorf("1 makes a %q and leads to %q", kept.Who, s.where)
	}
	s.showWelcome()
	press(s, fyne.KeyRight)
	press(s, fyne.KeyReturn)
	if kept.Who != settings.Instructor || s.where != homePlace { // there is no class in this window
		t.Errorf("the second card makes a %q and leads to %q", kept.Who, s.where)
	}
}

// F1 shows a page on every screen, with a purpose and a way out; Escape closes it
// and leaves the screen as it was, with the focus where it was.
func TestHelpIsAKeyAway(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, _ := newShell(t, false)
		for where, show := range map[string]func(){
			homePlace: s.showHome, "Runs": s.showRuns, settingsPlace: s.showSettings, welcomeScreen: s.showWelcome,
		} {
			show()
			before := s.window.Canvas().Focused()
			press(s, fyne.KeyF1)
			if s.helping == nil || s.window.Canvas().Overlays().Top() == nil {
				t.Errorf("%s: F1 shows nothing", where)
				continue
			}
			press(s, fyne.KeyEscape)
			if s.helping != nil || s.where != where || s.window.Canvas().Focused() != before {
				t.Errorf("%s: closing the help does not lead back", where)
			}
		}
	})
}

func TestEveryScreenSaysWhatItIsForAndHowToLeave(t *testing.T) {
	s, _ := newShell(t, false)
	names := []string{runScreen, debriefScreen, welcomeScreen, peopleScreen, troubleScreen, waitingScreen}
	for _, p := range s.header.places {
		names = append(names, p.name)
	}
	for _, n := range names {
		if p := s.pageOf(n); p.For == "" || p.Leave == "" || len(p.Keys) == 0 {
			t.Errorf("%s: for %q, leave %q, %d keys", n, p.For, p.Leave, len(p.Keys))
		}
	}
	// The cautions stand where the hazard is: on the screen that teaches to crank.
	if all := strings.Join(s.pageOf(runScreen).Cautions, " "); !strings.Contains(all, "propeller") || !strings.Contains(all, "handbook") {
		t.Errorf("the run's help cautions %q", all)
	}
}

// Control and a digit lead to the places; Escape leads back.
func TestPlacesByKey(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, _ := newShell(t, false)
		s.showHome()
		for i, p := range s.header.places {
			if p.name != "Runs" && p.name != settingsPlace {
				continue
			}
			if i >= len(placeKeys) {
				t.Fatalf("%s has no key", p.name)
			}
			s.goTo(p)
			if s.where != p.name {
				t.Errorf("the key of %s leads to %s", p.name, s.where)
			}
			press(s, fyne.KeyEscape)
			if s.where != homePlace {
				t.Errorf("Escape leads from %s to %s", p.name, s.where)
			}
		}
	})
}

// Another theme and other units hold at once, and home keeps what was chosen on it.
func TestAChangeHoldsAtOnce(t *testing.T) {
	s, kept := newShell(t, false)
	s.showHome()
	if err := s.change(func(c *settings.Settings) { c.Window.Theme, c.Units.Temperature = "night", "degF" }); err != nil {
		t.Fatal(err)
	}
	if s.o.Dress.Name != "night" || s.units().Temperature != "degF" || kept.Window.Theme != "night" || s.chosen == nil {
		t.Errorf("dress %s, units %+v", s.o.Dress.Name, s.units())
	}
	s.showHome()
	if s.where != homePlace {
		t.Error("home was not made again")
	}
}

// When the toolkit is told of another scale the canvas has the size already that it
// is to have: it would ask the display for a larger window else, and what somebody
// chose next would be worked out from that.
func TestLargerTextKeepsTheWindowAsItIs(t *testing.T) {
	t.Setenv("FYNE_SCALE", "") // put back afterwards
	os.Unsetenv("FYNE_SCALE")
	s, _ := newShell(t, false)
	s.showHome()
	var told []fyne.Size
	fyne.CurrentApp().Settings().AddListener(func(fyne.Settings) { told = append(told, s.window.Canvas().Size()) })
	for i, text := range []string{"larger", "large", "normal"} {
		if err := s.change(func(c *settings.Settings) { c.Window.Text = text }); err != nil {
			t.Fatal(err)
		}
		scale := float32(settings.Scale(text))
		if len(told) != i+1 {
			t.Fatalf("%s: the toolkit was told %d times", text, len(told))
		}
		for _, size := range []fyne.Size{told[i], s.window.Canvas().Size()} {
			if w, h := size.Width*scale, size.Height*scale; w < 1279 || w > 1281 || h < 799 || h > 801 {
				t.Errorf("%s: the canvas is %.0f×%.0f pixels, want 1280×800", text, w, h)
			}
		}
	}
}

// With a scale of somebody's own neither the text nor the window changes.
func TestAScaleOfSomebodysOwnIsKept(t *testing.T) {
	t.Setenv("FYNE_SCALE", "1.7")
	s, _ := newShell(t, false)
	s.showHome()
	if err := s.change(func(c *settings.Settings) { c.Window.Text = "larger" }); err != nil {
		t.Fatal(err)
	}
	if size, scale := s.window.Canvas().Size(), os.Getenv("FYNE_SCALE"); size.Width != 1280 || scale != "1.7" {
		t.Errorf("the canvas is %.0f wide, the scale %s", size.Width, scale)
	}
}

// All screens fit the smallest window that is promised, at every size of text.
func TestTheFrameFitsSmallWindows(t *testing.T) {
	s, _ := newShell(t, false)
	s.showHome()
	if m := s.window.Content().MinSize(); m.Width > 1024/1.4 || m.Height > 700/1.4 {
		t.Errorf("the window cannot be smaller than %v", m)
	}
}

// What takes longer than a moment says what it is and can be left.
func TestWaitingSaysWhatFor(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, _ := newShell(t, false)
		s.showHome()
		release := make(chan struct{})
		s.while("Reading the run…", func() func() {
			<-release
			return func() { t.Error("it came up though somebody went elsewhere") }
		})
		if s.where != waitingScreen {
			t.Errorf("it shows %s meanwhile", s.where)
		}
		press(s, fyne.KeyEscape)
		if s.where != homePlace {
			t.Errorf("Escape leads to %s", s.where)
		}
		close(release)
		s.working.Wait()
		s.while("Reading the run…", func() func() { return s.showRuns })
		if s.where != "Runs" {
			t.Errorf("what is done at once shows %s", s.where)
		}
	})
}

// The words on the picture's caps are whole: two lines of a key in a window of
// 1280.
func TestHelpsWordsFitTheirKeys(t *testing.T) {
	s, _ := newShell(t, false)
	s.showHome()
	const room = (1280-96)/14 - 19 // a cap of one key, less its edges
	look := func(where string, keys []help.Key) {
		for _, k := range keys {
			if k.Key == fyne.KeySpace || k.Key == help.Control || k.Key == fyne.KeyReturn {
				continue // wider than one key
			}
			lines := control.Lines(k.Does, help.CapText, fonts.WeightMedium, room)
			if len(lines) > 2 {
				t.Errorf("%s: %s %q needs %d lines", where, k.Key, k.Does, len(lines))
			}
			for _, l := range lines {
				if w := control.Width(l, help.CapText, fonts.WeightMedium); w > room+6 {
					t.Errorf("%s: %s %q is %.0f wide, and its cap has %d", where, k.Key, l, w, room)
				}
			}
		}
	}
	look(homePlace, s.pageOf(homePlace).Keys)
	for _, l := range s.o.Libraries {
		look(l.Aircraft.Name, rehearseKeys(s.o.Libraries, l.Aircraft))
	}
}
