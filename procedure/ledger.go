package procedure

import "time"

// Ledger keeps count of a starter's attempts and rests against its limits.
// Package starter has the implementation; this package imports nothing of the
// project, so it says here what it needs. Times are offsets from the run's
// beginning.
type Ledger interface {
	// Engage notes that the starter was engaged and reports how much rest it
	// was still owed: zero when the engagement was allowed.
	Engage(at time.Duration) (owed time.Duration)
	// Release notes that the starter was let go. Without an engagement it does nothing.
	Release(at time.Duration)
	// Ready is the moment from which the starter may be engaged again.
	Ready() time.Duration
	// LimitAt is the last moment of the present engagement that the limit
	// allows, and false when the starter is not engaged.
	LimitAt() (time.Duration, bool)
	// Used is how many attempts of the present set were made.
	Used() int
}
