package classroom

import (
	"fmt"

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
	Theme   theme.Tokens
	Status  func() classroom.Status
	Title   func() string              // of the announced drill's flow, empty for none
	Last    func() *rehearsal.Snapshot // the end of the last run, nil before the first
	Address string                     // that was typed
	Said    func() string              // by the instructor, while it stands
	Begin   func()                     // a drill at one's own pace
	Leave   func()
}

// Wait is the student's screen until a drill begins, and between runs.
type Wait struct {
	o       WaitOptions
	class   *canvas.Text
	place   *canvas.Text
	drill   *canvas.Text
	state   *message
	notice  *message
	said    *message
	begin   *control.Button
	leave   *control.Button
	head    *canvas.Text
	result  *fyne.Container
	last    *rehearsal.Snapshot // that result shows
	content *fyne.Container
}

// NewWait makes the screen. Call Refresh whenever the status changes.
func NewWait(o WaitOptions) *Wait {
	t := o.Theme
	s := &Wait{o: o,
		class: control.Text("", control.Body, fonts.WeightSemiBold, t.Ink2), place: control.Text("", 64, fonts.WeightBold, t.Ink),
		drill: control.Text("", control.Title, fonts.WeightBold, t.Ink), state: newMessage(t), notice: newMessage(t), said: newMessage(t),
		head: control.Heading("YOUR LAST RUN", t), result: container.NewVBox()}
	s.state.colour, s.state.size = t.Ink2, control.Body
	s.said.colour, s.said.size = t.Ink, spokenSize
	s.begin = control.NewButton(t, "Begin", "↵", control.Primary, o.Begin)
	s.leave = control.NewButton(t, leaveClass, "", control.Plain, o.Leave)
	list := container.NewVScroll(s.result)
	s.content = control.Placed(fyne.NewSize(640, 560), func(z fyne.Size) {
		const edge = 48
		half := (z.Width - 2*edge - 40) * 0.55
		control.PutText(s.class, edge, 28)
		control.PutText(s.place, edge, 62)
		control.PutText(s.drill, edge, 190)
		s.state.put(edge, 240, half)
		y := max(300, 240+s.state.box.Size().Height+12)
		control.Put(s.begin, edge, y, 220, 60)
		s.notice.put(edge, y+84, half)
		s.said.put(edge, max(y+140, y+84+s.notice.box.Size().Height+12), half)
		control.Put(s.leave, edge, z.Height-72, s.leave.MinSize().Width, 46)
		control.PutText(s.head, edge+half+40, 34)
		control.Put(list, edge+half+40, 62, z.Width-2*edge-half-40, z.Height-62-24)
	}, s.head, list, s.class, s.place, s.drill, s.state.box, s.begin, s.notice.box, s.said.box, s.leave)
	s.head.Hide()
	s.Refresh()
	return s
}

// spokenSize is that of a line that was spoken: of a caption, since it stands in for
// the voice.
const spokenSize = 24

const leaveClass = "Leave the class"

// Content is what goes below the window's header.
func (s *Wait) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on Begin.
func (s *Wait) Focus(w fyne.Window) { w.Canvas().Focus(s.begin) }

// Refresh shows the status as it is. Call it on the window's goroutine.
func (s *Wait) Refresh() {
	st := s.o.Status()
	s.class.Text = st.Class
	if st.Name != "" && st.Class != "" {
		s.class.Text = st.Name + " in " + st.Class
	}
	s.place.Text, s.drill.Text = "Joining …", ""
	switch {
	case st.Refused:
		s.place.Text = "Not in the class"
	case another(st):
		s.place.Text = "Not this machine"
	case st.Number > 0:
		s.place.Text = fmt.Sprintf("Place %d", st.Number)
		if s.drill.Text = s.o.Title(); s.drill.Text == "" {
			s.drill.Text = "Wait for the instructor"
		}
	}
	leave := leaveClass
	if st.Number == 0 {
		leave = "Type it again"
	}
	s.leave.SetText(leave)
	s.state.text = waitWords(st, s.o.Address, s.last != nil)
	s.notice.text = ""
	// That nothing is reached is said above.
	if st.Notice != "" && st.Notice != classroom.ErrAway.Error() {
		s.notice.text = sentence(st.Notice)
	}
	s.said.text = ""
	if line := s.o.Said(); line != "" {
		s.said.text = instructor + ": “" + line + "”"
	}
	s.begin.Disable(!st.MayBegin)
	s.begin.Hidden = !st.MayBegin
	s.showLast()
	s.content.Refresh()
}

// another reports whether another machine than the class's answers.
func another(st classroom.Status) bool {
	return !st.Connected && st.Notice == classroom.ErrUntrusted.Error()
}

func (s *Wait) showLast() {
	if n := s.o.Last(); n != s.last && n != nil {
		s.last = n
		s.head.Show()
		s.result.Objects = resultRows(s.o.Theme, n)
		s.result.Refresh()
	}
}

func waitWords(st classroom.Status, address string, flown bool) string {
	var text string
	switch {
	case st.Refused, another(st): // the notice says what it is
		return ""
	case !st.Connected && st.Number == 0:
		return fmt.Sprintf("Nothing has answered at %s yet; it is tried on. Look at the projector: is the address right, and is this machine on the same network?", address)
	case !st.Connected:
		text = "The instructor's machine is not reached at the moment. It is tried on; everything is kept here and delivered later."
	case st.Begins:
		text = "Hands ready: it begins on “go”."
	case st.Waits:
		text = "The class is flying already. Your instructor sees that you wait, and lets you in."
	case st.State == classroom.Announced:
		text = "Ready. It begins on the instructor's go."
	case st.MayBegin:
		text = "Begin when you like, as often as you like."
	case st.State == classroom.Going:
		text = "The drill is under way."
	case st.State == classroom.Over:
		text = "The drill is over."
	default:
		text = "You will be brought here when a drill is announced, wherever in the program you are."
	}
	switch {
	case st.Waiting > 0:
		text += fmt.Sprintf(" %d events of your runs are still to be delivered.", st.Waiting)
	case flown && st.Connected:
		text += " Everything is delivered."
	}
	return text
}

// resultRows are what became of a run, without what was hidden of it: how it
// ended, and each step that was not as it should be.
func resultRows(t theme.Tokens, n *rehearsal.Snapshot) []fyne.CanvasObject {
	first := control.NewRow(t, outcomeWords(n), fmt.Sprintf("%s, %s, %.0f s in all", n.FlowTitle, attempts(n.Starter.Used), n.At.Seconds()), "", func() {})
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
	title := "The instructor debriefs the class"
	switch {
	case well == 1:
		title = "✓ 1 step as it should be"
	case well > 1:
		title = fmt.Sprintf("✓ %d steps as they should be", well)
	}
	return append(rows, control.NewRow(t, title, "What was wrong and untold is told when the class is debriefed.", "", func() {}))
}

func attempts(n int) string {
	if n == 1 {
		return "1 attempt"
	}
	return fmt.Sprintf("%d attempts", n)
}

func outcomeWords(n *rehearsal.Snapshot) string {
	switch n.Outcome {
	case procedure.Started:
		return "✓ Started"
	case procedure.Stopped:
		return "✓ Stopped rightly"
	case procedure.EndUnsafe:
		return "■ Something was done that could hurt somebody"
	case procedure.NotStarted:
		return "▲ Not started"
	case procedure.Abandoned:
		return "○ Broken off"
	}
	return sentence(string(n.Outcome))
}
