package timer

import (
	"time"

	"kickover/procedure"
)

// begin is the press in Ready: the prime, or, for a flow without one, the levers.
func (m *Machine) begin() {
	m.remember()
	m.beginStart()
	if m.hold >= len(m.plan.holds) {
		m.setLevers()
		return
	}
	if m.hold == 0 {
		m.prime = 0
	}
	m.enter(Priming)
	m.emit(Effect{Kind: Hush, At: m.now, Tag: TagRest})
	m.primedAt = m.stamp
	m.sayPrime()
}

// beginStart begins the record of a start, unless one is going on.
func (m *Machine) beginStart() {
	if m.recording() {
		return
	}
	m.serial++
	m.started = true
	m.start = Start{
		Serial: m.serial, Began: m.stamp, ShutdownKnown: m.shutdownKnown, Celsius: m.celsius, AltitudeM: m.metres,
	}
	if m.shutdownKnown {
		m.start.SinceShutdown = m.stamp - m.shutdown
	}
}

// stroke is the present hold of the prime.
func (m *Machine) stroke() *procedure.Step { return m.plan.holds[min(m.hold, len(m.plan.holds)-1)] }

// The prime's own line for a flow that has none: half a second before the ideal,
// so that a hand acts in time.
var mixtureBack = procedure.CallOut{
	Line:   procedure.Line{Caption: "mixture… back", Say: "mixture, back"},
	Anchor: procedure.BeforeIdeal, Offset: 500 * time.Millisecond,
}

// sayPrime asks for the seconds, each on its second, and for the cue; nothing
// else is said during a prime. A number that would fall on the cue is left out:
// the hand needs the cue.
func (m *Machine) sayPrime() {
	s := m.stroke()
	w := window(s, m.celsius)
	var cues []time.Duration
	for _, c := range callOuts(s, mixtureBack, !w.Zero()) {
		at := c.Offset
		if c.Anchor == procedure.BeforeIdeal {
			at = w.Ideal - c.Offset
		}
		if at < 0 {
			continue
		}
		cues = append(cues, at)
		m.say(m.primedAt+at, c.Line, procedure.PriorityCue, TagStep)
	}
	m.count(m.primedAt, max(w.Max, mostCounted*time.Second), cues)
}

// callOuts are a step's lines that have a moment of their own, or the given one.
func callOuts(s *procedure.Step, otherwise procedure.CallOut, wanted bool) []procedure.CallOut {
	var out []procedure.CallOut
	for _, c := range s.CallOuts {
		switch c.Anchor {
		case procedure.FromStep, procedure.BeforeIdeal, procedure.OnLimit:
			out = append(out, c)
		}
	}
	if len(out) == 0 && wanted {
		out = append(out, otherwise)
	}
	return out
}

// mostCounted is how far a prime is counted at least: past the window the count
// is all that tells an eye outside how far past.
const mostCounted = 10

var numbers = [...]string{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

// count asks for each second from begin to last, leaving room for the cues.
func (m *Machine) count(begin, last time.Duration, cues []time.Duration) {
	const room = 700 * time.Millisecond
	for n := 1; n < len(numbers) && time.Duration(n)*time.Second <= last; n++ {
		at := time.Duration(n) * time.Second
		free := true
		for _, c := range cues {
			free = free && (at <= c-room || at >= c+room)
		}
		if free {
			m.say(begin+at, procedure.Line{Caption: numbers[n]}, procedure.PriorityCount, TagStep)
		}
	}
}

// endPrime is the mixture back: the prime, or a stroke of it, is given.
func (m *Machine) endPrime() {
	given := m.stamp - m.primedAt
	m.prime += given
	m.start.Prime += given
	m.hold++
	m.undo.at = m.stamp
	if m.hold < len(m.plan.holds) {
		m.enter(Ready)
		return
	}
	m.setLevers()
}

// between is the room left for one prompt before the next.
const between = 2500 * time.Millisecond

// setLevers shows what to set before the look around, all on one face.
func (m *Machine) setLevers() {
	if len(m.plan.set) == 0 {
		m.leversSet()
		return
	}
	m.enter(Setting)
	for i, s := range m.plan.set {
		m.say(m.now+time.Duration(i)*between, s.Prompt, procedure.PriorityPrompt, TagStep)
	}
}

// leversSet goes on to the look around, as soon as the starter has rested.
func (m *Machine) leversSet() {
	if m.ledger.Owed(m.now) > 0 {
		m.enter(Resting)
		return
	}
	m.lookAround()
}

// vouch is the pilot's word that the starter has rested, where the ledger knows
// no better: its clock was moved, or it was told of an attempt that was none.
func (m *Machine) vouch() {
	m.remember()
	m.undo.resting = m.ledger.Clone()
	m.ledger.Rested(m.now)
	m.commit(Effect{Kind: Rested, At: m.now})
	m.emit(Effect{Kind: Hush, At: m.now, Tag: TagRest})
	m.lookAround()
}
