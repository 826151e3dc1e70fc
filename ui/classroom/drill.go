package classroom

import (
	"fmt"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// ChooserOptions are what the choice of a drill needs from outside.
type ChooserOptions struct {
	Theme     theme.Tokens
	Libraries []*procedure.Library
	Announce  func(classroom.Situation, classroom.Mode)
	Back      func()
}

// Chooser is where the instructor chooses a drill: it is not for the projector.
type Chooser struct {
	o       ChooserOptions
	library int
	flows   []*procedure.Flow
	flow    int
	rows    []*control.Row
	faults  map[powerplant.Fault]bool
	mode    *control.Choice
	phase   *control.Choice
	air     *control.Stepper
	since   *control.Stepper
	charge  *control.Stepper
	hide    *control.Choice
	first   *control.Button
	content *fyne.Container
}

var (
	modes      = []classroom.Mode{classroom.Together, classroom.OwnPace}
	modeNames  = []string{"Together", "Own pace"}
	phases     = []procedure.Phase{procedure.Evaluate, procedure.Perform, procedure.Demonstrate}
	phaseNames = []string{"Evaluate", "Perform", "Demonstrate"}
	airs       = []float64{-20, -10, -5, 0, 5, 10, 15, 20, 25, 30, 35, 40}
	sinces     = []time.Duration{5 * time.Minute, 10 * time.Minute, 20 * time.Minute, 45 * time.Minute, time.Hour, 2 * time.Hour, 4 * time.Hour, 12 * time.Hour}
	charges    = []float64{0.3, 0.5, 0.7, 0.88, 1}
)

// NewChooser makes the screen.
func NewChooser(o ChooserOptions) *Chooser {
	c := &Chooser{o: o, faults: map[powerplant.Fault]bool{}, content: container.NewStack()}
	c.take(0)
	return c
}

// Content is what goes below the window's header.
func (c *Chooser) Content() fyne.CanvasObject { return c.content }

// Focus puts the keyboard on the button that announces.
func (c *Chooser) Focus(w fyne.Window) { w.Canvas().Focus(c.first) }

func (c *Chooser) take(library int) {
	c.library, c.flows, c.rows, c.flow = library, nil, nil, 0
	for _, f := range c.o.Libraries[library].Flows {
		if f.Entry {
			c.flows = append(c.flows, f)
		}
	}
	c.build()
	c.choose(0)
}

func (c *Chooser) choose(i int) {
	c.flow = i
	for j, r := range c.rows {
		r.Choose(j == i)
	}
}

func (c *Chooser) build() {
	t := c.o.Theme
	var names []string
	for _, l := range c.o.Libraries {
		names = append(names, l.Aircraft.Name)
	}
	title := control.Text("Choose a drill", control.Title, fonts.WeightBold, t.Ink)
	note := control.Text("Not for the projector: students may not see what is chosen here.", control.Label, fonts.WeightRegular, t.Caution)
	aircraft := control.NewChoice(t, names, c.library, c.take)
	var flowRows []fyne.CanvasObject
	for i, f := range c.flows {
		r := control.NewRow(t, f.Title, f.KnownBy, "", func() { c.choose(i) })
		c.rows = append(c.rows, r)
		flowRows = append(flowRows, r)
	}
	flows := container.NewVScroll(container.NewVBox(flowRows...))
	faults := container.NewVScroll(container.NewVBox(c.faultRows()...))
	c.mode = control.NewChoice(t, modeNames, 0, nil)
	c.phase = control.NewChoice(t, phaseNames, 0, nil)
	c.hide = control.NewChoice(t, []string{"Day hidden", "Day shown"}, 0, nil)
	c.air = control.NewStepper(t, "Outside air", words(airs, func(v float64) string { return fmt.Sprintf("%g °C", v) }), 5, nil)
	c.since = control.NewStepper(t, "Since shutdown", words(sinces, sinceWords), len(sinces)-1, nil)
	c.charge = control.NewStepper(t, "Battery charge", words(charges, func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }), 3, nil)
	back := control.NewButton(t, "Back", "", control.Quiet, c.o.Back)
	c.first = control.NewButton(t, "Announce", "↵", control.Primary, func() { c.o.Announce(c.situation(), modes[c.mode.Selected()]) })
	h1, h2, h3 := control.Heading("FLOW", t), control.Heading("HOW", t), control.Heading("WHAT IS WRONG, UNTOLD", t)
	c.content.Objects = []fyne.CanvasObject{control.Placed(fyne.NewSize(980, 560), func(s fyne.Size) {
		const edge, gap = 40, 28
		w := (s.Width - 2*edge - 2*gap) / 3
		x2, x3 := edge+w+gap, edge+2*(w+gap)
		control.PutText(title, edge, 18)
		control.PutText(note, x2, 32)
		control.Put(aircraft, edge, 76, w, 46)
		control.PutText(h1, edge, 136)
		control.Put(flows, edge, 158, w, s.Height-158-20)
		control.PutText(h2, x2, 80)
		y := float32(104)
		for _, o := range []fyne.CanvasObject{c.mode, c.phase, c.hide, c.air, c.since, c.charge} {
			control.Put(o, x2, y, w, 46)
			y += 56
		}
		control.Put(c.first, x2, s.Height-76, w, 56)
		control.PutText(h3, x3, 80)
		control.Put(faults, x3, 104, w, s.Height-104-96)
		control.Put(back, x3+w-110, s.Height-70, 110, 46)
	}, title, note, aircraft, h1, flows, h2, c.mode, c.phase, c.hide, c.air, c.since, c.charge, c.first, h3, faults, back)}
	c.content.Refresh()
}

func (c *Chooser) faultRows() []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for _, f := range powerplant.Faults() {
		var r *control.Row
		r = control.NewRow(c.o.Theme, f.Name, f.Signs, "", func() {
			c.faults[f.Fault] = !c.faults[f.Fault]
			r.Choose(c.faults[f.Fault])
		})
		r.Choose(c.faults[f.Fault])
		out = append(out, r)
	}
	return out
}

func (c *Chooser) situation() classroom.Situation {
	lib := c.o.Libraries[c.library]
	f := c.flows[c.flow]
	s := classroom.Situation{
		Title: f.Title, Aircraft: lib.Aircraft.ID, Flow: f.ID, Phase: phases[c.phase.Selected()], Hidden: c.hide.Selected() == 0,
		Conditions: rehearsal.Conditions{OATCelsius: airs[c.air.Selected()], SinceShutdown: sinces[c.since.Selected()], BatteryCharge: charges[c.charge.Selected()]},
	}
	for _, info := range powerplant.Faults() {
		if c.faults[info.Fault] {
			s.Faults = append(s.Faults, info.Fault)
		}
	}
	return s
}

func sinceWords(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%g min", d.Minutes())
	case d >= overnight:
		return "overnight"
	default:
		return fmt.Sprintf("%g h", d.Hours())
	}
}

const overnight = 12 * time.Hour

func words[T any](values []T, word func(T) string) []string {
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = word(v)
	}
	return out
}
