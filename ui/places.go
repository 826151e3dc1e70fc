package ui

import (
	"fyne.io/fyne/v2"

	"kickover/procedure/settings"
	"kickover/ui/home"
	"kickover/ui/plan"
	"kickover/ui/runs"
	"kickover/ui/theme"
	"kickover/ui/timer"
)

// Places that other screens speak of.
const (
	homePlace     = "Practise"
	classPlace    = "Class"
	settingsPlace = "Settings"
)

// places are all that the header leads to, in the order in which they are met.
func (s *shell) places() []place {
	list := []place{
		{homePlace, s.showHome}, {"Timer", s.showTimer}, {"Plan", s.showPlan}, {"Runs", s.showRuns},
		{"Progress", s.showProgress}, {"Paper", s.showPaper},
	}
	if s.o.Class != nil {
		list = append(list, place{classPlace, s.showClass})
	}
	return append(list, place{settingsPlace, s.showSettings})
}

// showHome shows where a run is chosen. The screen is made when it is first asked
// for, so that a demonstration is not kept waiting by it, and keeps what was chosen.
func (s *shell) showHome() {
	if s.home == nil {
		s.home = home.New(home.Options{Theme: s.o.Dress, Units: s.units(), Libraries: s.o.Libraries, Begin: s.begin, Seed: s.o.Seed, Start: s.chosen})
	}
	s.page(homePlace, s.home.Content(), s.home.Focus)
}

func (s *shell) showRuns() {
	screen := runs.New(runs.Options{Theme: s.o.Dress, Units: s.units(), Page: s.o.Past, Open: s.open, Real: s.o.Records.Real})
	s.page("Runs", screen.Content(), screen.Focus)
	s.leave = screen.Close
}

// showPlan works out how long to prime, for as long as it is shown.
func (s *shell) showPlan() {
	screen := plan.New(plan.Options{Theme: s.o.Dress, Units: s.units(), Libraries: s.o.Libraries, Starts: s.o.Starts})
	s.page("Plan", screen.Content(), screen.Focus)
	s.leave = screen.Close
}

// showTimer gives the window to the cockpit timer until it is left.
func (s *shell) showTimer() {
	s.end()
	o, closed, err := s.o.Timer()
	if err != nil {
		s.apologise(err)
		return
	}
	// The window's own dress: it may be another than the settings', and clears to its ground.
	o.Dress, o.Leave, o.Units = s.o.Dress, s.showHome, s.units()
	o.Fill = func() { s.window.SetFullScreen(!s.window.FullScreen()) }
	remember := o.Redress
	o.Redress = func(t theme.Tokens) {
		s.change(func(c *settings.Settings) { c.Window.Theme = t.Name })
		if s.o.Dress.Name != t.Name { // the settings had it, and the window another for this time
			s.wear(t)
		}
		remember(t)
	}
	screen, err := timer.New(o)
	if err != nil {
		closed()
		s.apologise(err)
		return
	}
	unstamp := func() {}
	s.leave = func() {
		unstamp()
		screen.Close()
		closed()
		if s.window.FullScreen() {
			// Only after the next screen is there, or the window comes out larger than it was.
			fyne.Do(func() { s.window.SetFullScreen(false) })
		}
	}
	s.wholly("Timer", screen.Content(), screen.Focus)
	s.whenShown(func() {
		if stop, err := screen.Stamp(s.window); err == nil {
			unstamp = stop
		}
	})
}
