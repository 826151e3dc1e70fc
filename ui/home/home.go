// Package home is the screen on which a run is chosen: the flow, the phase and
// the conditions of the day.
//
// Call [New] with the aircraft and what to do when the student begins. The
// screen keeps what was chosen while it lives.
package home

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
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
	Libraries []*procedure.Library
	Begin     func(Chosen)
}

// Screen is the home screen.
type Screen struct {
	o        Options
	library  *procedure.Library
	flows    []*procedure.Flow
	rows     []*control.Row
	flow     int
	aircraft *control.Choice
	panels   *control.Choice // nil for an aircraft with one panel
	phase    *control.Choice
	steppers [4]*control.Stepper
	surprise *control.Button
	hidden   bool
	note     *canvas.Text
	begin    *control.Button
	content  *fyne.Container
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

// New makes the screen with the first aircraft chosen.
func New(o Options) *Screen {
	s := &Screen{o: o}
	t := o.Theme
	var names []string
	for _, l := range o.Libraries {
		names = append(names, l.Aircraft.Name)
	}
	s.aircraft = control.NewChoice(t, names, 0, func(i int) { s.board(o.Libraries[i]) })
	s.content = container.NewStack()
	s.board(o.Libraries[0])
	return s
}

// board takes an aircraft: its flows and its panels.
func (s *Screen) board(l *procedure.Library) {
	s.library, s.flows, s.rows, s.panels = l, nil, nil, nil
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
		s.panels = control.NewChoice(s.o.Theme, names, 0, nil)
	}
	s.build()
	s.choose(0)
}

// later holds back flows that are learnt after others of their situation:
// patience before air.
var later = map[procedure.FlowID]int{"flooded-air": 1}

// order is that in which situations are learnt.
var order = map[string]int{"cold": 0, "warm": 1, "hot": 2, "flooded": 3, "fire": 4}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the button that begins.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.begin) }

func (s *Screen) build() {
	t := s.o.Theme
	for i, f := range s.flows {
		s.rows = append(s.rows, control.NewRow(t, f.Title, f.KnownBy, primeWords(f), func() { s.choose(i) }))
	}
	s.note = control.Text(phaseNotes[2], control.Label, fonts.WeightRegular, t.Ink2)
	s.phase = control.NewChoice(t, phaseNames, 2, func(i int) {
		s.note.Text = phaseNotes[i]
		s.note.Refresh()
	})
	s.steppers = [4]*control.Stepper{
		control.NewStepper(t, "Outside air", each(temperatures, func(v float64) string { return fmt.Sprintf("%g °C", v) }), 6, nil),
		control.NewStepper(t, "Pressure altitude", each(altitudes, func(v float64) string { return fmt.Sprintf("%g m", v) }), 1, nil),
		control.NewStepper(t, "Since shutdown", each(sinces, sinceWords), 8, nil),
		control.NewStepper(t, "Battery charge", each(charges, func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }), 6, nil),
	}
	s.surprise = control.NewButton(t, "Surprise me", "", control.Plain, s.hide)
	s.begin = control.NewButton(t, "Begin", "↵", control.Primary, s.start)
	s.hidden = false
	s.content.Objects = []fyne.CanvasObject{s.arrange()}
	s.content.Refresh()
}

// arrange lays the screen out: flows on the left, how and when on the right.
func (s *Screen) arrange() *fyne.Container {
	t := s.o.Theme
	title := control.Text("What will you practise?", control.Title, fonts.WeightBold, t.Ink)
	sub := control.Text(s.library.Aircraft.Summary, control.Label, fonts.WeightRegular, t.Ink2)
	flows, how, day := control.Heading("THE FLOW", t), control.Heading("THE PHASE", t), control.Heading("THE DAY", t)
	machine := control.Heading("THE AEROPLANE", t)
	children := []fyne.CanvasObject{title, machine, s.aircraft, sub, flows, how, day, s.phase, s.note, s.surprise, s.begin}
	if s.panels != nil {
		children = append(children, s.panels)
	}
	for _, r := range s.rows {
		children = append(children, r)
	}
	for _, st := range s.steppers {
		children = append(children, st)
	}
	return control.Placed(fyne.NewSize(900, 560), func(size fyne.Size) {
		const edge, gap = 48, 40
		left := (size.Width - 2*edge - gap) * 0.5
		right := size.Width - 2*edge - gap - left
		x2 := float32(edge) + left + gap
		control.PutText(title, edge, 20)
		control.PutText(machine, edge, 78)
		control.Put(s.aircraft, edge, 102, left, 46)
		control.PutText(sub, edge, 156)
		control.PutText(flows, edge, 196)
		pitch := min(76, (size.Height-220-24)/float32(len(s.rows)))
		for i, r := range s.rows {
			control.Put(r, edge, 220+float32(i)*pitch, left, pitch-8)
		}
		control.PutText(how, x2, 78)
		control.Put(s.phase, x2, 102, right, 46)
		control.PutText(s.note, x2, 156)
		control.PutText(day, x2, 196)
		y := float32(220)
		for _, st := range s.steppers {
			control.Put(st, x2, y, right, 46)
			y += 54
		}
		control.Put(s.surprise, x2, y, right, 46)
		if s.panels != nil {
			control.Put(s.panels, x2, y+62, right, 46)
		}
		control.Put(s.begin, x2, size.Height-80, right, 56)
	}, children...)
}

// choose takes a flow, and conditions that go with it.
func (s *Screen) choose(i int) {
	s.flow = i
	for j, r := range s.rows {
		r.Choose(j == i)
	}
	switch s.flows[i].Situation {
	case "warm":
		s.steppers[2].Select(4)
	case "hot":
		s.steppers[2].Select(2)
	default:
		s.steppers[2].Select(8)
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
		s.surprise.SetText("A surprise, and something may be wrong: show the day again")
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
		c.Conditions = surprise(c.Conditions.SinceShutdown)
		c.Faults = surpriseFault(s.flows[s.flow])
	}
	s.o.Begin(c)
}

// surprise draws a day at random; how long since the shutdown stays in the
// flow's own range, since that is what chose the flow.
func surprise(since time.Duration) rehearsal.Conditions {
	spread := 0.8 + 0.4*rand.Float64()
	return rehearsal.Conditions{
		OATCelsius:      -10 + 40*rand.Float64(),
		PressureAltM:    2000 * rand.Float64() * rand.Float64(),
		SinceShutdown:   time.Duration(float64(since) * spread),
		BatteryCharge:   0.6 + 0.4*rand.Float64(),
		SurpriseOffered: true,
	}
}

// surpriseFault now and then gives something wrong, as a real day does.
func surpriseFault(f *procedure.Flow) []powerplant.Fault {
	const chance = 0.4
	if f.Situation == "fire" || f.Situation == "flooded" || rand.Float64() > chance {
		return nil
	}
	faults := []powerplant.Fault{
		powerplant.FaultPumpDead, powerplant.FaultWeakBattery, powerplant.FaultSulphated, powerplant.FaultFlooded,
		powerplant.FaultNoOilPressure, powerplant.FaultAlternatorDead, powerplant.FaultStaysEngaged,
	}
	return []powerplant.Fault{faults[rand.IntN(len(faults))]}
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
