// Package starter keeps a starter's ledger: its attempts, its rests and the
// limits on them.
//
// Begin with [New]; tell it [Ledger.Engage] and [Ledger.Release]; ask
// [Ledger.Ready] before the next attempt. The package is pure: times are
// offsets from an origin that the caller chooses and keeps, and may be negative.
//
// The rule it keeps is the usual form of a starter limitation: an engagement no
// longer than so much, a rest between engagements, and after so many a long
// rest. The numbers come from the aircraft's file; the aeroplane's handbook
// rules.
package starter

import (
	"slices"
	"time"

	"kickover/procedure"
)

// Attempt is one engagement of the starter.
type Attempt struct {
	Engaged  time.Duration
	Released time.Duration // equal to Engaged while the starter is engaged
	Owed     time.Duration // rest still owed when it was engaged; zero when allowed
}

// Ledger counts attempts and rests. The zero value has no limits; use New.
type Ledger struct {
	limits   procedure.StarterLimits
	attempts []Attempt
	account
	before account // as it was when the last attempt began
	fresh  bool    // before still belongs to the last attempt
}

// account is what an attempt changes.
type account struct {
	engaged bool
	used    int           // attempts of the present set
	ready   time.Duration // from when the starter may be engaged; counts once there was an attempt
}

// New begins a ledger whose starter is rested.
func New(limits procedure.StarterLimits) *Ledger {
	return &Ledger{limits: limits}
}

// Clone gives a ledger of its own with the same account.
func (l *Ledger) Clone() *Ledger {
	c := *l
	c.attempts = slices.Clone(l.attempts)
	return &c
}

// Limits are the limits that it keeps.
func (l *Ledger) Limits() procedure.StarterLimits { return l.limits }

// Engage notes an engagement at at and returns the rest that was still owed. An
// engagement while engaged changes nothing.
func (l *Ledger) Engage(at time.Duration) (owed time.Duration) {
	if l.engaged {
		return 0
	}
	l.before, l.fresh = l.account, true
	owed = l.Owed(at)
	l.used = l.Number(at)
	l.engaged = true
	l.attempts = append(l.attempts, Attempt{Engaged: at, Released: at, Owed: owed})
	return owed
}

// Owed is the rest that is still owed at at.
func (l *Ledger) Owed(at time.Duration) time.Duration {
	if len(l.attempts) == 0 {
		return 0
	}
	return max(0, l.ready-at)
}

// Number is which attempt of its set an engagement at at would be, from one.
func (l *Ledger) Number(at time.Duration) int {
	if l.Owed(at) == 0 && l.setIsOver(at) {
		return 1
	}
	return l.used + 1
}

// setIsOver reports whether the starter has rested so long before at that
// counting begins anew: after a full set the long rest has passed, since Ready
// says so; in the middle of a set, a rest as long as the long one does as well.
func (l *Ledger) setIsOver(at time.Duration) bool {
	if len(l.attempts) == 0 {
		return false
	}
	last := l.attempts[len(l.attempts)-1]
	return l.full() || at-last.Released >= l.limits.LongRest && l.limits.LongRest > 0
}

func (l *Ledger) full() bool {
	return l.limits.Attempts > 0 && l.used >= l.limits.Attempts
}

// Release notes the end of the engagement. Without one it does nothing.
func (l *Ledger) Release(at time.Duration) {
	if !l.engaged {
		return
	}
	l.engaged = false
	l.attempts[len(l.attempts)-1].Released = at
	rest := l.limits.Rest
	if l.full() {
		rest = l.limits.LongRest
	}
	l.ready = at + rest
	// A rest that was cut short is still owed after the attempt that cut it.
	if len(l.attempts) > 1 {
		l.ready = max(l.ready, l.before.ready)
	}
}

// Resume takes the last release back: it was a finger that slipped, and the
// engagement goes on. While engaged, or without an attempt, it does nothing.
func (l *Ledger) Resume() {
	if l.engaged || !l.fresh {
		return
	}
	last := &l.attempts[len(l.attempts)-1]
	last.Released = last.Engaged
	l.engaged, l.ready = true, l.before.ready
}

// Strike removes the last attempt as though it had not been: the starter never
// turned. It can be done once for each attempt; otherwise it does nothing.
func (l *Ledger) Strike() {
	if !l.fresh {
		return
	}
	l.attempts = l.attempts[:len(l.attempts)-1]
	l.account, l.fresh = l.before, false
}

// Rested notes that somebody who knows says the starter has rested, whatever
// the ledger owes. The attempts of a set that is not full still count.
func (l *Ledger) Rested(at time.Duration) {
	if !l.engaged {
		l.ready = min(l.ready, at)
	}
}

// Owe notes that the starter must rest until at least then: a deadline that was
// written down, or one that stands in for what cannot be known. Without an
// attempt there is nothing to rest from.
func (l *Ledger) Owe(until time.Duration) {
	if !l.engaged {
		l.ready = max(l.ready, until)
	}
}

// Ready is the moment from which the starter may be engaged again.
func (l *Ledger) Ready() time.Duration { return l.ready }

// Engaged reports whether the starter is engaged, and since when.
func (l *Ledger) Engaged() (since time.Duration, engaged bool) {
	if !l.engaged {
		return 0, false
	}
	return l.attempts[len(l.attempts)-1].Engaged, true
}

// LimitAt is the last moment that the limit allows the present engagement.
func (l *Ledger) LimitAt() (time.Duration, bool) {
	if !l.engaged || l.limits.Crank <= 0 {
		return 0, false
	}
	return l.attempts[len(l.attempts)-1].Engaged + l.limits.Crank, true
}

// Used is how many attempts of the present set were made.
func (l *Ledger) Used() int { return l.used }

// LongRest reports whether the rest in force is the one after a full set.
func (l *Ledger) LongRest() bool { return !l.engaged && l.full() }

// Attempts lists every engagement, oldest first. The slice is the ledger's own.
func (l *Ledger) Attempts() []Attempt { return l.attempts }
