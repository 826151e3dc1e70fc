package timer

import (
	"kickover/procedure"
)

// runs is the pilot's word that the engine runs. The oil's clock counts from the
// release of the starter, which came right after it fired.
func (m *Machine) runs() {
	m.remember()
	m.start.Outcome = procedure.Started
	m.commit(Effect{Kind: Keep, Start: m.start})
	m.commit(Effect{Kind: Runs, At: m.releasedAt})
	m.enter(Oil)
	line := procedure.Line{Caption: "Oil pressure"}
	if m.plan.oil != nil && !m.plan.oil.Prompt.Empty() {
		line = m.plan.oil.Prompt
	}
	m.say(m.now, line, procedure.PriorityPrompt, TagStep)
}

// oilSeen is the gauge in the green.
func (m *Machine) oilSeen() {
	m.remember()
	m.reminder = 0
	m.remind()
}

func (m *Machine) remind() {
	if m.reminder >= len(m.plan.after) {
		m.enter(Quiet)
		return
	}
	m.enter(Reminding)
	m.say(m.now, m.plan.after[m.reminder].Prompt, procedure.PriorityPrompt, TagStep)
}

func (m *Machine) reminded() {
	m.remember()
	m.reminder++
	m.remind()
}

// stopped is the engine shut down: from now the time since shutdown counts.
func (m *Machine) stopped() {
	m.remember()
	m.shutdown, m.shutdownKnown = m.now, true
	m.commit(Effect{Kind: Stopped, At: m.now})
	m.started, m.hold, m.prime = false, 0, 0
	if f := suggested(m.Flows(), situation(0, true)); f != nil {
		m.plan = m.plans[f.ID]
	}
	m.enter(Ready)
}
