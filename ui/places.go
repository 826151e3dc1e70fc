package ui

import (
	"kickover/ui/home"
	"kickover/ui/plan"
	"kickover/ui/runs"
	"kickover/ui/timer"
)

// places are all that the header leads to, in the order in which they are met.
func (s *shell) places() []place {
	return []place{
		{"Practise", s.showHome}, {"Timer", s.showTimer}, {"Plan", s.showPlan}, {"Runs", s.showRuns},
	}
}

// showHome shows where a run is chosen. The screen is made when it is first asked
// for, so that a demonstration is not kept waiting by it, and keeps what was chosen.
func (s *shell) showHome() {
	if s.home == nil {
		s.home = home.New(home.Options{Theme: s.o.Dress, Libraries: s.o.Libraries, Begin: s.begin})
	}
	s.page("Practise", s.home.Content(), s.home.Focus)
}

func (s *shell) showRuns() {
	screen := runs.New(runs.Options{Theme: s.o.Dress, Page: s.o.Past, Open: s.open})
	s.page("Runs", screen.Content(), screen.Focus)
}

// showPlan works out how long to prime, for as long as it is shown.
func (s *shell) showPlan() {
	screen := plan.New(plan.Options{Theme: s.o.Dress, Libraries: s.o.Libraries, Starts: s.o.Starts})
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
	o.Leave = s.showHome
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
	}
	s.window.SetContent(screen.Content())
	screen.Focus(s.window)
	s.whenShown(func() {
		if stop, err := screen.Stamp(s.window); err == nil {
			unstamp = stop
		}
	})
}
