package rehearse

import (
	"math"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// keyDown does what a key does when it goes down. Repeats never come here: the
// toolkit gives KeyDown once, and the display server's source drops them.
func (s *Screen) keyDown(k fyne.KeyName, at time.Duration) {
	b := keymap[k]
	if s.paused() && b.act != actPause && b.act != actLeave && b.act != actEscape {
		return
	}
	s.hands.fly(false)
	switch b.act {
	case actStart:
		s.holdStart(string(k), at)
	case actOpen:
		s.leverToward(procedure.ControlThrottle, true, slowRate, at)
	case actClose:
		s.leverToward(procedure.ControlThrottle, false, slowRate, at)
	case actEnrich:
		s.leverToward(procedure.ControlMixture, true, fineRate, at)
	case actLean:
		s.leverToward(procedure.ControlMixture, false, fineRate, at)
	default:
		s.perform(b, at)
	}
}

// keyUp lets go of what a key held.
func (s *Screen) keyUp(k fyne.KeyName, at time.Duration) {
	switch keymap[k].act {
	case actStart:
		s.hands.letGo(string(k), at)
	case actOpen, actClose:
		s.hands.stop(procedure.ControlThrottle, at)
	case actEnrich, actLean:
		s.hands.stop(procedure.ControlMixture, at)
	}
}

// paused reports whether the run's time stands still, and hands with it.
func (s *Screen) paused() bool {
	n := s.latest.Load()
	return n != nil && n.Paused
}

// perform does what is done at once and needs no letting go.
func (s *Screen) perform(b binding, at time.Duration) {
	n := s.latest.Load()
	if n == nil {
		return
	}
	switch b.act {
	case actRocker:
		s.toggleNth(n, b.arg, at)
	case actBrakes:
		s.hands.toggle(procedure.ControlBrakes, at)
	case actTurnBack:
		s.hands.turn(procedure.ControlIgnition, -1, at)
	case actTurnOn:
		s.hands.turn(procedure.ControlIgnition, 1, at)
	case actMarkUp, actMarkDown:
		s.hands.driveToMark(procedure.ControlThrottle, b.act == actMarkUp, at)
		s.drive()
	case actRich, actCut:
		s.leverEnd(procedure.ControlMixture, b.act == actRich, at)
	case actThirdUp, actThirdDown:
		s.otherLever(n, procedure.Right, b.act == actThirdUp, at)
	case actLeftUp, actLeftDown:
		s.otherLever(n, procedure.Left, b.act == actLeftUp, at)
	default:
		s.say(n, b, at)
	}
}

// say does what is done with eyes and voice, and the screen's own buttons.
func (s *Screen) say(n *rehearsal.Snapshot, b binding, at time.Duration) {
	switch b.act {
	case actLook:
		s.event(at, procedure.EventLook, []string{procedure.LookLeft, procedure.LookAhead, procedure.LookRight}[b.arg], 0)
	case actClear:
		s.event(at, procedure.EventCall, procedure.CallClear, 0)
	case actReady:
		s.ready(n, at)
	case actReport:
		if ids := asked(present(n)); len(ids) > 0 {
			s.report(ids[0], at)
		}
	case actAnswer, actIgnore:
		if n.Asked != nil {
			s.event(at, procedure.EventCall, map[act]string{actAnswer: CallAnswered, actIgnore: CallIgnored}[b.act], 0)
		}
	case actChoose:
		if b.arg < len(n.Choices) {
			s.event(at, procedure.EventChoose, n.Choices[b.arg].ID, 0)
		}
	case actNext, actBack:
		if n.Phase == procedure.Explain {
			s.event(at, procedure.EventCall, map[act]string{actNext: CallNext, actBack: CallBack}[b.act], 0)
		}
	case actSkip:
		if n.Starter.RestLeft > 0 {
			onWindow(s.opts.SkipRest)
		}
	case actPause:
		onWindow(s.opts.Pause)
	case actLeave:
		onWindow(s.opts.Leave)
	case actEscape:
		s.escape(n)
	}
}

// What a student says beside clear and ready: the subjects of EventCall that
// this screen adds.
const (
	CallAnswered = "answered" // an interruption, answered
	CallIgnored  = "ignored"  // an interruption, put off
	CallNext     = "next"     // Explain: the next step
	CallBack     = "back"     // Explain: the step before
)

func (s *Screen) ready(n *rehearsal.Snapshot, at time.Duration) {
	switch {
	case n.Done:
		onWindow(s.opts.Finish)
	case n.Phase == procedure.Explain:
		s.event(at, procedure.EventCall, CallNext, 0)
	default:
		s.event(at, procedure.EventCall, procedure.CallReady, 0)
	}
}

// escape stops the run, so that one press too many loses nothing; pressed again it
// leaves. A run that is over goes to its debrief.
func (s *Screen) escape(n *rehearsal.Snapshot) {
	switch {
	case n.Done:
		onWindow(s.opts.Finish)
	case n.Paused || s.opts.Pause == nil:
		onWindow(s.opts.Leave)
	default:
		onWindow(s.opts.Pause)
	}
}

// onWindow calls a func on the window's goroutine; keys may come from another.
func onWindow(f func()) {
	if f != nil {
		fyne.Do(f)
	}
}

// report calls an instrument, with what it showed when it was read.
func (s *Screen) report(id procedure.InstrumentID, at time.Duration) {
	n := s.latest.Load()
	if v, ok := reading(n, id); ok && !math.IsNaN(v) {
		s.event(at, procedure.EventReport, string(id), v)
	}
}

func (s *Screen) holdStart(by string, at time.Duration) {
	c, ok := s.hands.find(procedure.ControlIgnition)
	if !ok {
		return
	}
	if d, ok := c.Detent(procedure.DetentStart); ok {
		s.hands.hold(by, c.ID, d, at)
	}
}

func (s *Screen) leverToward(id procedure.ControlID, up bool, rate float64, at time.Duration) {
	c, ok := s.hands.find(id)
	if !ok {
		return
	}
	to := procedure.Position(0)
	if up {
		to = c.Travel
	}
	s.hands.driveTo(id, to, rate, at)
	s.drive()
}

// leverEnd throws a lever to its end, whether or not the key stays down.
func (s *Screen) leverEnd(id procedure.ControlID, up bool, at time.Duration) {
	s.leverToward(id, up, fullRate, at)
}

func (s *Screen) toggleNth(n *rehearsal.Snapshot, i int, at time.Duration) {
	if c, ok := nthSwitch(n.Aircraft, i); ok {
		s.hands.toggle(c.ID, at)
	}
}

// otherLever throws the lever beside throttle and mixture that a hand has, as a
// hand primer.
func (s *Screen) otherLever(n *rehearsal.Snapshot, hand procedure.Hand, up bool, at time.Duration) {
	if c, ok := leverBeside(n.Aircraft, hand); ok {
		s.leverEnd(c.ID, up, at)
	}
}
