package rehearse

import (
	"fmt"
	"image/color"
	"strings"
	"time"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/panel"
)

// headState is what the line at the top says.
type headState struct {
	aircraft, flow, conditions, phase, says string
	paused                                  bool
}

// timeState is the run's time, in whole seconds: the stopwatch has the tenths.
type timeState struct {
	seconds      int
	paused, done bool
}

func headOf(n *rehearsal.Snapshot, u units.Units, w Watched) headState {
	h := headState{
		aircraft: n.Aircraft.Name, flow: n.FlowTitle, conditions: conditions(n.Conditions, u),
		phase: phaseName(n.Phase), says: phaseSays(n.Phase), paused: n.Paused,
	}
	if w.Title != "" {
		h.phase, h.says = w.Title, w.Says
	}
	return h
}

func phaseName(p procedure.Phase) string {
	switch p {
	case procedure.Explain:
		return "Explain"
	case procedure.Demonstrate:
		return "Demonstrate"
	case procedure.Perform:
		return "Perform"
	default:
		return "Evaluate"
	}
}

func phaseSays(p procedure.Phase) string {
	switch p {
	case procedure.Explain:
		return "each step and why"
	case procedure.Demonstrate:
		return "watch the hands"
	case procedure.Perform:
		return "prompted by voice and picture"
	default:
		return "silent; scored"
	}
}

func conditions(c rehearsal.Conditions, u units.Units) string {
	if c.SurpriseOffered {
		return "conditions: find out"
	}
	since := fmt.Sprintf("%.0f min since shutdown", c.SinceShutdown.Minutes())
	if c.SinceShutdown >= 2*time.Hour {
		since = fmt.Sprintf("%.0f h since shutdown", c.SinceShutdown.Hours())
	}
	return u.Celsius(c.OATCelsius) + " · " + u.Metres(c.PressureAltM) + " · " + since
}

func (v *view) paintHead(p *panel.Pen, s headState) {
	x := v.top.X + 8
	name := panel.Title
	x += p.Text(s.aircraft, x, 37, panel.Start, name, p.Ink) + 7
	x += p.Text(s.flow, x, 37, panel.Start, panel.Lead.Weighted(fonts.WeightRegular), p.Ink2) + 22
	w := p.Measure(s.conditions, panel.Small.Sized(13)) + 30
	p.Box(panel.Rect{X: x, Y: 17, W: w, H: 29}, 14, p.Panel, p.Tokens.Line, 1.2)
	p.Text(s.conditions, x+w/2, 36, panel.Middle, panel.Small.Sized(13), p.Ink2)
	x += w + 28
	x += p.Text(s.phase, x, 37, panel.Start, panel.Title.Sized(16), p.Now) + 12
	if s.paused {
		p.Triangle(x+8, 31, 12, p.Caution)
		text := "paused: Esc again leaves, F9 goes on"
		if v.opts.Pause == nil { // somebody else paused it
			text = "paused: the run's time stands still"
		}
		if p.Measure(text, panel.Label) > v.sayRoom(x+22) {
			text = "paused" // the button beside it says how it goes on
		}
		p.Text(text, x+22, 37, panel.Start, panel.Label, p.Ink)
		return
	}
	p.Text(p.Clip(s.says, panel.Small.Sized(13), v.sayRoom(x)), x, 37, panel.Start, panel.Small.Sized(13), p.Ink2)
}

// sayRoom is how much room the line at the top has from x on.
func (v *view) sayRoom(x float64) float64 { return v.head.Area.X + v.head.Area.W - x }

func (v *view) timePlates() []plate {
	r := v.time.Area
	var out []plate
	x := r.X + r.W - 90
	add := func(text, key string, a act) {
		x -= 98
		out = append(out, plate{panel.Plate{At: panel.Rect{X: x, Y: 17, W: 92, H: 29}, Text: text, Key: key}, a, 0})
	}
	if v.opts.Leave != nil {
		add("Leave", leaveKey, actLeave)
	}
	if v.opts.Pause != nil && !v.time.Value().done {
		text := "Pause"
		if v.time.Value().paused {
			text = "Go on"
		}
		add(text, pauseKey, actPause)
	}
	return out
}

