package classroom

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// SequenceOptions are what the screen of the class's sequence needs from outside.
type SequenceOptions struct {
	Theme     theme.Tokens
	Units     units.Units
	Libraries []*procedure.Library
	Plan      []classroom.Situation // empty begins with a cold start
	Next      int                   // the one to begin with, an index of Plan
	Drilled   func(classroom.Situation) int
	Keep      func([]classroom.Situation) // after every change
	// Announce makes the stations ready for one; its error is shown as it is.
	Announce func(at int, s classroom.Situation, m classroom.Mode) error
	Back     func()
}

// Sequence is where the instructor puts together what the class will meet, and
// announces one after another: it is not for the projector.
type Sequence struct {
	o       SequenceOptions
	plan    []classroom.Situation
	at      int // the one that is shown, an index of plan
	list    *fyne.Container
	lines   []*control.Row // of list
	flows   []*control.Row
	mode    *control.Choice
	begin   *control.Button
	problem *message
	content *fyne.Container
}

// What can be chosen. A value that lies between two is shown as the nearer.
var (
	modes      = []classroom.Mode{classroom.Together, classroom.OwnPace}
	modeNames  = []string{"Together, on go", "Own pace"}
	phases     = []procedure.Phase{procedure.Evaluate, procedure.Perform, procedure.Demonstrate}
	phaseNames = []string{"Evaluate", "Perform", "Demonstrate"}
	airs       = []float64{-20, -15, -10, -5, 0, 5, 10, 15, 20, 25, 30, 35, 40}
	altitudes  = []float64{0, 120, 300, 600, 1000, 1500, 2000, 2500, 3000}
	sinces     = []time.Duration{5 * time.Minute, 10 * time.Minute, 20 * time.Minute, 45 * time.Minute, time.Hour, 2 * time.Hour, 4 * time.Hour, overnight}
	charges    = []float64{0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.88, 0.95, 1}
)

const overnight = 12 * time.Hour

// NewSequence makes the screen.
func NewSequence(o SequenceOptions) *Sequence {
	s := &Sequence{o: o, plan: slices.Clone(o.Plan), content: container.NewStack(), problem: newMessage(o.Theme)}
	if len(s.plan) == 0 {
		s.plan = []classroom.Situation{s.first(o.Libraries[0])}
		s.keep()
	}
	s.at = min(max(o.Next, 0), len(s.plan)-1)
	s.build()
	return s
}

// first is what an aeroplane is drilled with when nothing else was said.
func (s *Sequence) first(l *procedure.Library) classroom.Situation {
	out := classroom.Situation{Aircraft: l.Aircraft.ID, Phase: procedure.Evaluate, Hidden: true,
		Conditions: rehearsal.Conditions{OATCelsius: 10, PressureAltM: 120, SinceShutdown: overnight, BatteryCharge: 0.88}}
	if f := entries(l); len(f) > 0 {
		out.Flow, out.Title = f[0].ID, f[0].Title
	}
	return out
}

// entries are the flows that a run can begin with.
func entries(l *procedure.Library) []*procedure.Flow {
	var out []*procedure.Flow
	for _, f := range l.Flows {
		if f.Entry {
			out = append(out, f)
		}
	}
	return out
}

// Content is what goes below the window's header.
func (s *Sequence) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the button that announces.
func (s *Sequence) Focus(w fyne.Window) { w.Canvas().Focus(s.begin) }

func (s *Sequence) keep() {
	if s.o.Keep != nil {
		s.o.Keep(slices.Clone(s.plan))
	}
}

// edit changes the situation that is shown.
func (s *Sequence) edit(change func(*classroom.Situation)) {
	change(&s.plan[s.at])
	s.keep()
	s.showList()
}

// put replaces the sequence and shows one of it.
func (s *Sequence) put(plan []classroom.Situation, at int) {
	s.plan, s.at = plan, at
	s.keep()
	s.build()
}

func (s *Sequence) add() {
	more := s.plan[s.at]
	more.Faults = slices.Clone(more.Faults)
	s.put(slices.Insert(slices.Clone(s.plan), s.at+1, more), s.at+1)
}

func (s *Sequence) remove() {
	if len(s.plan) > 1 {
		s.put(slices.Delete(slices.Clone(s.plan), s.at, s.at+1), max(0, s.at-1))
	}
}

func (s *Sequence) move(by int) {
	to := s.at + by
	if to < 0 || to >= len(s.plan) {
		return
	}
	plan := slices.Clone(s.plan)
	plan[s.at], plan[to] = plan[to], plan[s.at]
	s.put(plan, to)
}

func (s *Sequence) look(i int) {
	s.at = i
	s.build()
}

// showList brings the list of situations up to date.
func (s *Sequence) showList() {
	s.lines, s.list.Objects = nil, nil
	for i, x := range s.plan {
		end := ""
		if n := s.o.Drilled(x); n > 0 {
			end = "✓ flown"
		}
		r := control.NewRow(s.o.Theme, fmt.Sprintf("%d  %s", i+1, s.flowTitle(x)), s.note(x), end, func() { s.look(i) })
		r.Choose(i == s.at)
		s.lines = append(s.lines, r)
		s.list.Add(r)
	}
	s.list.Refresh()
}

