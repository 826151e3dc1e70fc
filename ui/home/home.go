// Package home is the screen on which a run is chosen: the flow, the phase and
// the conditions of the day.
//
// Call [New] with the aircraft and what to do when the student begins. The
// screen keeps what was chosen while it lives.
package home

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Chosen is what the student wants to fly.
type Chosen struct {
	Library    *procedure.Library
	Flow       procedure.FlowID
	Phase      procedure.Phase
	Panel      string
	Conditions rehearsal.Conditions
	Faults     []powerplant.Fault // not told to the student
	Surprise   bool               // the conditions are not shown
}

// Options are what the screen needs from outside.
type Options struct {
	Theme     theme.Tokens
	Units     units.Units
	Libraries []*procedure.Library
	Begin     func(Chosen)
	Seed      uint64     // of surprises; 0 is another one each time
	Start     *Selection // what is chosen at first; nil is a cold start
}

// Selection is how the screen stands, to make it again in other colours or units.
type Selection struct {
	aircraft, flow, phase, panel int
	day                          [4]int
	hidden                       bool
}

// Screen is the home screen.
type Screen struct {
	o         Options
	library   *procedure.Library
	flows     []*procedure.Flow
	folds     []*control.Fold
	flow      int
	aircraft  *control.Choice
	panels    *control.Choice // nil for an aircraft with one panel
	phase     *control.Choice
	steppers  [4]*control.Stepper
	surprise  *control.Button
	surprises surprises
	hidden    bool
	note      *canvas.Text
	begin     *control.Button
	page      *fyne.Container
	content   *fyne.Container
}

var phases = []procedure.Phase{procedure.Explain, procedure.Demonstrate, procedure.Perform, procedure.Evaluate}

var phaseNames = []string{"Explain", "Demonstrate", "Perform", "Evaluate"}

// phaseNotes say what each phase does, in a line.
var phaseNotes = []string{
	"Reads each step to you, with its reason.",
	"Does it for you, so that you can watch the cues.",
	"You do it, prompted by voice and picture.",
	"You do it in silence, and are scored.",
}

var temperatures = []float64{-20, -15, -10, -5, 0, 5, 10, 15, 20, 25, 30, 35, 40}
var altitudes = []float64{0, 120, 300, 600, 1000, 1500, 2000, 2500, 3000}
var sinces = []time.Duration{5 * time.Minute, 10 * time.Minute, 20 * time.Minute, 30 * time.Minute, 45 * time.Minute,
	time.Hour, 2 * time.Hour, 4 * time.Hour, 12 * time.Hour}
var charges = []float64{0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.88, 0.95, 1}

// New makes the screen with the first aircraft chosen, or what was chosen before.
func New(o Options) *Screen {
	start := Selection{phase: 2, day: [4]int{6, 1, 8, 6}}
	if o.Start != nil {
		start = *o.Start
	}
	s := &Screen{o: o, surprises: surprises{seed: o.Seed}}
	var names []string
	for _, l := range o.Libraries {
		names = append(names, l.Aircraft.Name)
	}
	s.aircraft = control.NewChoice(o.Theme, names, start.aircraft, func(i int) {
		// Another aeroplane, on the same day and in the same phase.
		again := s.Selection()
		again.aircraft, again.flow, again.panel, again.hidden = i, 0, 0, false
		s.board(again)
	})
	s.content = container.NewStack()
	s.board(start)
	return s
}

// Selection is how the screen stands.
func (s *Screen) Selection() Selection {
	at := Selection{aircraft: s.aircraft.Selected(), flow: s.flow, phase: s.phase.Selected(), hidden: s.hidden}
	if s.panels != nil {
		at.panel = s.panels.Selected()
	}
	for i, st := range s.steppers {
		at.day[i] = st.Selected()
	}
	return at
}

// board takes an aircraft: its flows and its panels.
func (s *Screen) board(at Selection) {
	l := s.o.Libraries[at.aircraft]
	s.library, s.flows, s.folds, s.panels = l, nil, nil, nil
	for _, f := range l.Flows {
		if f.Entry {
			s.flows = append(s.flows, f)
		}
	}
	slices.SortStableFunc(s.flows, func(a, b *procedure.Flow) int {
		return cmp.Or(cmp.Compare(order[a.Situation], order[b.Situation]), cmp.Compare(later[a.ID], later[b.ID]))
	})
	if len(l.Aircraft.Panels) > 1 {
		var names []string
		for _, p := range l.Aircraft.Panels {
			names = append(names, p.Name)
		}
		s.panels = control.NewChoice(s.o.Theme, names, at.panel, nil)
	}
	s.build(at)
}

