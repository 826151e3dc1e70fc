package ui

import (
	"sync/atomic"

	"fyne.io/fyne/v2"

	"kickover/procedure/rehearsal"
)

// bridge carries snapshots from the owner of a run to the window: always the
// latest, and never more than one update waiting, so that a slow window skips
// frames and does not fall behind.
type bridge struct {
	latest  atomic.Pointer[rehearsal.Snapshot]
	pending atomic.Bool
	show    func(*rehearsal.Snapshot)
}

// Publish is called by the owner of the run.
func (b *bridge) Publish(s *rehearsal.Snapshot) {
	b.latest.Store(s)
	if b.pending.CompareAndSwap(false, true) {
		fyne.Do(func() {
			b.pending.Store(false)
			b.show(b.latest.Load())
		})
	}
}
