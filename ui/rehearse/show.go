package rehearse

import (
	"fmt"
	"math"
	"strings"
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/ui/panel"
)

// alertFor is how long a breach's banner stands.
const alertFor = 7 * time.Second

// show gives every cell what a snapshot says of it.
func (v *view) show(n *rehearsal.Snapshot, h *hands) {
	st := present(n)
	silent := n.Phase == procedure.Evaluate
	aims := aimsOf(n)
	// Thirty times a second: words are made only where they are others.
	if v.told == nil || v.told.Conditions != n.Conditions || v.told.FlowTitle != n.FlowTitle || v.told.Phase != n.Phase || v.told.Paused != n.Paused {
		v.head.Show(headOf(n, v.opts.Units, v.opts.Watched))
	}
	v.time.Show(timeState{int(n.At / time.Second), n.Paused, n.Done})
	if v.told == nil || !sameStrip(v.told, n) {
		v.strip.Show(stripOf(n, v.opts.Units))
	}
	v.told = n
	v.showOverlays(n)
	v.showGauges(n, st, silent)
	v.showControls(n, aims, silent, h)

	v.ledgered.Show(panel.LedgerState{
		Limits: n.Starter.Limits, Used: n.Starter.Used, Cranking: n.Starter.Cranking, Long: n.Starter.Long,
		Rest: int((n.Starter.RestLeft + time.Second - 1) / time.Second), Skip: v.opts.SkipRest != nil,
	})
	v.showCaption(n, silent, h)
	v.showVoice(n, silent)
	v.showWatch(n, st, silent)
	v.board.Commit()
}

// showWatch is the last: where nothing else has changed, and nothing is timed, the
// hand waits for its figures, since each frame is the whole window painted again; and
// the figures tick where nobody needs their tenths.
func (v *view) showWatch(n *rehearsal.Snapshot, st *procedure.Step, silent bool) {
	c := n.Clock
	switch {
	case n.Done:
		c = lastClock(n)
	case silent:
		c = quiet(c, st)
	}
	if n.Paused && !n.Done {
		c.Label, c.Sub = "paused", ""
	}
	watch := v.watch.State(strings.ToUpper(c.Label), c.Sub, c.Elapsed, c.Scale, c.Window, c.Running, c.Down)
	watch.Limit = !silent && st != nil && st.Kind == procedure.StepCrank
	watch.Idle = watch.Idle || n.Paused && !n.Done
	if !timed(n) && tenthless(c, watch.Scale) {
		watch = panel.Ticking(watch, c.Elapsed, c.Down)
	}
	if !timed(n) && !v.board.Stale() {
		watch = panel.Ticked(v.watched.Value(), watch)
	}
	v.watched.Show(watch)
	v.faced.Show(watch.Still())
}

// timed reports whether the stopwatch times what a hand does: then every frame of
// it counts.
func timed(n *rehearsal.Snapshot) bool {
	return n.Starter.Cranking || n.Clock.Running && n.Clock.Label == "PRIME"
}

// tenthless reports whether tenths tell nobody anything: while more than the last ten
// seconds of a rest are left, and once a step has outlasted the dial.
func tenthless(c rehearsal.ClockView, dial time.Duration) bool {
	const last = 10 * time.Second
	if c.Down {
		return c.Elapsed > last
	}
	return c.Running && c.Elapsed >= dial
}

// quiet is the stopwatch as Evaluate shows it: without a window, and without the
// name of a step that has not begun.
func quiet(c rehearsal.ClockView, st *procedure.Step) rehearsal.ClockView {
	c.Window, c.Sub = procedure.Window{}, ""
	begun := st != nil && (st.Kind == procedure.StepHold || st.Kind == procedure.StepCrank) && c.Running
	if !begun && !c.Down {
		c.Label, c.Scale = "STEP", 0
	}
	return c
}

// lastClock is what the stopwatch keeps when a run is over: the last prime beside
// its window, or how long the run was.
func lastClock(n *rehearsal.Snapshot) rehearsal.ClockView {
	c := rehearsal.ClockView{Label: "run", Elapsed: n.At, Scale: max(n.At.Truncate(time.Minute)+time.Minute, time.Minute)}
	for _, st := range n.Steps {
		if st.Step.Kind == procedure.StepHold && st.Status == rehearsal.StepDone && st.Elapsed > 0 {
			c.Label, c.Sub, c.Window = "your prime", "", st.Window
			c.Elapsed = st.Elapsed.Round(100 * time.Millisecond) // as the debrief has it
			c.Scale = max(8*time.Second, (max(st.Elapsed, st.Window.Max) + time.Second).Truncate(time.Second))
			if n.Phase == procedure.Demonstrate {
				c.Label = "the prime"
			}
		}
	}
	return c
}

