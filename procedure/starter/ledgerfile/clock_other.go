//go:build !linux

package ledgerfile

import "time"

var began = time.Now()

// Now has no name for the boot here: over a restart of the program there is only
// the wall clock, and within it Go's monotonic one.
func (system) Now() Moment {
	return Moment{Wall: time.Now().UTC().Round(0), Since: time.Since(began)}
}

// Hardware is not read here.
func (system) Hardware() time.Time { return time.Time{} }