func (v *view) paintTime(p *panel.Pen, s timeState) {
	for _, b := range v.timePlates() {
		line, ink := p.Tokens.Line, p.Ink2
		if s.paused && b.act == actPause {
			line, ink = p.Now, p.Ink
		}
		p.Box(b.At, 14, color.NRGBA{}, line, 1.2)
		p.Text(b.Text, b.At.X+14, 36, panel.Start, panel.Small.Sized(13), ink)
		p.Text(b.Key, b.At.X+b.At.W-12, 36, panel.End, panel.Tiny, p.Ink2)
	}
	t := fmt.Sprintf("%d:%02d", s.seconds/60, s.seconds%60)
	p.Text(t, v.top.X+v.top.W-8, 37, panel.End, panel.Title, p.Ink)
}

// lessonState is a step explained.
type lessonState struct {
	panel.Lesson
	first, last bool
}

func lessonOf(n *rehearsal.Snapshot) lessonState {
	st := present(n)
	do := st.Prompt.Caption
	if strings.Contains(spoken(st.Title), spoken(do)) {
		do = "" // the title says it
	}
	return lessonState{
		Lesson: panel.Lesson{
			Over: "EXPLAIN · " + handWords(st.Hand), Title: st.Title, Do: do,
			Why: st.Why, Wrong: st.Wrong, Place: fmt.Sprintf("%d of %d", n.Present+1, len(n.Steps)),
		},
		first: n.Present == 0, last: n.Present == len(n.Steps)-1,
	}
}

func (v *view) lessonPlates() []plate {
	r := v.gauges
	y := r.Y + r.H - 54
	s := v.lessonNow()
	next := "Next"
	if s.last {
		next = "Done"
	}
	out := []plate{{panel.Plate{At: panel.Rect{X: r.X + r.W - 28 - 150, Y: y, W: 150, H: 36}, Text: next, Key: "→", Main: true}, actNext, 0}}
	if !s.first {
		out = append(out, plate{panel.Plate{At: panel.Rect{X: r.X + 28, Y: y, W: 130, H: 36}, Text: "Back", Key: "←"}, actBack, 0})
	}
	return out
}

func (v *view) lessonNow() lessonState { return v.lesson.Value() }

func (v *view) paintLesson(p *panel.Pen, s lessonState) {
	panel.Card{At: v.gauges}.PaintLesson(p, s.Lesson)
	for _, b := range v.lessonPlates() {
		b.Paint(p)
	}
}

// The most ways on that can be offered at once: as many as have keys.
const mostChoices = 4

// questionState is a question with its answers: what to do now that it did not
// fire.
type questionState struct {
	panel.Question
	asks, titles [mostChoices]string
}

func choicesOf(n *rehearsal.Snapshot) questionState {
	q := questionState{Question: panel.Question{
		Over: "WHAT NOW?", Title: "What do the signs say?", Caution: true,
		Text: "Think aloud: was the prime inside its window, did the flow rise, is there a smell of fuel, what do the lamps show?",
	}}
	for i, c := range n.Choices {
		if i < mostChoices {
			q.asks[i], q.titles[i] = c.Ask, c.Title
		}
	}
	return q
}

// endOf says how a run ended, and what the debrief has to say about it.
func endOf(n *rehearsal.Snapshot) panel.Question {
	q := panel.Question{Over: "THE RUN IS OVER"}
	switch {
	case n.Phase == procedure.Explain:
		q.Title, q.Text = "That was the flow.", "Watch it next, then do it."
	case n.Outcome == procedure.Started:
		q.Title, q.Text = "The engine runs.", "The debrief has each step and its window, and why it started."
	case n.Outcome == procedure.EndUnsafe:
		q.Caution, q.Title, q.Text = true, "That could have hurt somebody.", "The debrief says what. Read it before you go again."
	case n.Outcome == procedure.Stopped:
		q.Title, q.Text = "You stopped, and that was right.", "The debrief says what was wrong, and how it showed."
	case n.Outcome == procedure.Abandoned:
		q.Title, q.Text = "You left the run.", "What was done until then is in the debrief."
	default:
		q.Caution, q.Title, q.Text = true, "It did not start.", "The debrief shows what was in the cylinders, and why."
	}
	return q
}