func (v *view) showCaption(n *rehearsal.Snapshot, silent bool, h *hands) {
	s := panel.CaptionState{Text: n.Caption.Text, By: n.Caption.By, Hint: n.Caption.Hint, Priority: n.Caption.Priority, Notice: n.Notice}
	if silent {
		s.Hint = ""
	}
	if hint := mouseHint(n, h); hint != "" {
		s.Hint = hint
	}
	if n.Done && s.Priority != procedure.PriorityWarning { // it was said, and its step is over
		s.Text, s.By, s.Hint = "", "", ""
	}
	v.said.Show(s)
	if k := len(n.Alerts); k > 0 && n.At-n.Alerts[k-1].At < alertFor {
		text := n.Alerts[k-1].Text
		if text == "" {
			text = string(n.Alerts[k-1].Breach)
		}
		v.banned.Show(panel.BannerState{Text: text})
	} else {
		v.banned.Hide()
	}
	if n.Asked != nil {
		v.call.Show(callState{n.Asked.Who, n.Asked.Text})
	} else {
		v.call.Hide()
	}
}

// showOverlays puts the one picture that is due over the instruments.
func (v *view) showOverlays(n *rehearsal.Snapshot) {
	area := areaOf(n)
	v.looked.Show(area)
	end, choices := n.Done, len(n.Choices) > 0
	lesson := n.Phase == procedure.Explain && present(n) != nil
	switch {
	case choices && !end:
		v.question.Show(choicesOf(n))
	default:
		v.question.Hide()
	}
	if end {
		v.ended.Show(endStateOf(n))
	} else {
		v.ended.Hide()
	}
	if lesson && !end && !choices {
		v.lesson.Show(lessonOf(n))
	} else {
		v.lesson.Hide()
	}
	if n.Area.Active && !end && !choices && !lesson && (n.Phase != procedure.Evaluate || begun(n.Area)) {
		v.scened.Show(area)
	} else {
		v.scened.Hide()
	}
}

// begun reports whether the student has begun to look. In Evaluate the picture
// must not say that it is time to.
func begun(a rehearsal.AreaView) bool {
	return a.Called || a.Sectors[0].Looked || a.Sectors[1].Looked || a.Sectors[2].Looked ||
		a.Sectors[0].Seen || a.Sectors[1].Seen || a.Sectors[2].Seen
}

func areaOf(n *rehearsal.Snapshot) panel.AreaState {
	s := panel.AreaState{Brakes: n.Area.BrakesHeld, Called: n.Area.Called, Valid: n.Area.Valid, Answer: panel.Tenths(n.Area.AnswerLeft)}
	for i, q := range n.Area.Sectors {
		s.Sectors[i] = panel.Sector{Looked: q.Looked, Occupied: q.Occupied && q.Seen}
		if s.Sectors[i].Occupied {
			s.Sectors[i].Who = q.Who
		}
	}
	for _, st := range n.Steps {
		s.Due = s.Due || st.Step.Kind == procedure.StepPropClear && st.Status != rehearsal.StepDone
	}
	if st := present(n); st != nil && st.Kind == procedure.StepPropClear {
		s.Wait = panel.Tenths(st.AnswerWait)
	}
	return s
}

func (v *view) covered() bool {
	return v.question.Visible() || v.lesson.Visible() || v.scened.Visible()
}

func (v *view) showGauges(n *rehearsal.Snapshot, st *procedure.Step, silent bool) {
	if v.covered() {
		for _, c := range v.dialed {
			c.Hide()
		}
		if v.traced != nil {
			v.traced.Hide()
		}
		v.hideSmall()
		return
	}
	wanted := func(id procedure.InstrumentID) bool {
		if silent {
			return false
		}
		for _, a := range asked(st) {
			if a == id {
				return true
			}
		}
		return false
	}
	for i, d := range v.dials {
		r := v.shows(n, d.Instrument.ID)
		v.dialed[i].Show(d.State(r, wanted(d.Instrument.ID)))
	}
	if v.traced != nil {
		word := string(n.FlowState)
		if silent {
			word = ""
		}
		v.traceAt, v.tracePoints = n.At, n.FlowTrace
		v.traced.Show(v.trace.State(n.At, n.FlowTrace, word))
	}
	if v.ended.Visible() { // on the row of the rest
		v.hideSmall()
		return
	}
	for i, b := range v.bars {
		r := v.shows(n, b.Instrument.ID)
		v.barred[i].Show(b.State(r, wanted(b.Instrument.ID)))
	}
	if v.lamps != nil {
		var s panel.LampsState
		for i, l := range v.lamps.Instruments {
			r, _ := reading(n, l.ID)
			s.Lit[i], s.Asked[i] = r >= 0.5, wanted(l.ID)
		}
		v.lit.Show(s)
	}
}

