package record

import (
	"database/sql"
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

// batch writes whole runs in few transactions.
type batch struct {
	commit   func(func(*transaction) error) error
	runs     []wholeRun
	pending  int // events of runs
	tally    batchTally
	conflict func(wholeRun) // told of a run that differs from the stored one
}

// batchTally counts what a batch came to.
type batchTally struct {
	runs, events int // that were not stored before
	unchanged    int // runs that were
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
	return b.flush()
}

func (b *batch) flush() error {
	if len(b.runs) == 0 {
		return nil
	}
	var tally batchTally
	var conflicts []wholeRun
	err := b.commit(func(tx *transaction) error {
		if err := tx.alone(); err != nil {
			return err
		}
		tally, conflicts = batchTally{}, nil // it may be tried twice
		var rows []placed                    // the events of all runs, stored together
		waiting := map[string]bool{}
		for _, run := range b.runs {
			if waiting[run.listing.Header.ID] {
				// The same run again: it is compared with what is stored.
				if err := insertEvents(tx, rows); err != nil {
					return err
				}
				rows = nil
				clear(waiting)
			}
			waiting[run.listing.Header.ID] = true
			fresh, missing, err := merge(tx, run)
			added := len(missing)
			rows = append(rows, missing...)
			switch {
			case errors.Is(err, errConflict):
				conflicts = append(conflicts, run)
				continue
			case err != nil:
				return fmt.Errorf("store run %s: %w", run.listing.Header.ID, err)
			case fresh:
				tally.runs++
			case added == 0:
				tally.unchanged++
			}
			tally.events += added
		}
		return insertEvents(tx, rows)
	})
	if err != nil {
		return err
	}
	b.tally.runs += tally.runs
	b.tally.events += tally.events
	b.tally.unchanged += tally.unchanged
	for _, run := range conflicts {
		b.conflict(run)
	}
	b.runs, b.pending = nil, 0
	return nil
}

// merge stores a run, or what is missing of it: one that was exported while it
// went on may come again when it is over. It tells whether the run was new, and
// gives the events that are still to be stored.
func merge(tx *transaction, run wholeRun) (fresh bool, missing []placed, err error) {
	key, err := insertListing(tx, run.listing)
	if err == nil {
		return true, place(key, run.events), nil
	}
	if err != sql.ErrNoRows {
		return false, nil, err
	}
	if key, err = keyOf(tx, run.listing.Header.ID); err != nil {
		return false, nil, err
	}
	stored, err := readListing(tx, key)
	if err != nil {
		return false, nil, err
	}
	events, err := readEvents(tx, key)
	if err != nil {
		return false, nil, err
	}
	common := min(len(events), len(run.events))
	missing = place(key, run.events[common:])
	switch {
	case !sameHeader(stored.Header, run.listing.Header),
		!slices.EqualFunc(events[:common], run.events[:common], sameEvent),
		stored.Finished && len(missing) > 0:
		return false, nil, errConflict
	case stored.Finished, !run.listing.Finished:
		// The summary that is stored may be the newer computation.
		return false, missing, nil
	}
	return false, missing, updateSummary(tx, key, run.listing.Summary)
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
