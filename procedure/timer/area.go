package timer

import (
	"time"

	"kickover/procedure"
)

// looks are the presses that the look around takes: left with the brakes held,
// ahead, right, and CLEAR called.
const looks = 4

// betweenLooks is the least time between two presses of the look around: a look
// takes longer, and a key that bounces does not. Estimate.
const betweenLooks = 400 * time.Millisecond

// lookAround begins the look around anew. It stands before every attempt.
func (m *Machine) lookAround() {
	m.enter(Looking)
	m.looks, m.lookedAt = 0, m.now
	prompt := procedure.Line{Caption: "Left… ahead… right… clear", Say: "Left, ahead, right. Clear!"}
	if m.plan.area != nil && !m.plan.area.Prompt.Empty() {
		prompt = m.plan.area.Prompt
	}
	m.say(m.now, prompt, procedure.PriorityPrompt, TagStep)
}

// look is one press of it.
func (m *Machine) look() {
	if m.stamp-m.lookedAt < betweenLooks {
		return
	}
	m.remember()
	m.looks++
	m.lookedAt = m.stamp
	if m.looks == looks {
		m.calledAt = m.stamp
		m.enter(Listening)
	}
}

// answeredBack is a press while listening: somebody called, or walks in.
func (m *Machine) answeredBack() {
	if m.stamp-m.lookedAt < betweenLooks {
		return
	}
	m.remember()
	m.lookAround()
	m.warn(procedure.BreachAreaOccupied.Warning())
}

// nobodyAnswered arms the starter.
func (m *Machine) nobodyAnswered() {
	m.enter(Armed)
	if m.plan.crank != nil {
		m.say(m.now, m.plan.crank.Prompt, procedure.PriorityPrompt, TagStep)
	}
}

// validUntil is when the look around is too old to crank on.
func (m *Machine) validUntil() time.Duration {
	return m.calledAt + m.plan.answerWait() + m.plan.validFor()
}
