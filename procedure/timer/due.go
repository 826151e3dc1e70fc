package timer

import (
	"time"

	"kickover/procedure"
)

// ahead is how long before its moment a line of the rest is asked for: long
// enough for a voice to be on time, short enough to be taken back.
const ahead = time.Second

// Next is the next moment at which something falls due by itself, and false
// when nothing will.
func (m *Machine) Next() (time.Duration, bool) {
	at, act := m.nextDue()
	return max(at, m.now), act != nil
}

// advance does what has fallen due up to at, in order.
func (m *Machine) advance(at time.Duration) {
	for {
		due, act := m.nextDue()
		if act == nil || due > at {
			return
		}
		m.now = max(m.now, due)
		act()
		m.settle()
	}
}

// nextDue finds what falls due next and what to do then; nil when nothing will.
func (m *Machine) nextDue() (due time.Duration, act func()) {
	consider := func(at time.Duration, do func()) {
		if act == nil || at < due {
			due, act = at, do
		}
	}
	for i, c := range m.dues {
		consider(c.at, func() {
			m.dues = append(append([]commitment(nil), m.dues[:i]...), m.dues[i+1:]...)
			if c.effect.Kind == Keep {
				c.effect.At = c.at
			}
			m.emit(c.effect)
		})
	}
	if m.down && !m.spent && m.holdFor() < horizon {
		consider(m.downAt+m.holdFor(), m.held)
	}
	m.dueClock(consider)
	m.dueRest(consider)
	return due, act
}

// A warning is repeated, but not for ever: after a minute nobody is there.
const (
	crankWarnEvery = 1500 * time.Millisecond
	crankWarnings  = 40
	oilWarnEvery   = 5 * time.Second
	oilWarnings    = 12
)

// dueClock is what the clock of the present state brings.
func (m *Machine) dueClock(consider func(time.Duration, func())) {
	switch m.kind {
	case Resting:
		consider(m.ledger.Ready(), m.lookAround)
	case Listening:
		consider(m.calledAt+m.plan.answerWait(), m.nobodyAnswered)
	case Armed:
		// One moment past the last on which the look may be used.
		consider(m.validUntil()+1, m.lookAround)
	case Cranking:
		if limit, ok := m.ledger.LimitAt(); ok && m.warnings < crankWarnings {
			consider(limit+1+time.Duration(m.warnings)*crankWarnEvery, func() {
				m.warnings++
				m.warn(procedure.BreachCrankLimit.Warning())
			})
		}
	case Oil:
		if m.warnings < oilWarnings {
			consider(m.oilDue()+1+time.Duration(m.warnings)*oilWarnEvery, func() {
				m.warnings++
				m.warn(procedure.BreachNoOil.Warning())
			})
		}
	}
}

func (m *Machine) oilDue() time.Duration { return m.releasedAt + m.plan.oilLimit(m.celsius) }

// restLines are heard so long before the starter is rested.
var restLines = []struct {
	left time.Duration
	line procedure.Line
	long bool // only in a long rest
}{
	{10 * time.Minute, procedure.Line{Caption: "ten minutes"}, true},
	{time.Minute, procedure.Line{Caption: "one minute"}, true},
	{30 * time.Second, procedure.Line{Caption: "thirty seconds"}, false},
	{10 * time.Second, procedure.Line{Caption: "ten seconds"}, false},
	{0, procedure.Line{Caption: "Ready"}, false},
}

// dueRest counts the rest down, whatever the button is for meanwhile, but never
// into a prime.
func (m *Machine) dueRest(consider func(time.Duration, func())) {
	ready := m.ledger.Ready()
	if _, engaged := m.ledger.Engaged(); engaged || m.ledger.Owed(m.now) == 0 {
		return
	}
	// The display may go dark when the rest is over.
	if m.awake {
		consider(ready, func() {})
	}
	for _, l := range restLines {
		at := ready - l.left
		if at <= m.restOut || l.long && !m.ledger.LongRest() {
			continue
		}
		consider(max(at-ahead, m.now), func() {
			m.restOut = at
			if m.kind != Priming && m.restSpoken() {
				m.say(at, l.line, procedure.PriorityCount, TagRest)
			}
		})
		return
	}
}

// restSpoken reports whether the rest is anybody's business: not once the
// engine runs.
func (m *Machine) restSpoken() bool {
	switch m.kind {
	case Asking, Thinking, Ready, Setting, Resting, Looking:
		return true
	}
	return false
}
