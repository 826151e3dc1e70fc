package record

import (
	"context"
	"database/sql"
	"strings"
	"time"

	"kickover/procedure"
)

// Listing is a run as a list shows it.
type Listing struct {
	Header   Header
	Finished bool // false for a run that goes on, or that a kill cut short
	Summary  Summary
}

// Filter says which runs are meant; a zero field means any.
type Filter struct {
	Aircraft procedure.AircraftID
	Flow     procedure.FlowID
	Phase    procedure.Phase
	Outcome  procedure.Outcome
	From, To time.Time // started at or after From, and before To
}

// Page is a part of a list, newest run first.
type Page struct {
	Limit int    // runs at most; 0 is 50
	After string // id of the last run of the page before; empty for the first page
}

// Runs lists runs, newest first. Give the last one's id as Page.After for what
// follows; a run that was deleted meanwhile is ErrNoRun.
func (s *Store) Runs(filter Filter, page Page) ([]Listing, error) {
	if page.Limit <= 0 {
		page.Limit = 50
	}
	var list []Listing
	err := s.read(func(f *file) error {
		list = nil
		where, args := filter.where()
		if page.After != "" {
			var started, key int64
			err := f.db.QueryRow("SELECT started, key FROM runs WHERE id = ?", page.After).Scan(&started, &key)
			if err == sql.ErrNoRows {
				err = ErrNoRun
			}
			if err != nil {
				return err
			}
			where = append(where, "(started, key) < (?, ?)")
			args = append(args, started, key)
		}
		query := "SELECT " + headerColumns + ", " + summaryColumns + " FROM runs"
		if len(where) > 0 {
			query += " WHERE " + strings.Join(where, " AND ")
		}
		rows, err := f.db.Query(query+" ORDER BY started DESC, key DESC LIMIT ?", append(args, page.Limit)...)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			l, err := scanListing(rows.Scan)
			if err != nil {
				return err
			}
			list = append(list, l)
		}
		return rows.Err()
	})
	return list, err
}

func (f Filter) where() (conditions []string, args []any) {
	add := func(given bool, condition string, arg any) {
		if given {
			conditions, args = append(conditions, condition), append(args, arg)
		}
	}
	add(f.Aircraft != "", "aircraft = ?", f.Aircraft)
	add(f.Flow != "", "flow = ?", f.Flow)
	add(f.Phase != "", "phase = ?", f.Phase)
	add(f.Outcome != "", "outcome = ?", f.Outcome)
	if !f.From.IsZero() {
		add(true, "started >= ?", f.From.UnixNano())
	}
	if !f.To.IsZero() {
		add(true, "started < ?", f.To.UnixNano())
	}
	return conditions, args
}

// Run gives a run's header and its events in order; ErrNoRun if there is none.
func (s *Store) Run(id string) (Header, []procedure.Event, error) {
	l, events, err := s.load(id)
	return l.Header, events, err
}

// Listing gives a run as the list shows it.
func (s *Store) Listing(id string) (l Listing, err error) {
	err = s.read(func(f *file) error {
		l, _, err = f.listing(id)
		return err
	})
	return l, err
}

func (s *Store) load(id string) (l Listing, events []procedure.Event, err error) {
	err = s.read(func(f *file) error {
		var key int64
		if l, key, err = f.listing(id); err != nil {
			return err
		}
		events, err = readEvents(f.db, key)
		return err
	})
	return l, events, err
}

func (f *file) listing(id string) (Listing, int64, error) {
	key, err := keyOf(f.db, id)
	if err != nil {
		return Listing{}, 0, err
	}
	l, err := readListing(f.db, key)
	return l, key, err
}

// Delete removes a run for good: its rows are overwritten, in the log too.
func (s *Store) Delete(id string) error {
	return s.write(func(f *file) error {
		err := f.inTransaction(func(tx *sql.Tx) error {
			key, err := keyOf(tx, id)
			if err != nil {
				return err
			}
			if _, err := tx.Exec("DELETE FROM events WHERE place BETWEEN ? AND ?", placeOf(key, 0), placeOf(key, 1<<seqBits-1)); err != nil {
				return err
			}
			_, err = tx.Exec("DELETE FROM runs WHERE key = ?", key)
			return err
		})
		if err != nil {
			return err
		}
		// The log holds older copies of the pages until it is cut. Another
		// program that reads at this moment only puts that off.
		_, err = f.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
		if kindOf(err) == ErrBusy {
			err = nil
		}
		return err
	})
}

// Check reads the whole file, and recovers what can be read if it is damaged.
// Small files are checked when they are opened; a large one takes about a second
// for each 300 MB, so call this in the background.
func (s *Store) Check(ctx context.Context) error {
	return s.read(func(f *file) error { return f.check(ctx) })
}
