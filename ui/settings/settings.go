// Package settings is the screen on which a person says how they want the
// program: units, sound, colours, the size of text, and where runs are kept.
//
// Call [New] with the present settings and what to do with a change; call
// [Screen.Close] when another screen is shown. Every change is handed over as it
// is made: there is nothing to save. What changes later than at once says when.
package settings

import (
	"context"
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/procedure/settings"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Named is something to choose, by its id.
type Named struct{ ID, Name string }

// Sound is what can be chosen and tried of the sound. A nil func takes what needs
// it off the screen.
type Sound struct {
	Voices  []Named
	Devices func() []Named // may take seconds; called beside the window's goroutine
	Tone    func()
	Speak   func()
	Trouble func() string // a sentence where there is no sound, else empty
}

// Options are what the screen works with.
type Options struct {
	Theme    theme.Tokens
	Settings settings.Settings
	At       string // the setting that has the focus; empty is the first
	Change   func(func(*settings.Settings))
	Sound    Sound
	File     string // where the settings are kept
	Folder   string // where runs are kept
	Notices  []string
	// CheckFolder says where a folder that somebody wrote is, or why runs cannot be
	// kept there; CheckStore asks a school's PostgreSQL and may wait for it.
	CheckFolder func(string) (string, error)
	CheckStore  func(ctx context.Context, dsn string) error
	Do          func(func()) // runs something on the window's goroutine; nil is the toolkit's own
}

// Screen is the settings.
type Screen struct {
	o        Options
	sections []section
	said     *fyne.Container
	text     string
	output   *control.Picker
	content  *fyne.Container
	window   fyne.Window        // nil until the screen has the keyboard
	cancel   context.CancelFunc // calls off what is being asked; nil when nothing is
}

// section is a group of lines under a title.
type section struct {
	title string
	lines []line
}

// line is one setting: its name, what it is chosen with, and what is to be known
// about it.
type line struct {
	name string
	what fyne.CanvasObject
	note string
}

// New makes the screen.
func New(o Options) *Screen {
	if o.Do == nil {
		o.Do = fyne.Do
	}
	s := &Screen{o: o, said: container.NewWithoutLayout()}
	s.sections = []section{s.who(), s.units(), s.look(), s.sound(), s.runs()}
	for _, n := range o.Notices {
		s.text += n + " "
	}
	s.content = s.arrange()
	if o.Sound.Devices != nil {
		go func() {
			list := o.Sound.Devices()
			o.Do(func() { s.outputs(list) })
		}()
	}
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the setting that was asked for.
func (s *Screen) Focus(w fyne.Window) {
	s.window = w
	at := s.sections[0].lines[0].what
	for _, sec := range s.sections {
		for _, l := range sec.lines {
			if l.name == s.o.At {
				at = l.what
			}
		}
	}
	if f, ok := at.(fyne.Focusable); ok {
		w.Canvas().Focus(f)
	}
}

// At names the setting that has the focus, empty when none has.
func (s *Screen) At() string {
	if s.window == nil {
		return ""
	}
	c := s.window.Canvas() // the toolkit knows no object's canvas before it is painted
	for _, sec := range s.sections {
		for _, l := range sec.lines {
			if f, ok := l.what.(fyne.Focusable); ok && f == c.Focused() {
				return l.name
			}
		}
	}
	return ""
}

// Close calls off what is being asked.
func (s *Screen) Close() {
	if s.cancel != nil {
		s.cancel()
	}
}

// Say shows a sentence at the top.
func (s *Screen) Say(text string) {
	s.text = text
	s.content.Refresh()
}

func (s *Screen) change(change func(*settings.Settings)) {
	change(&s.o.Settings)
	s.o.Change(change)
}

func (s *Screen) who() section {
	all := []settings.Who{settings.Student, settings.Instructor, settings.Pilot}
	return section{"YOU", []line{s.choice("Today you are", []string{"Student", "Instructor", "Pilot"}, slices.Index(all, s.o.Settings.Who),
		func(c *settings.Settings, i int) { c.Who = all[i] }, "The window opens where you want to be.")}}
}

func (s *Screen) units() section {
	one := func(name string, list []string, now string, field func(*settings.Settings) *string) line {
		signs := make([]string, len(list))
		for i, u := range list {
			signs[i] = map[string]string{"in": "inch", "gal/h": "US gal/h"}[u]
			if signs[i] == "" {
				signs[i] = units.Sign(u)
			}
		}
		return s.choice(name, signs, slices.Index(list, now), func(c *settings.Settings, i int) { *field(c) = list[i] }, "")
	}
	u := s.o.Settings.Units
	return section{"UNITS", []line{
		one("Lever travel", units.Levers, u.Lever, func(c *settings.Settings) *string { return &c.Units.Lever }),
		one("Temperature", units.Temperatures, u.Temperature, func(c *settings.Settings) *string { return &c.Units.Temperature }),
		one("Altitude", units.Altitudes, u.Altitude, func(c *settings.Settings) *string { return &c.Units.Altitude }),
		one("Pressure", units.Pressures, u.Pressure, func(c *settings.Settings) *string { return &c.Units.Pressure }),
		one("Fuel flow", units.FuelFlows, u.FuelFlow, func(c *settings.Settings) *string { return &c.Units.FuelFlow }),
	}}
}

func (s *Screen) look() section {
	w := s.o.Settings.Window
	return section{"LOOK", []line{
		s.choice("Colours", []string{"Dusk", "Day", "Night"}, slices.Index(settings.Themes, w.Theme),
			func(c *settings.Settings, i int) { c.Window.Theme = settings.Themes[i] }, ""),
		s.choice("Text size", []string{"Normal", "Large", "Larger"}, slices.Index(settings.Texts, w.Text),
			func(c *settings.Settings, i int) { c.Window.Text = settings.Texts[i] },
			"The cockpit of a run fills the window whatever the size of text."),
	}}
}

// choice is a line with a few to choose from.
func (s *Screen) choice(name string, options []string, selected int, set func(*settings.Settings, int), note string) line {
	c := control.NewChoice(s.o.Theme, options, selected, func(i int) {
		s.change(func(c *settings.Settings) { set(c, i) })
	})
	return line{name, c, note}
}

// percents are the places of a fader.
func percents() []string {
	var out []string
	for p := 0; p <= 100; p += 10 {
		out = append(out, fmt.Sprintf("%d %%", p))
	}
	return out
}
