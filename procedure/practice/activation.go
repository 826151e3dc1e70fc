package practice

import "math"

// Activation is the model of Pavlik & Anderson 2005 (Cognitive Science
// 29:559–586): each presentation decays at a rate set by how strong the memory
// was when it came, so that cramming fades fast. Suggestions rest on [Equation];
// this one, made differently, is what they are tested against.
type Activation struct {
	A, C   float64 // decay of a first presentation, and how strength adds to it
	Tau, S float64 // strength at which the chance is one half, and its spread
}

// Published has the parameters of Pavlik & Anderson 2005; Tau and S are from
// memory.
var Published = Activation{A: .177, C: .217, Tau: -.704, S: .255}

// Memory is what one person holds of one thing.
type Memory struct {
	seen   []float64
	decays []float64
}

// Strength is the activation at a time, in the unit of the presentations; minus
// infinity before the first.
func (a Activation) Strength(m *Memory, at float64) float64 {
	sum := 0.0
	for k, seen := range m.seen {
		if at > seen {
			sum += math.Pow(at-seen, -m.decays[k])
		}
	}
	return math.Log(sum)
}

// Present adds a presentation.
func (a Activation) Present(m *Memory, at float64) {
	decay := a.A
	if len(m.seen) > 0 {
		decay = a.C*math.Exp(a.Strength(m, at)) + a.A
	}
	m.seen, m.decays = append(m.seen, at), append(m.decays, decay)
}

// Chance is the chance of recall at a strength.
func (a Activation) Chance(strength float64) float64 { return logistic((strength - a.Tau) / a.S) }
