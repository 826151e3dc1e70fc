package ledgerfile

import (
	"os"
	"path/filepath"
	"time"

	"kickover/procedure/starter"
)

// Standing is what a ledger comes to at the moment it is looked at, from which its
// times are counted.
type Standing struct {
	Ledger        *starter.Ledger
	Shutdown      time.Duration // not positive
	ShutdownKnown bool
	Ran           bool     // the engine, when the ledger was last closed
	Notices       []string // what cannot be known, in whole sentences
}

// Look works a ledger out and writes nothing. The error is os.ErrNotExist for an
// aeroplane that has none, and ErrInUse where a window keeps it: only that window
// knows what is going on.
func Look(o Options) (Standing, error) {
	if o.Clock == nil {
		o.Clock = SystemClock()
	}
	f := &File{o: o, path: filepath.Join(o.Dir, Name(o.Registration))}
	if _, err := os.Stat(f.path); err != nil {
		return Standing{}, err
	}
	if err := f.hold(); err != nil {
		return Standing{}, err
	}
	defer f.lock.Unlock()
	f.origin = f.moment()
	f.workOut()
	a := f.account
	return Standing{a.ledger, a.shutdown, a.shutdownKnown, a.ran, f.notices}, nil
}
