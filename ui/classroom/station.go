package classroom

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/rehearse"
	"kickover/ui/theme"
)

// StationOptions are what the screen of one station needs from outside.
type StationOptions struct {
	Theme   theme.Tokens
	Units   units.Units
	Library *procedure.Library // of the present drill
	Drill   classroom.Drill
	Row     func() (classroom.Row, bool)
	Order   func()
	Readmit func()        // lets it back in that was cut off
	LetIn   func()        // lets it begin that came when all had begun
	Told    func() string // who has what was ordered last, empty for nothing
	Back    func()
}

// Station is one station with its levers and gauges live, as its student has
// them before him. Nothing here can be moved.
type Station struct {
	o       StationOptions
	cockpit *rehearse.Screen
	head    *canvas.Text
	word    *canvas.Text
	order   *control.Button
	letIn   *control.Button
	out     bool // it was cut off
	content *fyne.Container
}

const makeHappen = "Make something happen …"

// NewStation makes the screen. Call Refresh twenty times a second.
func NewStation(o StationOptions) *Station {
	t := o.Theme
	s := &Station{o: o, head: control.Text("", control.Body, fonts.WeightBold, t.Ink), word: control.Text("", control.Label, fonts.WeightRegular, t.Ink2)}
	s.cockpit = rehearse.New(rehearse.Options{Theme: t, Units: o.Units, Now: func() time.Duration { return 0 }, Emit: nothing,
		Watched: rehearse.Watched{Title: "Watched", Says: "the student's hands move it, nothing here does"}})
	s.order = control.NewButton(t, makeHappen, "", control.Plain, func() {
		if s.out {
			o.Readmit()
			return
		}
		o.Order()
	})
	s.letIn = control.NewButton(t, "Let it begin", "", control.Primary, o.LetIn)
	s.letIn.Hide()
	back := control.NewButton(t, "Back to the board", "", control.Primary, o.Back)
	cockpit := s.cockpit.Content()
	shield := control.NewShield()
	s.content = control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const bar = 64
		control.PutText(s.head, 24, 12)
		control.PutText(s.word, 24, 36)
		w1, w2 := s.order.MinSize().Width, back.MinSize().Width
		control.Put(back, z.Width-24-w2, 9, w2, 46)
		control.Put(s.order, z.Width-36-w2-w1, 9, w1, 46)
		w3 := s.letIn.MinSize().Width
		control.Put(s.letIn, z.Width-48-w2-w1-w3, 9, w3, 46)
		control.Put(cockpit, 0, bar, z.Width, z.Height-bar)
		control.Put(shield, 0, bar, z.Width, z.Height-bar)
	}, s.head, s.word, s.letIn, s.order, back, cockpit, shield)
	return s
}

// Content is what goes below the window's header.
func (s *Station) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the button that orders.
func (s *Station) Focus(w fyne.Window) { w.Canvas().Focus(s.order) }

// Refresh shows the station as it stands. Call it on the window's goroutine.
func (s *Station) Refresh() {
	r, ok := s.o.Row()
	if !ok {
		return
	}
	s.head.Text = fmt.Sprintf("Station %d  %s", r.Number, r.Name)
	s.word.Text = joined(string(s.o.Drill.Situation.Phase), stationWords(r), s.o.Told())
	if out := r.Trouble != ""; out != s.out {
		s.out = out
		s.order.SetText(map[bool]string{true: "Let it back in", false: makeHappen}[out])
	}
	if waits := r.Need == classroom.NeedLetIn; waits == s.letIn.Hidden {
		s.letIn.Hidden = !waits
		s.content.Refresh()
	}
	s.head.Refresh()
	s.word.Refresh()
	if s.o.Library != nil {
		s.cockpit.Show(snapshot(s.o.Library, s.o.Drill, r.Live))
	}
}

func stationWords(r classroom.Row) string {
	text := wordFor(r)
	if r.Trouble != "" {
		text += ": it " + r.Trouble
	}
	var unsafe, waiting string
	if l := r.Live; l.Unsafe > 0 {
		unsafe = fmt.Sprintf("■ %d unsafe, last: %s", l.Unsafe, l.Breach)
	}
	if r.Live.Waiting > 0 {
		waiting = fmt.Sprintf("%d events still to be delivered", r.Live.Waiting)
	}
	return joined(text, unsafe, waiting)
}

// joined puts what there is to say side by side.
func joined(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), "   ")
}

// watched is the phase in which an instructor sees a run, with each step's name
// and window, also where the student flies without them.
const watched = procedure.Demonstrate

// snapshot shows a station's position in the picture of a run. What a position
// does not tell is left empty.
func snapshot(lib *procedure.Library, d classroom.Drill, l classroom.Live) *rehearsal.Snapshot {
	a := lib.Aircraft
	panel, _ := a.Panel(d.Situation.Panel)
	n := &rehearsal.Snapshot{At: l.At, Aircraft: a, Panel: panel, Phase: watched, Conditions: d.Situation.Conditions, Present: l.Step,
		Positions: make([]procedure.Position, len(a.Controls)), Readings: make([]float64, len(a.Instruments)),
		Area: l.Area.View(), Paused: l.Paused, Done: l.Done, Outcome: l.Outcome}
	for i := range a.Controls {
		n.Positions[i] = a.Controls[i].Initial
		if i < len(l.Levers) {
			n.Positions[i] = a.Controls[i].Clamp(procedure.Position(l.Levers[i]))
		}
	}
	for i := range n.Readings {
		if i < len(l.Gauges) {
			n.Readings[i] = float64(l.Gauges[i])
		}
	}
	if f, ok := lib.Flow(d.Situation.Flow); ok {
		n.FlowTitle = f.Title
		for i := range f.Steps {
			v := rehearsal.StepView{Key: string(f.Steps[i].ID), Step: &f.Steps[i], Status: rehearsal.StepNext}
			switch {
			case i < l.Step:
				v.Status = rehearsal.StepDone
			case i == l.Step:
				v.Status, v.Elapsed, v.Overdue = rehearsal.StepPresent, l.Elapsed, l.Overdue > 0
			}
			n.Steps = append(n.Steps, v)
		}
	}
	if n.Present >= len(n.Steps) {
		n.Present = len(n.Steps)
	} else {
		w := n.Steps[n.Present].Step.Window
		n.Clock = rehearsal.ClockView{Label: "STEP", Sub: l.Title, Running: !l.Paused, Elapsed: l.Elapsed, Window: w, Scale: max(8*time.Second, 2*w.Max)}
	}
	n.Starter = rehearsal.StarterView{Limits: a.Starter, Used: l.Tries, Cranking: l.Engine == "cranking"}
	if l.Unsafe > 0 {
		n.Alerts = []rehearsal.Alert{{Breach: l.Breach, Text: l.Breach.Warning().Caption}}
	}
	return n
}
