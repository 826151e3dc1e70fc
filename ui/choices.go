package ui

import (
	"context"
	"fmt"
	"math"
	"os"
	"strconv"

	"fyne.io/fyne/v2"

	"kickover/procedure/settings"
	"kickover/procedure/units"
	"kickover/ui/control"
	settingsui "kickover/ui/settings"
	"kickover/ui/theme"
	"kickover/ui/welcome"
	"kickover/ui/x11input"
)

// Settings are what a person has chosen, and how the window remembers it.
type Settings struct {
	Now func() settings.Settings
	// Change remembers another choice and does what it asks of sound. An error is
	// about remembering: the choice holds all the same.
	Change  func(func(*settings.Settings)) error
	First   bool     // nothing was ever chosen
	File    string   // where the choices are kept
	Folder  string   // where runs are kept
	Notices []string // sentences about what could not be read
	Sound   settingsui.Sound
	// CheckFolder and CheckStore are the settings screen's.
	CheckFolder func(string) (string, error)
	CheckStore  func(ctx context.Context, dsn string) error
}

func (s *shell) units() units.Units { return s.o.Settings.Now().Units }

// change remembers another choice and shows the window by it.
func (s *shell) change(change func(*settings.Settings)) error {
	before := s.o.Settings.Now()
	err := s.o.Settings.Change(change)
	now := s.o.Settings.Now()
	grown := func() {}
	if now.Window.Text != before.Window.Text && textScale(now.Window.Text) {
		grown = s.grow(settings.Scale(before.Window.Text), settings.Scale(now.Window.Text))
	}
	if now.Window.Theme != before.Window.Theme || now.Window.Text != before.Window.Text {
		s.wear(theme.Named(now.Window.Theme))
	}
	grown()
	if now.Units != before.Units {
		s.forget()
	}
	return err
}

// grow has what is in the window grow while the window keeps its place on the
// screen. What it gives is done once the toolkit knows of the other scale. Told of
// that, the toolkit asks the display for a window in which the canvas, in its own
// units, is as large as before; on a busy machine that size comes and goes so late
// that it would be taken for the window's own when somebody chooses again. So the
// canvas has its new size first, and the toolkit asks for what there is.
func (s *shell) grow(was, is float64) (grown func()) {
	size, by := s.window.Canvas().Size(), float32(was/is)
	size = fyne.NewSize(size.Width*by, size.Height*by)
	if c, ok := s.window.Canvas().(interface{ Resize(fyne.Size) }); ok {
		c.Resize(size)
	}
	return func() { s.window.Resize(size) }
}

// wear changes the window's colours.
func (s *shell) wear(t theme.Tokens) {
	s.o.Dress = t
	fyne.CurrentApp().Settings().SetTheme(t.Fyne()) // looks at the scale too
	s.dress()
	s.forget()
}

// dress makes the header in the present colours.
func (s *shell) dress() {
	s.header = newHeader(s.o.Dress, s.places(), s.help)
	s.header.who = control.NewButton(s.o.Dress, "", "", control.Quiet, s.showPeople)
	s.header.flying(s.o.Records.Flying().Name)
	s.listen()
}

// forget drops screens that were made by other choices; what was chosen on them
// is kept.
func (s *shell) forget() {
	if s.home != nil {
		chosen := s.home.Selection()
		s.chosen, s.home = &chosen, nil
	}
}

// textScale tells the toolkit how large a unit is, and says whether it could: the
// toolkit takes that from its environment, which somebody may have set already.
func textScale(text string) bool {
	const name = "FYNE_SCALE"
	if own, set := os.LookupEnv(name); set && own != ours {
		return false
	}
	ours = strconv.FormatFloat(settings.Scale(text), 'f', 1, 64)
	os.Setenv(name, ours)
	return true
}

// ours is the scale that this program set itself; it belongs to the window's
// goroutine.
var ours string

// opening is how large the window is when it opens: as it was last, in units of
// the present text.
func opening(w settings.Window) fyne.Size {
	if w.Width < 300 || w.Height < 200 {
		w.Width, w.Height = 1280, 800
	}
	scale := float32(settings.Scale(w.Text))
	return fyne.NewSize(float32(w.Width)/scale, float32(w.Height)/scale)
}

// rememberPlace keeps the window's size and place. The toolkit knows no places: the
// display server is asked, where it is X.
func (s *shell) rememberPlace() {
	size := s.window.Canvas().Size()
	x, y, err := x11input.Place(s.window)
	_ = s.o.Settings.Change(func(c *settings.Settings) { // there is nobody left to tell
		scale := settings.Scale(c.Window.Text)
		c.Window.Width, c.Window.Height = int(math.Round(float64(size.Width)*scale)), int(math.Round(float64(size.Height)*scale))
		if c.Window.Placed = err == nil; err == nil {
			c.Window.X, c.Window.Y = x, y
		}
	})
}

// putBack puts the window where it was when it was closed.
func (s *shell) putBack() {
	if w := s.o.Settings.Now().Window; w.Placed {
		s.whenShown(func() { _ = x11input.Move(s.window, w.X, w.Y) }) // else it stands where the desktop put it
	}
}

// showWelcome asks who somebody is, once; whoever looks at a start before is asked
// when the program starts next.
func (s *shell) showWelcome() {
	screen := welcome.New(s.o.Dress, func(w settings.Who) {
		_ = s.change(func(c *settings.Settings) { c.Who = w }) // asked again next time, if it could not be kept
		s.showFor(w)
	}, func() { s.begin(demonstration(s.o.Libraries[0])) })
	s.page(welcomeScreen, screen.Content(), screen.Focus)
}

// showFor shows what somebody came for, and home to whoever did not say.
func (s *shell) showFor(w settings.Who) {
	switch {
	case w == settings.Pilot:
		s.showTimer()
	case w == settings.Instructor && s.o.Class != nil:
		s.showClass()
	default:
		s.showHome()
	}
}

func (s *shell) showSettings() { s.showSettingsAt("") }

// showSettingsAt shows the settings with the focus on one of them, since a change
// of colours makes the screen anew under the person's hands.
func (s *shell) showSettingsAt(at string) {
	o := s.o.Settings
	var screen *settingsui.Screen
	screen = settingsui.New(settingsui.Options{
		Theme: s.o.Dress, Settings: o.Now(), At: at, Sound: o.Sound, File: o.File, Folder: o.Folder, Notices: o.Notices,
		CheckFolder: o.CheckFolder, CheckStore: o.CheckStore,
		Change: func(change func(*settings.Settings)) {
			before := o.Now().Window
			err := s.change(change)
			if now := o.Now().Window; now != before {
				s.showSettingsAt(screen.At())
			}
			if err != nil {
				screen.Say(fmt.Sprintf("%v.", err))
			}
		},
	})
	s.page(settingsPlace, screen.Content(), screen.Focus)
	s.leave = screen.Close
}
