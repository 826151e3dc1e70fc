package timer

import (
	"slices"
	"time"

	"kickover/procedure"
)

// engage is the press of START.
func (m *Machine) engage() {
	m.remember()
	m.undo.engaged = true
	m.beginStart()
	m.ledger.Engage(m.stamp)
	m.start.Attempts++
	m.start.Flow = m.plan.flow.ID
	m.enter(Cranking)
	m.emit(Effect{Kind: Hush, At: m.now, Tag: TagRest})
	m.engagedAt = m.stamp
	m.emit(Effect{Kind: Engaged, At: m.stamp})
	m.sayCrank()
}

var letGoLine = procedure.CallOut{
	Line:   procedure.Line{Caption: "release"},
	Anchor: procedure.OnLimit, Offset: 500 * time.Millisecond,
}

// sayCrank asks for the lines by which the limit is heard coming.
func (m *Machine) sayCrank() {
	limit, limited := m.ledger.LimitAt()
	m.limitAt = limit
	if m.plan.crank == nil {
		return
	}
	own := callOuts(m.plan.crank, letGoLine, limited)
	for _, c := range own {
		switch {
		case c.Anchor == procedure.FromStep:
			m.say(m.engagedAt+c.Offset, c.Line, procedure.PriorityCount, TagStep)
		case c.Anchor == procedure.OnLimit && limited:
			m.say(limit-c.Offset, c.Line, procedure.PriorityCue, TagStep)
		}
	}
	if len(m.plan.crank.CallOuts) == 0 && limited {
		m.count(m.engagedAt, limit-m.engagedAt, []time.Duration{limit - m.engagedAt - letGoLine.Offset})
	}
}

// letGo is the release of START.
func (m *Machine) letGo(lost bool) {
	m.ledger.Release(m.stamp)
	m.releasedAt = m.stamp
	m.emit(Effect{Kind: Released, At: m.stamp, Rest: m.ledger.Owed(m.stamp)})
	m.enter(Asking)
	m.slippedOff = lost
	m.restOut = max(m.restOut, m.now)
}

// A finger that slips comes back within half a second, and then the starter has
// been in all the while. Estimate.
const slipFor = 500 * time.Millisecond

// settleAfterCrank keeps a bouncing key from answering for the engine.
const settleAfterCrank = slipFor

// slipped takes a press right after the release as the same engagement.
func (m *Machine) slipped() bool {
	if m.stamp-m.releasedAt > slipFor || m.slippedOff {
		return false
	}
	m.ledger.Resume()
	m.kind, m.entered = Cranking, m.engagedAt
	m.emit(Effect{Kind: Resumed, At: m.now})
	m.resayCrank()
	return true
}

// resayCrank asks again for what is still ahead.
func (m *Machine) resayCrank() {
	kept := len(m.out)
	m.sayCrank()
	out := m.out[:kept]
	for _, e := range m.out[kept:] {
		if e.At > m.now {
			out = append(out, e)
		}
	}
	m.out = out
}

// noStart is an attempt that failed, or an engine that died after it. The rest
// has been counting since the release.
func (m *Machine) noStart(died bool) {
	m.remember()
	m.start.Outcome, m.died = procedure.NotStarted, died
	m.commit(Effect{Kind: Keep, Start: m.start})
	m.questions = m.ask()
	m.question = 0
	m.hold = 0
	m.enter(Thinking)
	at := m.now
	if !died {
		m.say(at, procedure.Line{Caption: "It did not start"}, procedure.PriorityCue, TagStep)
		at += between
	}
	if m.ledger.LongRest() {
		m.say(at, mustRest, procedure.PriorityPrompt, TagStep)
		at += between
	}
	for i, s := range m.plan.noStartSteps() {
		m.say(at+time.Duration(i)*between, s.Prompt, procedure.PriorityPrompt, TagStep)
	}
}

// yes is the answer to the question shown: its flow comes next, or the questions
// that it leads to. Where the flow has no questions, the same again.
func (m *Machine) yes() {
	m.remember()
	if len(m.questions) == 0 {
		m.enter(Ready)
		return
	}
	p := m.plans[m.questions[m.question].Flow]
	if !p.starts() {
		m.questions, m.question = m.leading(p.flow.Choices), 0
		return
	}
	m.plan = p
	m.enter(Ready)
}

// ask gives the flow's questions, the likelier cause first. They stay the
// flow's questions: which way to go is the pilot's and the handbook's to say.
func (m *Machine) ask() []procedure.Choice {
	if m.plan.flow.NoStart == nil {
		return nil
	}
	var likely, other []procedure.Choice
	lean := m.lean()
	for _, c := range m.leading(m.plan.flow.NoStart.Choices) {
		p := m.plans[c.Flow]
		if p.starts() && (lean == tooMuch && len(p.holds) == 0 || lean == tooLittle && len(p.holds) > 0) {
			likely = append(likely, c)
		} else {
			other = append(other, c)
		}
	}
	return append(likely, other...)
}

// leading keeps the choices that lead to a start, at once or by a question more.
// What is to be done without one is no business of a clock's.
func (m *Machine) leading(choices []procedure.Choice) []procedure.Choice {
	starts := func(c procedure.Choice) bool { return m.plans[c.Flow] != nil && m.plans[c.Flow].starts() }
	var out []procedure.Choice
	for _, c := range choices {
		if p := m.plans[c.Flow]; p != nil && (starts(c) || slices.ContainsFunc(p.flow.Choices, starts)) {
			out = append(out, c)
		}
	}
	return out
}

type lean int

const (
	neither lean = iota
	tooMuch
	tooLittle
)

// freezing is where a prime inside its window is more often too little than too
// much, since less of it evaporates. Common practice, no source.
const freezing = 0

// lean is what the prime given, and in cold air the temperature, point to.
func (m *Machine) lean() lean {
	if len(m.plan.holds) == 0 {
		return neither
	}
	w := m.plan.window(m.celsius)
	switch {
	case w.Zero():
		return neither
	// Fuel of the attempts before is still there, as far as it has not run out.
	case m.prime > w.Max, m.start.Prime > 2*w.Max:
		return tooMuch
	case m.prime < w.Min, known(m.celsius) && m.celsius < freezing:
		return tooLittle
	default:
		return neither
	}
}
