package rehearse

import (
	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// stepKeys are the keys that do a step, in the order in which they are pressed.
func stepKeys(n *rehearsal.Snapshot, st *procedure.Step) [4]string {
	var keys []string
	switch st.Kind {
	case procedure.StepPropClear:
		keys = append(keys, lookKeys[0], lookKeys[1], lookKeys[2], callKey)
	case procedure.StepBrief:
		keys = append(keys, readyKey)
	case procedure.StepCheck:
		keys = append(keys, reportKey)
	case procedure.StepCrank:
		keys = append(keys, startKey)
	}
	if st.Hold != nil {
		keys = append(keys, controlKey(n, st.Hold.Control, st.Hold.Full), controlKey(n, st.Hold.Control, st.Hold.Rest))
	}
	for _, t := range st.Targets {
		keys = append(keys, controlKey(n, t.Control, t.At))
	}
	var out [4]string
	filled := 0
	for _, k := range keys {
		if k != "" && filled < len(out) {
			out[filled] = k
			filled++
		}
	}
	return out
}

// controlKey is the key that brings a control from where it is to a position; empty
// where letting go of one does it, or it is there.
func controlKey(n *rehearsal.Snapshot, id procedure.ControlID, at procedure.Position) string {
	c, ok := n.Aircraft.Control(id)
	if !ok {
		return ""
	}
	var is procedure.Position
	for i, k := range n.Aircraft.Controls {
		if k.ID == id && i < len(n.Positions) {
			is = n.Positions[i]
		}
	}
	switch {
	case id == procedure.ControlBrakes:
		return brakeKey
	case c.Kind == procedure.Switch:
		for i := range rockerKeys {
			if s, ok := nthSwitch(n.Aircraft, i); ok && s.ID == id {
				return rockerKeys[i]
			}
		}
		return ""
	case c.Kind == procedure.Rotary:
		return turnKey(c, is, at)
	case id == procedure.ControlThrottle:
		return snapKeys[lower(is, at)]
	}
	return leverKeys(*c)[lower(c.Travel/2, at)]
}

// lower is the place, in a pair of keys, of the one that leads from a position to
// another.
func lower(from, to procedure.Position) int {
	if to > from {
		return 0
	}
	return 1
}

// turnKey turns the ignition; from START it springs back by itself.
func turnKey(c *procedure.Control, from, to procedure.Position) string {
	start, ok := c.Detent(procedure.DetentStart)
	switch {
	case from == to, ok && from == start:
		return ""
	case to > from:
		return turnKeys[1]
	}
	return turnKeys[0]
}