// endState is how a run ended, and where its button leads.
type endState struct {
	panel.Question
	leads string
}

func endStateOf(n *rehearsal.Snapshot) endState {
	s := endState{endOf(n), "Read the debrief"}
	if n.Phase == procedure.Explain { // of which there is nothing to debrief
		s.leads = "Watch it done"
	}
	return s
}

// endRoom is how wide the button to the debrief is.
const endRoom = 210

// endCard is where it stands that a run is over: on the row of small gauges, so
// that those of the engine are still seen.
func (v *view) endCard() panel.Rect {
	g := v.gauges
	return panel.Rect{X: g.X, Y: g.Y + g.H - 100, W: g.W, H: 100}
}

func (v *view) endPlates() []plate {
	if v.opts.Finish == nil {
		return nil
	}
	r := v.endCard()
	return []plate{{panel.Plate{At: panel.Rect{X: r.X + r.W - 20 - endRoom, Y: r.Y + 29, W: endRoom, H: 42}, Text: v.ended.Value().leads, Key: readyKey, Main: true}, actReady, 0}}
}

func (v *view) paintEnd(p *panel.Pen, s endState) {
	plates := v.endPlates()
	panel.Card{At: v.endCard()}.PaintEnd(p, s.Question, float64(len(plates))*(endRoom+20))
	for _, b := range plates {
		b.Paint(p)
	}
}

func (v *view) questionPlates() []plate {
	s, r := v.question.Value(), v.gauges
	n := 0
	for _, t := range s.titles {
		if t != "" {
			n++
		}
	}
	var out []plate
	h := 52.0
	if n > 3 {
		h = 43 // room for the question above four answers
	}
	y := r.Y + r.H - 16 - float64(n)*h
	for i := range n {
		w := (r.W - 56) * 0.46
		out = append(out, plate{panel.Plate{
			At: panel.Rect{X: r.X + r.W - 28 - w, Y: y + float64(i)*h, W: w, H: h - 10}, Text: s.titles[i], Key: choiceKeys[i],
		}, actChoose, i})
	}
	return out
}

func (v *view) paintQuestion(p *panel.Pen, s questionState) {
	panel.Card{At: v.gauges}.PaintQuestion(p, s.Question)
	for i, b := range v.questionPlates() {
		b.Paint(p)
		x := v.gauges.X + 28
		p.Paragraph(s.asks[i], x, b.At.Y+18, b.At.X-x-16, 18, 2, panel.Start, panel.Type{Size: 14.5}, p.Ink)
	}
}

// callState is an interruption.
type callState struct{ who, text string }

func (v *view) callPlates() []plate {
	r := v.call.Area
	y, w := r.Y+r.H-46, (r.W-44)/2
	return []plate{
		{panel.Plate{At: panel.Rect{X: r.X + 16, Y: y, W: w, H: 34}, Text: "Answer", Key: answerKey}, actAnswer, 0},
		{panel.Plate{At: panel.Rect{X: r.X + 28 + w, Y: y, W: w, H: 34}, Text: "Not now", Key: ignoreKey}, actIgnore, 0},
	}
}

func (v *view) paintCall(p *panel.Pen, s callState) {
	panel.Card{At: v.call.Area}.PaintCall(p, s.who, s.text)
	for _, b := range v.callPlates() {
		b.Paint(p)
	}
}

// plates are the buttons that are there now.
func (v *view) plates() []plate {
	out := v.timePlates()
	if v.call.Visible() {
		out = append(out, v.callPlates()...)
	}
	if v.voice.Visible() {
		out = append(out, v.voicePlates()...)
	}
	switch {
	case v.ended.Visible():
		out = append(out, v.endPlates()...)
	case v.question.Visible():
		out = append(out, v.questionPlates()...)
	case v.lesson.Visible():
		out = append(out, v.lessonPlates()...)
	}
	if s := v.ledgered.Value(); v.ledgered.Visible() && s.Skip && s.Rest > 0 {
		out = append(out, plate{panel.Plate{At: v.ledger.SkipButton()}, actSkip, 0})
	}
	return out
}