// hideSmall takes the row of small gauges and lamps away.
func (v *view) hideSmall() {
	for _, c := range v.barred {
		c.Hide()
	}
	if v.lit != nil {
		v.lit.Hide()
	}
}

func (v *view) showControls(n *rehearsal.Snapshot, aims map[procedure.ControlID]procedure.Position, silent bool, h *hands) {
	at := func(id procedure.ControlID) (procedure.Position, float64) {
		p, _ := h.position(id)
		if aim, ok := aims[id]; ok && !silent {
			return p, float64(aim)
		}
		return p, math.NaN()
	}
	for i, r := range v.rockers {
		p, aim := at(r.Control.ID)
		v.rocked[i].Show(r.State(p, !math.IsNaN(aim) && procedure.Position(aim) != p))
	}
	for i, t := range v.toggles {
		p, aim := at(t.Control.ID)
		v.toggled[i].Show(panel.RockerState{Detent: int8(t.Control.Clamp(p)), Aim: !math.IsNaN(aim) && procedure.Position(aim) != p})
	}
	if v.brake != nil {
		p, aim := at(v.brake.Control.ID)
		v.braked.Show(panel.RockerState{Detent: int8(v.brake.Control.Clamp(p)), Aim: !math.IsNaN(aim) && procedure.Position(aim) != p})
	}
	if v.key != nil {
		p, aim := at(v.key.Control.ID)
		s := panel.KeySwitchState{Detent: int8(v.key.Control.Clamp(p)), Aim: -1}
		s.Held = v.key.Sprung(int(s.Detent))
		if !math.IsNaN(aim) && procedure.Position(aim) != p {
			s.Aim = int8(aim)
		}
		v.keyed.Show(s)
	}
	for i, l := range v.levers {
		p, aim := at(l.Control.ID)
		s := l.State(p, aim, !silent, h.grabbed() == l.Control.ID)
		v.levered[i].Show(s)
		v.aimed[i].Show(s.AimState())
	}
}

// aimsOf is where the present step wants the controls: what the accent marks.
func aimsOf(n *rehearsal.Snapshot) map[procedure.ControlID]procedure.Position {
	st := present(n)
	if st == nil || n.Done {
		return nil
	}
	aims := map[procedure.ControlID]procedure.Position{}
	for _, t := range st.Targets {
		aims[t.Control] = t.At
	}
	if st.Hold != nil {
		aims[st.Hold.Control] = st.Hold.Full
		if n.Clock.Running && (n.FlowState == rehearsal.FlowLevel || n.Clock.Elapsed >= n.Clock.Window.Ideal && !n.Clock.Window.Zero()) {
			aims[st.Hold.Control] = st.Hold.Rest
		}
	}
	if st.Kind == procedure.StepCrank {
		if c, ok := n.Aircraft.Control(procedure.ControlIgnition); ok {
			if d, ok := c.Detent(procedure.DetentStart); ok {
				aims[c.ID] = d
			}
		}
	}
	return aims
}

// handWords says in a word or two what a step is done with.
func handWords(h procedure.Hand) string {
	switch h {
	case procedure.Left, procedure.Right:
		return string(h) + " hand"
	case "":
		return "you"
	default:
		return string(h)
	}
}

// window prints a window of time.
func windowWords(w procedure.Window) string {
	sec := func(d time.Duration) string {
		if d%time.Second == 0 {
			return fmt.Sprintf("%d", d/time.Second)
		}
		return fmt.Sprintf("%.1f", d.Seconds())
	}
	switch {
	case w.Zero():
		return ""
	case w.Min == 0:
		return "within " + sec(w.Max) + " s"
	case w.Ideal == 0:
		return fmt.Sprintf("window %.1f–%.1f s", w.Min.Seconds(), w.Max.Seconds())
	default:
		return fmt.Sprintf("window %.1f–%.1f s · ideal %.1f s", w.Min.Seconds(), w.Max.Seconds(), w.Ideal.Seconds())
	}
}
