// Package plan is the screen that says how long to prime: the odds of each length
// of prime for a day, over the handbook's own window, and the same over the
// temperature as a map.
//
// Call [New] with the aircraft; show [Screen.Content]; call [Screen.Close] when
// another screen is shown, which calls off what is being flown. What it shows comes
// from package planner, its drawings from package chart.
//
// Everything of a [Screen] belongs to the goroutine of the window. A survey is
// flown in its own goroutine, which hands each cell over, when it is done, by
// [Options.Do].
package plan

import (
	"fmt"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/procedure"
	"kickover/procedure/planner"
	"kickover/procedure/powerplant"
	"kickover/procedure/realstart"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Options are what the screen needs from outside.
type Options struct {
	Theme     theme.Tokens
	Units     units.Units
	Libraries []*procedure.Library
	// Starts reads the real starts that the cockpit timer kept; nil for none.
	Starts  func() ([]realstart.Start, error)
	Workers int // cores to fly on; zero is all
	// Do runs a function on the window's goroutine; nil is the toolkit's own.
	Do func(func())
	// Precision of the odds; zero is the planner's usual one.
	Precision planner.Precision
}

// Screen is the Plan screen.
type Screen struct {
	o          Options
	aeroplane  *planner.Aeroplane
	records    []realstart.Start
	registered []string // registrations that can be learnt from
	seed       uint64
	flight     *flight // the survey that is shown, being flown or flown; nil before the first

	aircraft *control.Choice
	view     *control.Choice
	steppers [4]*control.Stepper
	learn    *control.Stepper // nil when there is nothing to learn from
	begin    *control.Button
	progress *progress
	picture  *picture
	advice   *advice
	notice   string
	page     *fyne.Container
	content  *fyne.Container
}

var temperatures = []float64{-20, -17, -14, -11, -8, -5, -2, 0, 2, 5, 8, 10, 12, 15, 18, 20, 22, 25, 28, 31, 34, 37, 40}
var altitudes = []float64{0, 120, 300, 500, 1000, 1500, 2000, 2500, 3000}
var sinces = []time.Duration{5 * time.Minute, 10 * time.Minute, 20 * time.Minute, 30 * time.Minute, 45 * time.Minute,
	time.Hour, 90 * time.Minute, 2 * time.Hour, 4 * time.Hour, 12 * time.Hour}
var charges = []float64{0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.88, 0.95, 1}

// What is drawn.
const (
	viewDay = iota
	viewMap
)

// New makes the screen and begins to fly the first chart.
func New(o Options) *Screen {
	if o.Do == nil {
		o.Do = fyne.Do
	}
	s := &Screen{o: o, seed: 1, content: container.NewStack()}
	if o.Starts != nil {
		records, err := o.Starts()
		if err != nil {
			s.notice = "The real starts cannot be read, and so nothing is learnt from them: " + err.Error()
		}
		s.records = records
	}
	var names []string
	for _, l := range o.Libraries {
		names = append(names, l.Aircraft.Name)
	}
	s.aircraft = control.NewChoice(o.Theme, names, 0, s.board)
	s.view = control.NewChoice(o.Theme, []string{"One day", "All temperatures"}, viewDay, func(int) { s.changed() })
	s.board(0)
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the button that begins.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.begin) }

// Close calls off what is being flown.
func (s *Screen) Close() {
	if s.flight != nil {
		s.flight.callOff()
	}
}

// board takes an aircraft.
func (s *Screen) board(i int) {
	lib := s.o.Libraries[i]
	a, err := planner.NewAeroplane(lib)
	s.aeroplane = a
	s.registered = nil
	if err == nil {
		for _, r := range s.records {
			if !slices.Contains(s.registered, r.Registration) && len(a.FromRecords(r.Registration, s.records).Seen) > 0 {
				s.registered = append(s.registered, r.Registration)
			}
		}
	}
	s.build()
	if err != nil {
		s.advice.say("No plan for this aeroplane", err.Error())
		return
	}
	s.changed()
}

func (s *Screen) build() {
	t := s.o.Theme
	changed := func(int) { s.changed() }
	s.steppers = [4]*control.Stepper{
		control.NewStepper(t, "Outside air", each(temperatures, func(v float64) string { return s.o.Units.Celsius(v) }), slices.Index(temperatures, 10), changed),
		control.NewStepper(t, "Pressure altitude", each(altitudes, func(v float64) string { return s.o.Units.Metres(v) }), 1, changed),
		control.NewStepper(t, "Since shutdown", each(sinces, sinceWords), len(sinces)-1, changed),
		control.NewStepper(t, "Battery charge", each(charges, func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }), 6, changed),
	}
	s.learn = nil
	if len(s.registered) > 0 {
		s.learn = control.NewStepper(t, "Learnt from", append([]string{"no starts"}, s.registered...), 0, changed)
	}
	s.begin = control.NewButton(t, "", "", control.Primary, s.press)
	s.progress = newProgress(t)
	s.picture = newPicture(t)
	s.advice = newAdvice(t)
	s.content.Objects = []fyne.CanvasObject{s.arrange()}
	s.content.Refresh()
}

// question is what the controls ask.
func (s *Screen) question() planner.Question {
	return planner.Question{
		Aeroplane: s.aeroplane, Precision: s.o.Precision, Seed: s.seed,
		Conditions: powerplant.Conditions{
			OATCelsius:        temperatures[s.steppers[0].Selected()],
			PressureAltitudeM: altitudes[s.steppers[1].Selected()],
			SinceShutdown:     sinces[s.steppers[2].Selected()],
			BatteryCharge:     charges[s.steppers[3].Selected()],
		},
	}
}

// seen are the starts to learn from.
func (s *Screen) seen() []planner.Seen {
	if s.learn == nil || s.learn.Selected() == 0 {
		return nil
	}
	return s.aeroplane.FromRecords(s.registered[s.learn.Selected()-1], s.records).Seen
}

// changed answers another question. A day is flown at once, since it takes a
// second or two; a map waits to be asked for.
func (s *Screen) changed() {
	if s.aeroplane == nil {
		return
	}
	s.Close()
	if s.view.Selected() == viewMap {
		s.steppers[0].Hide() // every temperature is in the map
		s.prepareMap()
		return
	}
	s.steppers[0].Show()
	s.fly()
}

// press begins, or calls off.
func (s *Screen) press() {
	switch {
	case s.aeroplane == nil:
	case s.flight != nil && s.flight.running():
		s.flight.callOff()
	default:
		if s.flight != nil && s.flight.state == flown {
			s.seed++ // other hands, other fuel: how much of it is chance
		}
		s.fly()
	}
}