func (s *Sequence) library(x classroom.Situation) (int, *procedure.Library) {
	for i, l := range s.o.Libraries {
		if l.Aircraft.ID == x.Aircraft {
			return i, l
		}
	}
	return 0, s.o.Libraries[0]
}

func (s *Sequence) flowTitle(x classroom.Situation) string {
	_, l := s.library(x)
	if f, ok := l.Flow(x.Flow); ok {
		return f.Title
	}
	return string(x.Flow)
}

// note is what a situation is, in a line.
func (s *Sequence) note(x classroom.Situation) string {
	_, l := s.library(x)
	parts := []string{}
	for _, f := range x.Faults {
		parts = append(parts, strings.ToLower(faultName(f)))
	}
	parts = append(parts, s.o.Units.Celsius(x.Conditions.OATCelsius), sinceWords(x.Conditions.SinceShutdown), l.Aircraft.Name)
	return strings.Join(parts, " · ")
}

func faultName(f powerplant.Fault) string {
	for _, info := range powerplant.Faults() {
		if info.Fault == f {
			return info.Name
		}
	}
	return string(f)
}

// build lays the screen out for the situation that is shown.
func (s *Sequence) build() {
	t, x := s.o.Theme, s.plan[s.at]
	title := control.Text("The class's sequence", control.Title, fonts.WeightBold, t.Ink)
	secret := control.Text("Not for the projector: students may not see what is chosen here.", control.Label, fonts.WeightMedium, t.Caution)
	order, flow, day := s.order(), s.flow(x), s.day(x)
	children := append([]fyne.CanvasObject{title, secret}, order.children...)
	children = append(append(children, flow.children...), day.children...)
	s.content.Objects = []fyne.CanvasObject{control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const edge, gap, top = 32, 20, 100
		w := (z.Width - 2*edge - 2*gap) / 3
		control.PutText(title, edge, 16)
		control.PutText(secret, z.Width-edge-secret.MinSize().Width, 30)
		order.place(edge, top, w, z.Height-76)
		flow.place(edge+w+gap, top, w, z.Height-76)
		day.place(edge+2*(w+gap), top, w, z.Height-76)
	}, children...)}
	s.content.Refresh()
}

// order is the list of situations, and how it is changed.
func (s *Sequence) order() region {
	t := s.o.Theme
	head := control.Heading("IN THIS ORDER", t)
	s.list = container.NewVBox()
	s.showList()
	list := container.NewVScroll(s.list)
	edits := []*control.Button{
		control.NewButton(t, "Add one", "", control.Plain, s.add), control.NewButton(t, "Remove", "", control.Plain, s.remove),
		control.NewButton(t, "Up", "", control.Plain, func() { s.move(-1) }), control.NewButton(t, "Down", "", control.Plain, func() { s.move(1) }),
	}
	edits[1].Disable(len(s.plan) == 1)
	edits[2].Disable(s.at == 0)
	edits[3].Disable(s.at == len(s.plan)-1)
	back := control.NewButton(t, "Back to the board", "", control.Quiet, s.o.Back)
	children := []fyne.CanvasObject{head, list}
	for _, b := range edits {
		children = append(children, b)
	}
	return region{append(children, back), func(x, y, w, foot float32) {
		control.PutText(head, x, y-22)
		control.Put(list, x, y, w, foot-56-y-12)
		bx := x
		for _, b := range edits {
			bw := b.MinSize().Width
			control.Put(b, bx, foot-56, bw, 44)
			bx += bw + 8
		}
		control.Put(back, x, foot+8, back.MinSize().Width, 46)
	}}
}

// flow is which aeroplane and flow it is, and what is wrong with it.
func (s *Sequence) flow(x classroom.Situation) region {
	h1, h2 := control.Heading("AIRCRAFT AND FLOW", s.o.Theme), control.Heading("SOMETHING WRONG, UNTOLD", s.o.Theme)
	aircraft, flows, faults := s.aircraftChoice(x), container.NewVScroll(s.flowRows(x)), container.NewVScroll(s.faultRows(x))
	return region{[]fyne.CanvasObject{h1, aircraft, flows, h2, faults}, func(x, y, w, foot float32) {
		half := (foot + 54 - y - 56) / 2
		control.PutText(h1, x, y-22)
		control.Put(aircraft, x, y, w, 46)
		control.Put(flows, x, y+56, w, half-34)
		control.PutText(h2, x, y+56+half-20)
		control.Put(faults, x, y+56+half, w, half)
	}}
}

