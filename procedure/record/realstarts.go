package record

import (
	"database/sql"
	"errors"
	"fmt"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
)

// The cockpit keeps its starts in a file of its own (package realstart), which
// needs no database and is written where a laptop may fail. They are brought in
// here to be looked at beside the practice: as often as one likes.

// Registration is a real aeroplane and the description that stands for it.
type Registration struct {
	Registration string // as painted on it
	Aircraft     procedure.AircraftID
	Note         string
}

// Errors about aeroplanes and their starts.
var (
	ErrNoRegistration = errors.New("no such registration")
	ErrNoStart        = errors.New("no such start")
)

const registrationColumns = "registration, aircraft, note"

func (r Registration) check() error {
	if r.Registration == "" || len(r.Registration) > 64 || !plain(r.Registration) || !plain(string(r.Aircraft)) ||
		len(r.Note) > longestText || !plain(r.Note) {
		return fmt.Errorf("%w: a registration has 1 to 64 bytes, a note at most %d, and neither has control characters", ErrInvalid, longestText)
	}
	return nil
}

// Register stores an aeroplane, or what is said of a known one now.
func (s *Store) Register(r Registration) error {
	return s.inTransaction(func(tx *transaction) error {
		_, err := putRegistration(tx, r)
		return err
	})
}

func putRegistration(tx *transaction, r Registration) (change, error) {
	if err := r.check(); err != nil {
		return unchanged, err
	}
	stored, err := scanRegistration(tx.QueryRow("SELECT "+registrationColumns+" FROM registrations WHERE registration = $1", r.Registration).Scan)
	switch {
	case err == sql.ErrNoRows:
		_, err := tx.Exec("INSERT INTO registrations ("+registrationColumns+") VALUES ("+places(3)+")", r.Registration, r.Aircraft, r.Note)
		return added, err
	case err != nil || stored == r:
		return unchanged, err
	}
	_, err = tx.Exec("UPDATE registrations SET aircraft = $1, note = $2 WHERE registration = $3", r.Aircraft, r.Note, r.Registration)
	return changed, err
}

func scanRegistration(scan func(...any) error) (r Registration, err error) {
	return r, unreadable(scan(&r.Registration, &r.Aircraft, &r.Note))
}

// Registrations lists the aeroplanes in the order of their registrations.
func (s *Store) Registrations() (list []Registration, err error) {
	err = s.read(func(f *file) error {
		list, err = rowsOf(f.db, scanRegistration, "SELECT "+registrationColumns+" FROM registrations ORDER BY registration")
		return err
	})
	return list, err
}

// Unregister deletes an aeroplane; its starts stay.
func (s *Store) Unregister(registration string) error {
	return s.deleteOne("registrations", "registration", registration, ErrNoRegistration)
}

// RealStart is a start of a real engine and whose it was.
type RealStart struct {
	realstart.Start
	Person string // a person's id; empty when it is nobody's
}

// Taken counts what became of things that were given to be stored.
type Taken struct {
	Added   int
	Changed int
	Known   int // that were stored already, just so
}

func (t *Taken) count(c change) {
	switch c {
	case added:
		t.Added++
	case changed:
		t.Changed++
	default:
		t.Known++
	}
}

// KeepStarts stores real starts; one with a known id takes its place, so that the
// same ones again change nothing. One that says nobody's leaves stored whose it
// is. An aeroplane that is not known yet is registered.
func (s *Store) KeepStarts(starts ...RealStart) (taken Taken, err error) {
	err = s.inTransaction(func(tx *transaction) error {
		taken = Taken{}
		for _, start := range starts {
			c, err := putStart(tx, start)
			if err != nil {
				return fmt.Errorf("start %s: %w", start.ID, err)
			}
			taken.count(c)
		}
		return nil
	})
	return taken, err
}

const startColumns = `id, registration, aircraft, started, situation, oat, altitude, since_shutdown,
	prime, attempts, outcome, note, person`

