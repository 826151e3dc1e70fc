package record

import (
	"errors"
	"fmt"
	"reflect"
	"slices"

	"kickover/procedure"
)

// eventsAtOnce is how many events a bulk write commits together: enough that the
// disk's confirmation costs nothing beside them, few enough that other programs
// wait for less than half a second.
const eventsAtOnce = 20000

// errConflict is a run that is stored already, with another content.
var errConflict = errors.New("a different run with this id is stored already; delete that one first, or leave this one out")

// batch writes whole runs in few transactions, each while the next is gathered.
// It belongs to one goroutine; its transactions have one of their own, which ends
// with flush.
type batch struct {
	commit   func(func(*transaction) error) error
	runs     []wholeRun
	pending  int          // events of runs
	writing  chan written // of the transaction under way; nil when there is none
	failed   error        // of a transaction: nothing is stored after it
	tally    batchTally
	conflict func(wholeRun) // told of a run that differs from the stored one
}

// batchTally counts what a batch came to.
type batchTally struct {
	runs, events int // that were not stored before
	unchanged    int // runs that were
}

// written is what a transaction came to.
type written struct {
	batchTally
	conflicts []wholeRun
	err       error
}

type wholeRun struct {
	listing Listing
	events  []procedure.Event
	line    int // where its header stands in the file it came from
}

func (b *batch) add(run wholeRun) error {
	b.runs = append(b.runs, run)
	if b.pending += len(run.events); b.pending < eventsAtOnce {
		return nil
	}
	return b.send()
}

// send begins a transaction with what was gathered, once the one before is over.
func (b *batch) send() error {
	if err := b.settle(); err != nil {
		return err
	}
	runs, done := b.runs, make(chan written, 1)
	b.runs, b.pending, b.writing = nil, 0, done
	go func() { done <- storeTogether(b.commit, runs) }()
	return nil
}

// settle waits until the transaction under way is over.
func (b *batch) settle() error {
	if b.writing == nil {
		return b.failed
	}
	w := <-b.writing
	b.writing, b.failed = nil, w.err
	if w.err != nil {
		return w.err
	}
	b.tally.runs += w.runs
	b.tally.events += w.events
	b.tally.unchanged += w.unchanged
	for _, run := range w.conflicts {
		b.conflict(run)
	}
	return nil
}

// flush stores what was gathered, and waits for it.
func (b *batch) flush() error {
	if len(b.runs) > 0 {
		if err := b.send(); err != nil {
			return err
		}
	}
	return b.settle()
}

// storeTogether stores runs in one transaction: those that are new all at once,
// and of the others what is missing.
func storeTogether(commit func(func(*transaction) error) error, runs []wholeRun) (w written) {
	w.err = commit(func(tx *transaction) error {
		w = written{} // it may be tried twice
		if err := tx.alone(); err != nil {
			return err
		}
		listings := make([]Listing, len(runs))
		for i, run := range runs {
			listings[i] = run.listing
		}
		keys, err := insertListings(tx, listings)
		if err != nil {
			return err
		}
		var fresh []placed
		for i, run := range runs {
			if keys[i] != 0 {
				fresh = append(fresh, place(keys[i], run.events)...)
				w.runs++
			}
		}
		if err := insertNewEvents(tx, fresh); err != nil {
			return err
		}
		w.events = len(fresh)
		for i, run := range runs {
			if keys[i] != 0 {
				continue
			}
			if err := w.merge(tx, run); err != nil {
				return fmt.Errorf("store run %s: %w", run.listing.Header.ID, err)
			}
		}
		return nil
	})
	return w
}

// merge counts what is stored of a run whose id is taken.
func (w *written) merge(tx *transaction, run wholeRun) error {
	missing, err := missingOf(tx, run)
	switch {
	case errors.Is(err, errConflict):
		w.conflicts = append(w.conflicts, run)
		return nil
	case err != nil:
		return err
	case len(missing) == 0:
		w.unchanged++
	}
	w.events += len(missing)
	return insertEvents(tx, missing)
}

// missingOf compares a run with the stored one of its id, and gives the events that
// are still to be stored: a run that was exported while it went on may come again
// when it is over. Its summary is stored with it.
func missingOf(tx *transaction, run wholeRun) (missing []placed, err error) {
	key, err := keyOf(tx, run.listing.Header.ID)
	if err != nil {
		return nil, err
	}
	stored, err := readListing(tx, key)
	if err != nil {
		return nil, err
	}
	events, err := readEvents(tx, key)
	if err != nil {
		return nil, err
	}
	common := min(len(events), len(run.events))
	missing = place(key, run.events[common:])
	switch {
	case !sameHeader(stored.Header, run.listing.Header),
		!slices.EqualFunc(events[:common], run.events[:common], sameEvent),
		stored.Finished && len(missing) > 0:
		return nil, errConflict
	case stored.Finished, !run.listing.Finished:
		// The summary that is stored may be the newer computation.
		return missing, nil
	}
	return missing, updateSummary(tx, key, run.listing.Summary)
}

// sameHeader passes over whose run it is, which may be said later.
func sameHeader(a, b Header) bool {
	if bits(a.Conditions.OATCelsius) != bits(b.Conditions.OATCelsius) ||
		bits(a.Conditions.PressureAltM) != bits(b.Conditions.PressureAltM) ||
		bits(a.Conditions.BatteryCharge) != bits(b.Conditions.BatteryCharge) ||
		!slices.Equal(a.Faults, b.Faults) {
		return false
	}
	for _, h := range []*Header{&a, &b} {
		h.Faults, h.Conditions.OATCelsius, h.Conditions.PressureAltM, h.Conditions.BatteryCharge = nil, 0, 0, 0
		h.Person = ""
	}
	return reflect.DeepEqual(a, b)
}

// sameEvent compares to the bit, so that NaN equals itself.
func sameEvent(a, b procedure.Event) bool {
	if bits(a.Value) != bits(b.Value) {
		return false
	}
	a.Value, b.Value = 0, 0
	return a == b
}
