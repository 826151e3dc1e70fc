package rehearsal

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"kickover/procedure"
)

// This file makes snapshots: where the run stands, in the words and numbers
// that a screen or a terminal shows.

// Snapshot is the present moment.
func (r *Rehearsal) Snapshot() *Snapshot {
	st := r.run.State()
	a := r.o.Library.Aircraft
	panel, _ := a.Panel(r.o.Panel)
	flow, _ := r.o.Library.Flow(r.o.Flow)
	s := &Snapshot{
		At: st.At, Aircraft: a, Panel: panel, FlowTitle: flow.Title,
		Phase: r.o.Phase, Conditions: r.o.Conditions,
		Positions: append([]procedure.Position(nil), r.positions...),
		Readings:  make([]float64, len(a.Instruments)),
		FlowTrace: append([]TracePoint(nil), r.trace...),
		FlowState: r.flowState(),
		Steps:     r.stepViews(&st),
		Present:   st.Present,
		Clock:     r.clock(&st),
		Starter:   r.starterView(&st),
		Area:      r.areaView(&st),
		Caption:   r.captions.shownAt(st.At),
		Alerts:    append([]Alert(nil), r.alerts...),
		Choices:   st.Choices,
		Done:      st.Outcome != procedure.Running,
		Outcome:   st.Outcome,
	}
	gauges := r.plant.Readings()
	for i := range a.Instruments {
		s.Readings[i] = r.readingOf(gauges, a.Instruments[i].ID)
	}
	if e := st.Interrupted; e != nil {
		s.Asked = &Interruption{At: e.At, Who: e.Subject, Text: e.Text}
	}
	s.Caption.Hint = r.hint(&st)
	return s
}

func (r *Rehearsal) stepViews(st *procedure.State) []StepView {
	out := make([]StepView, len(st.Steps))
	for i := range st.Steps {
		s := &st.Steps[i]
		v := StepView{
			Key: s.Key, Step: s.Step, Verdict: s.Verdict, Elapsed: s.Elapsed, Window: s.Window,
			Status: stepStatus(s.Status), Detail: r.detail(s),
		}
		if s.Status == procedure.StatusPresent {
			v.Elapsed = st.At - s.Begin
			v.Overdue = !s.Window.Zero() && s.Window.Max > 0 && v.Elapsed > s.Window.Max && !waitsForHold(s, st)
		}
		out[i] = v
	}
	return out
}

// waitsForHold reports whether the step's window is about a hold that has not
// begun: nobody is late for it yet.
func waitsForHold(s *procedure.StepState, st *procedure.State) bool {
	switch s.Step.Kind {
	case procedure.StepHold:
		return !st.Holding
	case procedure.StepCrank:
		return !st.Cranking
	default:
		return false
	}
}

func stepStatus(s procedure.StepStatus) StepStatus {
	switch s {
	case procedure.StatusPresent:
		return StepPresent
	case procedure.StatusOpen:
		return StepOpen
	case procedure.StatusDone:
		return StepDone
	case procedure.StatusNotReached:
		return StepNotReached
	default:
		return StepNext
	}
}

// detail is the number beside a finished step.
func (r *Rehearsal) detail(s *procedure.StepState) string {
	if s.Status != procedure.StatusDone {
		return ""
	}
	switch {
	case s.Step.Kind == procedure.StepCheck && !math.IsNaN(s.Value):
		return r.formatReading(s.Step.Conditions[0].Instrument, s.Value)
	case s.Verdict == procedure.Missed:
		return ""
	default:
		return fmt.Sprintf("%.1f s", s.Elapsed.Seconds())
	}
}

func (r *Rehearsal) formatReading(id procedure.InstrumentID, v float64) string {
	in, ok := r.o.Library.Aircraft.Instrument(id)
	if !ok {
		return ""
	}
	unit := strings.ReplaceAll(in.Unit, "degC", "°C")
	return strconv.FormatFloat(v, 'f', in.Decimals, 64) + " " + unit
}

// clock chooses what the stopwatch times: the prime while it is held, the
// starter while it is engaged, a rest while there is one, else the present step.
func (r *Rehearsal) clock(st *procedure.State) ClockView {
	switch {
	case st.Holding:
		w, label := procedure.Window{}, "PRIME"
		for i := range st.Steps {
			if s := &st.Steps[i]; s.Step.Kind == procedure.StepHold && !s.Finished() {
				w = s.Window
				break
			}
		}
		return ClockView{Label: label, Sub: "mixture is forward", Running: true,
			Elapsed: st.At - st.HeldSince, Window: w, Scale: scaleFor(w.Max)}
	case st.Cranking:
		limit := r.o.Library.Aircraft.Starter.Crank
		a := st.Attempts[len(st.Attempts)-1]
		return ClockView{Label: "CRANK", Sub: "release by " + seconds(limit), Running: true,
			Elapsed: st.At - a.Engaged, Window: procedure.Window{Max: limit}, Scale: scaleFor(limit)}
	}
	if left := r.restLeft(st); left > 0 && !st.Fired {
		rest := r.o.Library.Aircraft.Starter.Rest
		if r.ledger.LongRest() {
			rest = r.o.Library.Aircraft.Starter.LongRest
		}
		sub := "starter cools"
		if len(st.Attempts) == 0 {
			sub = "fuel drains"
		}
		return ClockView{Label: "REST", Sub: sub, Running: true, Down: true, Elapsed: left, Scale: max(rest, left)}
	}
	if st.Present >= len(st.Steps) {
		return ClockView{Scale: 8 * time.Second}
	}
	s := &st.Steps[st.Present]
	begin := s.Begin
	if s.Step.WindowFrom == procedure.FromFires && st.Fired {
		begin = st.FiredAt
	}
	c := ClockView{Label: strings.ToUpper(kindWord(s.Step.Kind)), Running: true, Elapsed: st.At - begin,
		Window: s.Window, Scale: scaleFor(s.Window.Max)}
	if waitsForHold(s, st) {
		c.Running, c.Elapsed = false, 0
	}
	return c
}