// day is the day, how it is flown, and the button that announces.
func (s *Sequence) day(x classroom.Situation) region {
	t := s.o.Theme
	h1, h2 := control.Heading("THE DAY", t), control.Heading("HOW IT IS FLOWN", t)
	how := s.how(x)
	if s.mode == nil {
		s.mode = control.NewChoice(t, modeNames, 0, nil)
	}
	s.begin = control.NewButton(t, fmt.Sprintf("Announce number %d", s.at+1), "↵", control.Primary, s.announce)
	children := append([]fyne.CanvasObject{h1}, how...)
	return region{append(children, h2, s.mode, s.problem.box, s.begin), func(x, y, w, foot float32) {
		control.PutText(h1, x, y-22)
		for _, o := range how {
			control.Put(o, x, y, w, 44)
			y += 51
		}
		control.PutText(h2, x, y+14)
		control.Put(s.mode, x, y+36, w, 46)
		s.problem.put(x, y+92, w)
		control.Put(s.begin, x, foot, w, 56)
	}}
}

func (s *Sequence) aircraftChoice(x classroom.Situation) *control.Choice {
	var names []string
	for _, l := range s.o.Libraries {
		names = append(names, l.Aircraft.Name)
	}
	at, _ := s.library(x)
	return control.NewChoice(s.o.Theme, names, at, func(i int) {
		first := s.first(s.o.Libraries[i])
		s.edit(func(x *classroom.Situation) {
			x.Aircraft, x.Flow, x.Title, x.Panel = first.Aircraft, first.Flow, first.Title, ""
		})
		s.build()
	})
}

func (s *Sequence) flowRows(x classroom.Situation) *fyne.Container {
	_, l := s.library(x)
	box := container.NewVBox()
	s.flows = nil
	for i, f := range entries(l) {
		r := control.NewRow(s.o.Theme, f.Title, f.KnownBy, "", func() {
			s.edit(func(x *classroom.Situation) { x.Flow, x.Title = f.ID, f.Title })
			for j, r := range s.flows {
				r.Choose(j == i)
			}
		})
		r.Choose(f.ID == x.Flow)
		s.flows = append(s.flows, r)
		box.Add(r)
	}
	return box
}

func (s *Sequence) faultRows(x classroom.Situation) *fyne.Container {
	box := container.NewVBox()
	for _, f := range powerplant.Faults() {
		var r *control.Row
		r = control.NewRow(s.o.Theme, f.Name, f.Signs, "", func() {
			s.edit(func(x *classroom.Situation) { x.Faults = toggled(x.Faults, f.Fault) })
			r.Choose(slices.Contains(s.plan[s.at].Faults, f.Fault))
		})
		r.Choose(slices.Contains(x.Faults, f.Fault))
		box.Add(r)
	}
	return box
}

// toggled puts a fault into a list, or takes it out.
func toggled(faults []powerplant.Fault, f powerplant.Fault) []powerplant.Fault {
	if i := slices.Index(faults, f); i >= 0 {
		return slices.Delete(slices.Clone(faults), i, i+1)
	}
	return append(slices.Clone(faults), f)
}

// how are the phase and the day.
func (s *Sequence) how(x classroom.Situation) []fyne.CanvasObject {
	t, c := s.o.Theme, x.Conditions
	day := func(set func(*rehearsal.Conditions, int)) func(int) {
		return func(i int) { s.edit(func(x *classroom.Situation) { set(&x.Conditions, i) }) }
	}
	hide := 1
	if x.Hidden {
		hide = 0
	}
	return []fyne.CanvasObject{
		control.NewChoice(t, phaseNames, max(0, slices.Index(phases, x.Phase)), func(i int) { s.edit(func(x *classroom.Situation) { x.Phase = phases[i] }) }),
		control.NewChoice(t, []string{"Day hidden", "Day shown"}, hide, func(i int) { s.edit(func(x *classroom.Situation) { x.Hidden = i == 0 }) }),
		control.NewStepper(t, "Outside air", each(airs, s.o.Units.Celsius), nearest(airs, c.OATCelsius), day(func(c *rehearsal.Conditions, i int) { c.OATCelsius = airs[i] })),
		control.NewStepper(t, "Pressure altitude", each(altitudes, s.o.Units.Metres), nearest(altitudes, c.PressureAltM), day(func(c *rehearsal.Conditions, i int) { c.PressureAltM = altitudes[i] })),
		control.NewStepper(t, "Since shutdown", each(sinces, sinceWords), nearest(sinces, c.SinceShutdown), day(func(c *rehearsal.Conditions, i int) { c.SinceShutdown = sinces[i] })),
		control.NewStepper(t, "Battery charge", each(charges, func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }), nearest(charges, c.BatteryCharge), day(func(c *rehearsal.Conditions, i int) { c.BatteryCharge = charges[i] })),
	}
}

func (s *Sequence) announce() {
	s.problem.text = ""
	if err := s.o.Announce(s.at, s.plan[s.at], modes[s.mode.Selected()]); err != nil {
		s.problem.text = sentence(err.Error())
		s.content.Refresh()
		s.build()
	}
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

func each[T any](values []T, word func(T) string) []string {
	out := make([]string, len(values))
	for i, v := range values {
		out[i] = word(v)
	}
	return out
}

// nearest is the index of the value that is nearest to one.
func nearest[T ~float64 | ~int64](values []T, to T) int {
	best := 0
	for i, v := range values {
		if math.Abs(float64(v-to)) < math.Abs(float64(values[best]-to)) {
			best = i
		}
	}
	return best
}
