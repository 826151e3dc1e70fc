package ledgerfile

import (
	"time"

	"kickover/procedure"
	"kickover/procedure/starter"
)

// account is what the entries come to at a moment.
type account struct {
	ledger        *starter.Ledger
	shutdown      time.Duration // counted from the moment; not positive
	shutdownKnown bool
	ran           bool  // the engine, as far as was noted
	doubt         doubt // the gravest about times that matter
	openEnded     bool  // the program stopped while the starter was engaged
	heldFor       time.Duration
}

// replay works the entries out, times counted from now, with gap to say how far
// apart two moments are.
func replay(c content, now Moment, limits procedure.StarterLimits, gap func(a, b Moment) (time.Duration, doubt)) account {
	a := account{ledger: starter.New(limits)}
	offsets := a.place(c.entries, now, gap)
	damaged := c.damaged
	lastSeen := time.Duration(0)
	for i, e := range c.entries {
		at := offsets[i]
		for len(damaged) > 0 && damaged[0] == i {
			a.unreadable(at)
			damaged = damaged[1:]
		}
		lastSeen = at
		a.take(e, at)
	}
	for range damaged {
		a.unreadable(0)
	}
	if since, on := a.ledger.Engaged(); on {
		a.openEnded = true
		a.heldFor = min(0, max(since+limits.Crank, lastSeen)) - since
		a.ledger.Release(since + a.heldFor)
	}
	return a
}

// place gives each entry's time counted from now, by the gaps between them.
func (a *account) place(entries []entry, now Moment, gap func(a, b Moment) (time.Duration, doubt)) []time.Duration {
	out := make([]time.Duration, len(entries))
	next, at := now, time.Duration(0)
	for i := len(entries) - 1; i >= 0; i-- {
		e := entries[i]
		if d, ok := withinRun(entries, i); ok {
			at -= d
		} else {
			d, doubt := gap(e.at, next)
			at -= d
			a.doubt = max(a.doubt, doubt)
		}
		out[i] = at
		next = e.at
	}
	return out
}

// withinRun is the time from an entry to the next of the same run of the program,
// on the same boot. It may be negative: what could be undone is noted when it no
// longer can, with the time at which it happened.
func withinRun(entries []entry, i int) (time.Duration, bool) {
	if i+1 == len(entries) {
		return 0, false
	}
	a, b := entries[i], entries[i+1]
	return b.at.Since - a.at.Since, b.kind != opened && b.at.Boot != "" && b.at.Boot == a.at.Boot
}

func (a *account) take(e entry, at time.Duration) {
	switch e.kind {
	case engaged:
		a.ledger.Engage(at)
		a.ran = false
	case released:
		a.ledger.Release(at)
		a.ledger.Owe(at + e.until)
	case resumed:
		a.ledger.Resume()
	case struck:
		a.ledger.Strike()
	case rested:
		a.ledger.Rested(at)
	case runs:
		a.shutdownKnown, a.ran = false, true
	case stopped:
		a.shutdown, a.shutdownKnown, a.ran = at, true, false
	}
}

// unreadable counts an entry that cannot be read as what asks for the longest
// rest: an attempt that ended no earlier than at.
func (a *account) unreadable(at time.Duration) {
	a.ledger.Engage(at)
	a.ledger.Release(at)
}

// matters reports whether it makes a difference when the attempts were.
func (a *account) matters() bool {
	return a.ledger.Owed(0) > 0 || a.ledger.Number(0) > 1
}