// kindWord is what the stopwatch calls a step.
func kindWord(k procedure.StepKind) string {
	switch k {
	case procedure.StepHold:
		return "prime"
	case procedure.StepPropClear:
		return "look"
	case procedure.StepCrank, procedure.StepCatch, procedure.StepRelease, procedure.StepSettle, procedure.StepRest, procedure.StepBrief, procedure.StepCheck:
		return string(k)
	default:
		return "step"
	}
}

// scaleFor gives a whole turn of the hand that leaves the window in its lower
// half, in steps a person can read.
func scaleFor(longest time.Duration) time.Duration {
	for _, s := range []time.Duration{8 * time.Second, 12 * time.Second, 20 * time.Second, 30 * time.Second, 40 * time.Second, time.Minute, 2 * time.Minute} {
		if longest <= s*4/5 {
			return s
		}
	}
	return longest * 5 / 4
}

func seconds(d time.Duration) string {
	return strconv.FormatFloat(d.Seconds(), 'f', -1, 64) + " s"
}

func (r *Rehearsal) starterView(st *procedure.State) StarterView {
	v := StarterView{Limits: r.o.Library.Aircraft.Starter, Used: r.ledger.Used(), Cranking: st.Cranking, Long: r.ledger.LongRest()}
	if !st.Cranking && !st.Fired {
		v.RestLeft = r.restLeft(st)
	}
	return v
}

// areaView shows what the student has uncovered. Where the check is over,
// somebody who walks in afterwards is still seen: the eyes are outside now.
func (r *Rehearsal) areaView(st *procedure.State) AreaView {
	held, _ := r.brakes()
	v := AreaView{Called: st.Area.Called, Valid: st.AreaValid, BrakesHeld: held, Active: r.lookingOut(st)}
	for i := range v.Sectors {
		v.Sectors[i] = SectorView{Looked: st.Area.Looked[i], Occupied: st.Area.Occupied[i]}
		v.Sectors[i].Seen = v.Sectors[i].Looked || v.Sectors[i].Occupied && v.Active
		if v.Sectors[i].Occupied {
			v.Sectors[i].Who = r.whoIn(i)
		}
	}
	if st.Area.Called && st.At < st.Area.Answer {
		v.AnswerLeft = st.Area.Answer - st.At
	}
	return v
}

// lookingOut reports whether the propeller's area is what the eyes are on: during
// the check, and before a crank for which it no longer holds.
func (r *Rehearsal) lookingOut(st *procedure.State) bool {
	if st.Cranking || st.Present >= len(st.Steps) {
		return false
	}
	switch st.Steps[st.Present].Step.Kind {
	case procedure.StepPropClear:
		return true
	case procedure.StepCrank:
		return !st.AreaValid && !st.Fired
	default:
		return false
	}
}

func (r *Rehearsal) brakes() (held, ok bool) {
	c, ok := r.o.Library.Aircraft.Control(procedure.ControlBrakes)
	if !ok {
		return false, false
	}
	p, _ := c.Detent(procedure.DetentHeld)
	return r.position(procedure.ControlBrakes) == p, true
}

// whoIn says who entered a sector last.
func (r *Rehearsal) whoIn(i int) string {
	for j := len(r.events) - 1; j >= 0; j-- {
		if e := r.events[j]; e.Kind == procedure.EventArea && e.Subject == procedure.Sectors[i] && e.Value != 0 {
			return e.Text
		}
	}
	return ""
}

// flowState puts the last second of the fuel flow into a word.
func (r *Rehearsal) flowState() FlowState {
	n := len(r.trace)
	const second = int(time.Second / sampleEvery)
	if n <= second || r.trace[n-1].Value < 0.1 {
		return FlowNone
	}
	change := r.trace[n-1].Value - r.trace[n-1-second/2].Value
	const steady = 0.06 // g/s in half a second: what an eye takes for level on this gauge
	switch {
	case change > steady:
		return FlowRising
	case change < -steady:
		return FlowFalling
	default:
		return FlowLevel
	}
}

// hint is the quiet second line under a caption.
func (r *Rehearsal) hint(st *procedure.State) string {
	if r.o.Phase == procedure.Evaluate || st.Present >= len(st.Steps) {
		return ""
	}
	s := &st.Steps[st.Present]
	switch {
	case st.Holding && s.Step.Hold != nil && s.Step.Hold.By != procedure.ByClock:
		switch r.flowState() {
		case FlowLevel:
			return "the flow has levelled off"
		case FlowRising:
			return "watch the flow: it is still rising"
		}
	case s.Step.Kind == procedure.StepPropClear && st.Area.Occupied != [3]bool{}:
		return "wait, then look again"
	case s.Step.Kind == procedure.StepPropClear && st.Area.Called:
		return "wait for an answer"
	case s.Step.Kind == procedure.StepCheck && s.FalseCalls > 0:
		return "called too soon: look again"
	}
	return ""
}

// shownAt is the caption on screen at an offset, empty once it has been read.
func (c *captioner) shownAt(now time.Duration) Caption {
	const linger = 900 * time.Millisecond
	if now > c.until+linger {
		return Caption{}
	}
	return c.shown
}
