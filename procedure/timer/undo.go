package timer

import (
	"slices"
	"time"

	"kickover/procedure/starter"
)

// undoFor is how long a wrong press can be taken back.
const undoFor = 2 * time.Second

// undo is where to go back to.
type undo struct {
	possible bool
	before   state
	at       time.Duration // of the act
	serial   int
	engaged  bool            // the act engaged the starter
	resting  *starter.Ledger // before the pilot's word that it has rested
}

// remember notes the state before an act that may be taken back.
func (m *Machine) remember() {
	m.undo = undo{possible: true, before: m.state, at: m.stamp, serial: m.serial}
}

// takeBack undoes the last act, if it is no older than two seconds. An attempt
// counts from its press: a longer one was no mistake, and stays.
func (m *Machine) takeBack() {
	if !m.undo.possible || m.stamp-m.undo.at > undoFor {
		return
	}
	u := m.undo
	m.undo = undo{}
	if u.engaged {
		m.ledger.Strike()
		m.emit(Effect{Kind: Struck, At: m.now})
	}
	if u.resting != nil {
		m.ledger = u.resting
	}
	m.state, m.serial = u.before, u.serial
	// What fell due since then has been done.
	m.dues = slices.DeleteFunc(slices.Clone(m.dues), func(c commitment) bool { return c.at <= m.now })
	m.spent = true
	switch m.kind {
	case Looking:
		m.lookedAt = m.now
	case Listening: // for an answer, anew
		m.calledAt, m.lookedAt = m.now, m.now
	}
	m.correct()
	m.emit(Effect{Kind: Hush, At: m.now, Tag: TagStep})
}

// A commitment is what is reported once it can no longer be taken back.
type commitment struct {
	at     time.Duration
	effect Effect
}

// commit reports something in two seconds, unless it is undone. A record takes
// the place of the same one that was about to be kept.
func (m *Machine) commit(e Effect) {
	dues := slices.Clone(m.dues)
	if e.Kind == Keep {
		dues = slices.DeleteFunc(dues, func(c commitment) bool {
			return c.effect.Kind == Keep && c.effect.Start.Serial == e.Start.Serial
		})
	}
	m.dues = append(dues, commitment{at: m.now + undoFor, effect: e})
}

// Settle brings out at once what was held back so that it could be undone: the
// program ends.
func (m *Machine) Settle(at time.Duration) []Effect {
	m.out = nil
	m.advance(min(max(at, origin), horizon))
	for _, c := range m.dues {
		if c.effect.Kind == Keep {
			c.effect.At = m.now
		}
		m.emit(c.effect)
	}
	m.dues, m.undo = nil, undo{}
	return m.out
}