func (r RealStart) check() error {
	switch {
	case r.ID == "" || len(r.ID) > 200 || !plain(r.ID), !plain(r.Situation), !plain(r.Person):
		return fmt.Errorf("%w: a start needs an id of at most 200 bytes, and no control characters", ErrInvalid)
	case !storableTime(r.At):
		return fmt.Errorf("%w: a start must lie between the years 1900 and 2200", ErrInvalid)
	case r.Outcome != procedure.Started && r.Outcome != procedure.NotStarted:
		return fmt.Errorf("%w: the outcome is %q; a start ends %s or %s", ErrInvalid, r.Outcome, procedure.Started, procedure.NotStarted)
	case len(r.Note) > longestText || !plain(r.Note):
		return fmt.Errorf("%w: a note has at most %d bytes and no control characters", ErrInvalid, longestText)
	}
	return Registration{Registration: r.Registration, Aircraft: r.Aircraft}.check()
}

// row are the values of startColumns.
func (r RealStart) row() []any {
	var since any
	if r.ShutdownKnown {
		since = int64(r.SinceShutdown)
	}
	return []any{
		r.ID, r.Registration, string(r.Aircraft), r.At.UnixNano(), r.Situation, bits(r.OATCelsius), bits(r.AltitudeM), since,
		int64(r.Prime), int64(r.Attempts), string(r.Outcome), r.Note, orNull(r.Person),
	}
}

func putStart(tx *transaction, r RealStart) (change, error) {
	if err := r.check(); err != nil {
		return unchanged, err
	}
	// An aeroplane that is known may have been given another description.
	_, err := tx.Exec("INSERT INTO registrations ("+registrationColumns+") VALUES ("+places(3)+") ON CONFLICT DO NOTHING",
		r.Registration, r.Aircraft, "")
	if err != nil {
		return unchanged, err
	}
	stored, err := scanStart(tx.QueryRow("SELECT "+startColumns+" FROM real_starts WHERE id = $1", r.ID).Scan)
	if err == sql.ErrNoRows {
		_, err := tx.Exec("INSERT INTO real_starts ("+startColumns+") VALUES ("+places(13)+")", r.row()...)
		return added, err
	}
	if err != nil {
		return unchanged, err
	}
	if r.Person == "" {
		r.Person = stored.Person
	}
	if fmt.Sprint(r.row()...) == fmt.Sprint(stored.row()...) {
		return unchanged, nil
	}
	_, err = tx.Exec(`UPDATE real_starts SET id = $1, registration = $2, aircraft = $3, started = $4, situation = $5, oat = $6,
		altitude = $7, since_shutdown = $8, prime = $9, attempts = $10, outcome = $11, note = $12, person = $13 WHERE id = $1`, r.row()...)
	return changed, err
}

func scanStart(scan func(...any) error) (r RealStart, err error) {
	var started, oat, altitude, prime int64
	var since sql.NullInt64
	var person sql.NullString
	err = scan(&r.ID, &r.Registration, &r.Aircraft, &started, &r.Situation, &oat, &altitude, &since,
		&prime, &r.Attempts, &r.Outcome, &r.Note, &person)
	r.At, r.OATCelsius, r.AltitudeM = time.Unix(0, started).UTC(), fromBits(oat), fromBits(altitude)
	r.SinceShutdown, r.ShutdownKnown = time.Duration(since.Int64), since.Valid
	r.Prime, r.Person = time.Duration(prime), person.String
	return r, unreadable(err)
}

// StartFilter says which starts are meant; a zero field means any.
type StartFilter struct {
	Person       string // a person's id, or Nobody
	Registration string
	From, To     time.Time // at or after From, and before To
}

// RealStarts lists real starts, oldest first.
func (s *Store) RealStarts(filter StartFilter) (list []RealStart, err error) {
	var c conditions
	switch filter.Person {
	case "":
	case Nobody:
		c.add("person IS NULL")
	default:
		c.add("person = ?", filter.Person)
	}
	if filter.Registration != "" {
		c.add("registration = ?", filter.Registration)
	}
	if !filter.From.IsZero() {
		c.add("started >= ?", filter.From.UnixNano())
	}
	if !filter.To.IsZero() {
		c.add("started < ?", filter.To.UnixNano())
	}
	err = s.read(func(f *file) error {
		list, err = rowsOf(f.db, scanStart, "SELECT "+startColumns+" FROM real_starts"+c.where()+" ORDER BY started, key", c.args...)
		return err
	})
	return list, err
}

// DeleteStart deletes a real start for good from this store; the cockpit's own
// file keeps what it keeps.
func (s *Store) DeleteStart(id string) error {
	return s.deleteOne("real_starts", "id", id, ErrNoStart)
}
