package classroom

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// WaitOptions are what the student's screen between runs needs from outside.
type WaitOptions struct {
	Theme  theme.Tokens
	Status func() classroom.Status
	Title  func() string       // of the announced drill's flow, empty for none
	Last   *rehearsal.Snapshot // the end of the last run, nil before the first
	Begin  func()              // a drill at one's own pace
	Leave  func()
}

// Wait is the student's screen until a drill begins, and between runs.
type Wait struct {
	o       WaitOptions
	class   *canvas.Text
	place   *canvas.Text
	drill   *canvas.Text
	state   *canvas.Text
	notice  *message
	begin   *control.Button
	content *fyne.Container
}

// NewWait makes the screen. Call Refresh whenever the status changes.
func NewWait(o WaitOptions) *Wait {
	t := o.Theme
	s := &Wait{o: o,
		class: control.Text("", control.Body, fonts.WeightSemiBold, t.Ink2), place: control.Text("", 64, fonts.WeightBold, t.Ink),
		drill: control.Text("", control.Title, fonts.WeightBold, t.Ink), state: control.Text("", control.Body, fonts.WeightRegular, t.Ink2),
		notice: newMessage(t)}
	s.begin = control.NewButton(t, "Begin", "↵", control.Primary, o.Begin)
	leave := control.NewButton(t, "Leave the class", "", control.Quiet, o.Leave)
	head, result := control.Heading("", t), container.NewVScroll(container.NewVBox())
	if o.Last != nil {
		head, result = control.Heading("YOUR LAST RUN", t), container.NewVScroll(container.NewVBox(resultRows(t, o.Last)...))
	}
	s.content = control.Placed(fyne.NewSize(900, 560), func(z fyne.Size) {
		const edge = 48
		half := (z.Width - 2*edge - 40) * 0.55
		control.PutText(s.class, edge, 28)
		control.PutText(s.place, edge, 62)
		control.PutText(s.drill, edge, 190)
		control.PutText(s.state, edge, 238)
		control.Put(s.begin, edge, 290, 220, 60)
		s.notice.put(edge, 376, half)
		control.Put(leave, edge, z.Height-72, 190, 46)
		control.PutText(head, edge+half+40, 34)
		control.Put(result, edge+half+40, 62, z.Width-2*edge-half-40, z.Height-62-24)
	}, head, result, s.class, s.place, s.drill, s.state, s.begin, s.notice.box, leave)
	s.Refresh()
	return s
}

// Content is what goes below the window's header.
func (s *Wait) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on Begin.
func (s *Wait) Focus(w fyne.Window) { w.Canvas().Focus(s.begin) }

// Refresh shows the status as it is. Call it on the window's goroutine.
func (s *Wait) Refresh() {
	st := s.o.Status()
	s.class.Text = st.Class
	s.place.Text = "Joining …"
	if st.Number > 0 {
		s.place.Text = fmt.Sprintf("Place %d", st.Number)
	}
	if st.Refused {
		s.place.Text = "Not in the class"
	}
	s.drill.Text = s.o.Title()
	if s.drill.Text == "" {
		s.drill.Text = "Wait for the instructor"
	}
	s.state.Text = waitWords(st)
	s.notice.text = st.Notice
	s.begin.Disable(!st.MayBegin)
	if st.MayBegin {
		s.begin.Show()
	} else {
		s.begin.Hide()
	}
	s.content.Refresh()
}

func waitWords(st classroom.Status) string {
	text := ""
	switch {
	case !st.Connected:
		text = "The instructor's machine is not reached at the moment."
	case st.State == classroom.Announced:
		text = "Ready. It begins on the instructor's go."
	case st.MayBegin:
		text = "Begin when you like, as often as you like."
	case st.State == classroom.Going:
		text = "The drill is under way."
	}
	if st.Waiting > 0 {
		text += fmt.Sprintf("  %d events of your runs are kept here and still to be delivered.", st.Waiting)
	} else if st.Connected && st.State != classroom.Announced {
		text = strings.TrimSpace(text + "  Everything is delivered.")
	}
	return text
}

// resultRows are what became of a run, without what was hidden of it: how it
// ended, and each step that was not as it should be.
func resultRows(t theme.Tokens, n *rehearsal.Snapshot) []fyne.CanvasObject {
	first := control.NewRow(t, outcomeWords(n), fmt.Sprintf("%s, %d attempts, %.0f s in all", n.FlowTitle, n.Starter.Used, n.At.Seconds()), "", func() {})
	rows := []fyne.CanvasObject{first}
	for _, a := range n.Alerts {
		rows = append(rows, control.NewRow(t, "■ "+string(a.Breach), a.Text, "unsafe", func() {}))
	}
	well := 0
	for _, v := range n.Steps {
		switch v.Verdict {
		case procedure.OnTime:
			well++
		case procedure.Pending:
		default:
			rows = append(rows, control.NewRow(t, v.Step.Title, v.Detail, "▲ "+string(v.Verdict), func() {}))
		}
	}
	return append(rows, control.NewRow(t, fmt.Sprintf("✓ %d steps as they should be", well), "The instructor debriefs the class.", "", func() {}))
}

func outcomeWords(n *rehearsal.Snapshot) string {
	switch n.Outcome {
	case procedure.Started:
		return "✓ Started"
	case procedure.Stopped:
		return "✓ Rightly not started"
	case procedure.Abandoned:
		return "The run was ended"
	}
	return string(n.Outcome)
}
