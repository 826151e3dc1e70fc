package classroom

import (
	"context"
	"encoding/json"
	"math"
	"time"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// This file is what a station does all the time: tell where it stands, compare
// clocks, and deliver what it has written down.

const (
	liveEvery    = 45 * time.Millisecond  // at the most: below a screen's 50, so that the two do not stay out of step
	idleEvery    = time.Second            // at the least
	deliverEvery = 500 * time.Millisecond // so that a disk that takes 15 ms serves many stations
	appendWait   = 5 * time.Second
	confirmWait  = 4 * time.Second // after which what was handed over is delivered again
	askWait      = 2 * time.Second
	compareFast  = 100 * time.Millisecond // until there are comparisons enough
	compareSlow  = 2 * time.Second
)

// tellLive tells the instructor where this station stands: at once when that
// changes, though no more often than every so often, and now and then when not.
func (s *Station) tellLive() {
	var told *rehearsal.Snapshot
	var knew *Live
	again := time.NewTimer(0)
	defer again.Stop()
	var last time.Time
	for {
		select {
		case <-s.shown:
		case <-again.C:
		case <-s.ctx.Done():
			return
		}
		snap, know := s.latest.Load(), s.liveNow.Load()
		since := time.Since(last)
		// While a run is shown, what else is new goes with its next moment.
		switch changed := snap != told || know != knew && since > 4*liveEvery; {
		case changed && since < liveEvery:
			again.Reset(liveEvery - since)
			continue
		case !changed && since < idleEvery:
			again.Reset(idleEvery - since)
			continue
		}
		told, knew, last = snap, know, time.Now()
		again.Reset(idleEvery)
		l := *know
		if snap != nil {
			describe(&l, snap)
		}
		l.Waiting = s.book.Waiting()
		_ = s.link.Load().Live(encode(l)) // a position that is lost is followed by another
	}
}

// describe puts a snapshot into the words of the board.
func describe(l *Live, s *rehearsal.Snapshot) {
	l.At, l.Step, l.Steps = s.At, s.Present, len(s.Steps)
	for i := range s.Steps {
		v := &s.Steps[i]
		switch v.Verdict {
		case procedure.Missed, procedure.OutOfOrder:
			l.Missed++
		case procedure.Early, procedure.Late:
			l.Late++
		}
		if v.Step.Kind == procedure.StepHold && v.Status == rehearsal.StepDone {
			l.Prime += v.Elapsed
		}
	}
	if s.Clock.Label == "PRIME" && s.Clock.Running {
		l.Prime += s.Clock.Elapsed
	}
	if s.Present < len(s.Steps) {
		v := &s.Steps[s.Present]
		l.Key, l.Title, l.Elapsed = v.Key, v.Step.Title, v.Elapsed
		if w := v.Step.Window; v.Overdue && v.Elapsed > w.Max {
			l.Overdue = v.Elapsed - w.Max
		}
	}
	l.Tries, l.Unsafe = s.Starter.Used, len(s.Alerts)
	if n := len(s.Alerts); n > 0 {
		l.Breach = s.Alerts[n-1].Breach
	}
	l.Engine, l.Area = engineWord(s), packArea(s.Area)
	l.Paused, l.Done, l.Outcome = s.Paused, s.Done, s.Outcome
	for _, p := range s.Positions {
		l.Levers = append(l.Levers, number(p))
	}
	for _, r := range s.Readings {
		l.Gauges = append(l.Gauges, number(r))
	}
}

// engineWord says what the engine does.
func engineWord(s *rehearsal.Snapshot) string {
	const turning = 300 // rpm: more than a starter gives
	switch {
	case s.Starter.Cranking:
		return "cranking"
	default:
		for i, in := range s.Aircraft.Instruments {
			if in.ID == procedure.InstrumentRPM && !math.IsNaN(s.Readings[i]) && s.Readings[i] > turning {
				return "running"
			}
		}
	}
	return ""
}

// compare says hello whenever the connection came up, and compares clocks.
func (s *Station) compare() {
	greeted, known := false, 0
	wait := time.NewTimer(0)
	defer wait.Stop()
	for {
		select {
		case <-s.up:
			greeted, known = false, 0
		case <-wait.C:
		case <-s.ctx.Done():
			return
		}
		if !greeted {
			greeted = s.hello()
		}
		if greeted && s.compareOnce() {
			known++
		}
		wait.Reset(compareSlow)
		if greeted && known < comparisonsKept {
			wait.Reset(compareFast)
		}
	}
}

func (s *Station) hello() bool {
	asked := make(chan question, 1)
	s.post(func() {
		asked <- question{Kind: "hello", Protocol: protocol, Name: s.id.Name, Key: s.key.public(), Fresh: s.fresh}
	})
	var q question
	select {
	case q = <-asked:
	case <-s.ctx.Done():
		return false
	}
	q.Runs = s.book.Runs()
	if len(q.Runs) > runsOfStation {
		q.Runs = q.Runs[:runsOfStation]
	}
	var a answer
	if s.ask(q, &a) != nil {
		return false
	}
	s.post(func() { s.greeted(a) })
	return true
}

// greeted takes up what the instructor's program said.
func (s *Station) greeted(a answer) {
	if a.Error != "" {
		s.notice = a.Error
		s.tellStatus()
		return
	}
	if s.fresh {
		s.fresh, s.orders = false, a.Skip
	}
	if s.session != a.Session {
		// Another program, another class time.
		s.times.Forget()
		s.session = a.Session
	}
	s.class, s.number, s.notice, s.connected = a.Class, a.Number, "", true
	if f, ok := s.id.Pinned(); ok {
		s.pin(f, a.Class)
	}
	for run, r := range a.Confirmed {
		s.book.confirm(run, r.Upto, r.Ended, time.Now())
	}
	// What was on its way when the connection was lost may be lost too.
	s.book.doubt(time.Time{})
	poke(s.book.durable)
	if a.Notice != nil {
		s.drillNotice(*a.Notice)
	}
	s.tellStatus()
}

func (s *Station) compareOnce() bool {
	var a answer
	asked := s.clock.Now()
	if s.ask(question{Kind: "clock", Asked: asked}, &a) != nil || a.Error != "" || a.Asked != asked {
		return false
	}
	c := Comparison{Asked: asked, Received: a.Received, Sent: a.Sent, Answered: s.clock.Now()}
	s.post(func() {
		s.times.Add(c)
		if s.drill != nil {
			s.going(s.drill)
		}
		s.tellStatus()
	})
	return true
}

func (s *Station) ask(q question, a *answer) error {
	ctx, stop := context.WithTimeout(s.ctx, askWait)
	defer stop()
	text, err := s.link.Load().Ask(ctx, encode(q))
	if err != nil {
		return err
	}
	return json.Unmarshal(text, a)
}

// deliver hands over what is on the disk, at most one message each half second
// and run, until the instructor's store has confirmed all of it.
func (s *Station) deliver() {
	tick := time.NewTicker(deliverEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
		case <-s.ctx.Done():
			return
		}
		s.book.doubt(time.Now().Add(-confirmWait))
		for s.deliverOne() {
		}
	}
}

// deliverOne hands over one message, and reports whether there may be another.
func (s *Station) deliverOne() bool {
	if !s.status.Load().Connected {
		return false
	}
	l, m, ok := s.book.next()
	if !ok {
		return false
	}
	ctx, stop := context.WithTimeout(s.ctx, appendWait)
	defer stop()
	if err := s.link.Load().Append(ctx, encode(m)); err != nil {
		return false
	}
	s.book.handedOver(l, m, time.Now())
	return true
}
