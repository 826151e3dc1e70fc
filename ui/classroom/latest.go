package classroom

import (
	"sync/atomic"

	"fyne.io/fyne/v2"

	"kickover/procedure/rehearsal"
)

// latest carries snapshots from the owner of a run to the window: always the
// latest, and never more than one waiting.
type latest struct {
	snapshot atomic.Pointer[rehearsal.Snapshot]
	pending  atomic.Bool
	closed   atomic.Bool
	show     func(*rehearsal.Snapshot)
}

func newLatest(show func(*rehearsal.Snapshot)) *latest { return &latest{show: show} }

// publish is called by the owner of the run.
func (l *latest) publish(s *rehearsal.Snapshot) {
	l.snapshot.Store(s)
	if l.pending.CompareAndSwap(false, true) {
		fyne.Do(func() {
			l.pending.Store(false)
			if !l.closed.Load() {
				l.show(l.snapshot.Load())
			}
		})
	}
}

// close lets nothing more be shown.
func (l *latest) close() { l.closed.Store(true) }