// later holds back flows that are learnt after others of their situation:
// patience before air.
var later = map[procedure.FlowID]int{"flooded-air": 1}

// order is that in which situations are learnt.
var order = map[string]int{"cold": 0, "warm": 1, "hot": 2, "flooded": 3, "fire": 4}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Begin begins what is chosen, as the button does.
func (s *Screen) Begin() { s.begin.Tapped(nil) }

// Focus puts the keyboard on the button that begins.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.begin) }

func (s *Screen) build(at Selection) {
	t, u := s.o.Theme, s.o.Units
	for i, f := range s.flows {
		s.folds = append(s.folds, control.NewFold(t, f.Title, u.Words(f.KnownBy), primeWords(f), func() { s.choose(i) }))
	}
	control.Column(s.folds, s.choose)
	s.note = control.Text(phaseNotes[at.phase], control.Label, fonts.WeightRegular, t.Ink2)
	s.phase = control.NewChoice(t, phaseNames, at.phase, func(i int) {
		s.note.Text = phaseNotes[i]
		s.note.Refresh()
	})
	s.steppers = [4]*control.Stepper{
		control.NewStepper(t, "Outside air", each(temperatures, u.Celsius), at.day[0], nil),
		control.NewStepper(t, "Pressure altitude", each(altitudes, u.Metres), at.day[1], nil),
		control.NewStepper(t, "Since shutdown", each(sinces, sinceWords), at.day[2], nil),
		control.NewStepper(t, "Battery charge", each(charges, func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }), at.day[3], nil),
	}
	s.surprise = control.NewButton(t, "Surprise me", "", control.Plain, s.hide)
	s.begin = control.NewButton(t, "Begin", "Enter", control.Primary, s.start)
	s.hidden = false
	s.open(at.flow)
	if at.hidden {
		s.hide()
	}
	s.page = s.arrange()
	s.content.Objects = []fyne.CanvasObject{s.page}
	s.content.Refresh()
}

// choose takes a flow, and the time since shutdown that goes with it.
func (s *Screen) choose(i int) {
	s.open(i)
	switch s.flows[i].Situation {
	case "warm":
		s.steppers[2].Select(4)
	case "hot":
		s.steppers[2].Select(2)
	default:
		s.steppers[2].Select(8)
	}
	s.page.Refresh()
}

func (s *Screen) open(i int) {
	s.flow = i
	for j, f := range s.folds {
		f.Open(j == i)
	}
}

// hide draws conditions that the student does not see.
func (s *Screen) hide() {
	s.hidden = !s.hidden
	for _, st := range s.steppers {
		st.Veil(s.hidden)
	}
	s.surprise.SetText("Surprise me")
	if s.hidden {
		s.surprise.SetText("Hidden; something may be wrong. Show it")
	}
}

func (s *Screen) start() {
	c := Chosen{
		Library: s.library, Flow: s.flows[s.flow].ID, Phase: phases[s.phase.Selected()], Surprise: s.hidden,
		Conditions: rehearsal.Conditions{
			OATCelsius:    temperatures[s.steppers[0].Selected()],
			PressureAltM:  altitudes[s.steppers[1].Selected()],
			SinceShutdown: sinces[s.steppers[2].Selected()],
			BatteryCharge: charges[s.steppers[3].Selected()],
		},
	}
	if s.panels != nil {
		c.Panel = s.library.Aircraft.Panels[s.panels.Selected()].ID
	}
	if s.hidden {
		c.Conditions, c.Faults = s.surprises.draw(c.Conditions.SinceShutdown, s.flows[s.flow])
	}
	s.o.Begin(c)
}

// primeWords is the prime of a flow, in a few characters.
func primeWords(f *procedure.Flow) string {
	for _, st := range f.Steps {
		if st.Kind == procedure.StepHold {
			return fmt.Sprintf("prime %.1f–%.1f s", st.Window.Min.Seconds(), st.Window.Max.Seconds())
		}
	}
	return "no prime"
}

func sinceWords(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%g min", d.Minutes())
	case d >= 12*time.Hour:
		return "overnight"
	default:
		return fmt.Sprintf("%g h", d.Hours())
	}
}

func each[T any](values []T, words func(T) string) []string {
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = words(v)
	}
	return out
}
