package record

import (
	"context"
	"database/sql"
	"fmt"
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

// Nobody in Filter.Person means runs that belong to nobody.
const Nobody = "-"

// Filter says which runs are meant; a zero field means any.
type Filter struct {
	Person   string // a person's id, or Nobody
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
		where := filter.where()
		if page.After != "" {
			var started, key int64
			err := f.db.QueryRow("SELECT started, key FROM runs WHERE id = $1", page.After).Scan(&started, &key)
			if err == sql.ErrNoRows {
				err = ErrNoRun
			}
			if err != nil {
				return err
			}
			where.add("(started, key) < (?, ?)", started, key)
		}
		rows, err := f.db.Query(where.list(page.Limit), where.args...)
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

// conditions are what a statement's rows must meet.
type conditions struct {
	text []string
	args []any
}

// add takes a condition with a ? for each of its values.
func (c *conditions) add(text string, values ...any) {
	for range values {
		c.args = append(c.args, nil)
		text = strings.Replace(text, "?", fmt.Sprintf("$%d", len(c.args)), 1)
	}
	copy(c.args[len(c.args)-len(values):], values)
	c.text = append(c.text, text)
}

// where is empty, or begins with WHERE.
func (c *conditions) where() string {
	if len(c.text) == 0 {
		return ""
	}
	return " WHERE " + strings.Join(c.text, " AND ")
}

// list is the statement for the first rows of a list, newest first.
func (c *conditions) list(limit int) string {
	return fmt.Sprintf("SELECT %s, %s FROM runs%s ORDER BY started DESC, key DESC LIMIT %d", headerColumns, summaryColumns, c.where(), limit)
}

func (f Filter) where() *conditions {
	var c conditions
	for _, asked := range []struct{ column, value string }{
		{"aircraft", string(f.Aircraft)}, {"flow", string(f.Flow)}, {"phase", string(f.Phase)}, {"outcome", string(f.Outcome)},
	} {
		switch {
		case asked.value == "":
		case f.Person != "":
			// An expression keeps the database from beginning with these: it takes
			// any index for as good as another, and a person has the fewest runs.
			c.add("("+asked.column+" || '') = ?", asked.value)
		default:
			c.add(asked.column+" = ?", asked.value)
		}
	}
	switch f.Person {
	case "":
	case Nobody:
		c.add("person IS NULL")
	default:
		c.add("person = ?", f.Person)
	}
	if !f.From.IsZero() {
		c.add("started >= ?", f.From.UnixNano())
	}
	if !f.To.IsZero() {
		c.add("started < ?", f.To.UnixNano())
	}
	return &c
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

// Delete removes a run for good: its rows are overwritten, in the log too. In
// PostgreSQL their room is freed to be overwritten.
func (s *Store) Delete(id string) error {
	return s.write(func(f *file) error {
		err := f.inTransaction(func(tx *transaction) error {
			key, err := keyOf(tx, id)
			if err != nil {
				return err
			}
			return deleteRun(tx, key)
		})
		if err != nil {
			return err
		}
		return f.scrub(false)
	})
}

func deleteRun(tx *transaction, key int64) error {
	if _, err := tx.Exec("DELETE FROM events WHERE place BETWEEN $1 AND $2", placeOf(key, 0), placeOf(key, 1<<seqBits-1)); err != nil {
		return err
	}
	_, err := tx.Exec("DELETE FROM runs WHERE key = $1", key)
	return err
}

// scrub sees to it that what was deleted is gone; names says that rows were which
// name somebody.
func (f *file) scrub(names bool) error {
	if f.postgres {
		return f.scrubPostgres(names)
	}
	// The log holds older copies of the pages until it is cut. Another
	// program that reads at this moment only puts that off.
	_, err := f.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	if kindOf(err) == ErrBusy {
		err = nil
	}
	return err
}

// Check reads the whole file, and recovers what can be read if it is damaged.
// Small files are checked when they are opened; a large one takes about a second
// for each 300 MB, so call this in the background.
func (s *Store) Check(ctx context.Context) error {
	return s.read(func(f *file) error { return f.check(ctx) })
}
