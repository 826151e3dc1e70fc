package record

import (
	"cmp"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Role is what somebody is in the records.
type Role string

// The roles.
const (
	Student    Role = "student"
	Instructor Role = "instructor"
)

// Person is somebody whom records name. Names are kept in this store and nowhere
// else, are exported only when asked for, and can be erased ([Store.Erase]).
type Person struct {
	ID    string // tells nothing of the person; AddPerson makes one when it is empty
	Name  string
	Role  Role
	Added time.Time // UTC; AddPerson fills in the present when it is zero
}

// Problems with people and what they sign.
var (
	ErrNoPerson = errors.New("no such person")
	ErrInvalid  = errors.New("this cannot be stored")
)

// longestText bounds names and remarks, in bytes.
const longestText = 4000

// prepared gives the person as stored.
func (p Person) prepared() Person {
	if p.ID == "" {
		p.ID = NewID()
	}
	if p.Added.IsZero() {
		p.Added = time.Now()
	}
	p.Name, p.Added = strings.TrimSpace(p.Name), p.Added.UTC().Round(0)
	return p
}

func (p Person) check() error {
	switch {
	case p.Name == "" || len(p.Name) > 200 || !plain(p.Name) || strings.ContainsAny(p.Name, "\n\t"):
		return fmt.Errorf("%w: a name is one line of 1 to 200 bytes", ErrInvalid)
	case p.Role != Student && p.Role != Instructor:
		return fmt.Errorf("%w: the role is %q; it must be %s or %s", ErrInvalid, p.Role, Student, Instructor)
	case !named(p.ID):
		return fmt.Errorf("%w: a person's id has 1 to 64 characters and is not %q", ErrInvalid, Nobody)
	case !storableTime(p.Added):
		return fmt.Errorf("%w: added must lie between the years 1900 and 2200", ErrInvalid)
	}
	return nil
}

// plain reports whether a text is one that both databases keep as it is.
func plain(text string) bool {
	return utf8.ValidString(text) && !strings.ContainsFunc(text, func(r rune) bool {
		return unicode.IsControl(r) && r != '\n' && r != '\t'
	})
}

// named reports whether an id names something.
func named(id string) bool {
	return id != "" && len(id) <= 64 && id != Nobody && plain(id) && !strings.ContainsAny(id, "\n\t")
}

// storableTime bounds times to what nanoseconds in 64 bits hold, and to sense.
func storableTime(t time.Time) bool { return t.Year() >= 1900 && t.Year() <= 2200 }

// AddPerson stores somebody new, or with a known id what is said of them now. It
// gives the person as stored; ErrInvalid tells what is wrong.
func (s *Store) AddPerson(p Person) (Person, error) {
	p = p.prepared()
	err := s.inTransaction(func(tx *transaction) error {
		_, err := putPerson(tx, p)
		return err
	})
	return p, err
}

const personColumns = "id, name, role, added"

// change is what storing something came to.
type change int

const (
	unchanged change = iota
	added
	changed
)

func putPerson(tx *transaction, p Person) (change, error) {
	if err := p.check(); err != nil {
		return unchanged, err
	}
	stored, err := scanPerson(tx.QueryRow("SELECT "+personColumns+" FROM people WHERE id = $1", p.ID).Scan)
	switch {
	case err == sql.ErrNoRows:
		_, err := tx.Exec("INSERT INTO people ("+personColumns+") VALUES ("+places(4)+")", p.ID, p.Name, p.Role, p.Added.UnixNano())
		return added, err
	case err != nil || stored == p:
		return unchanged, err
	}
	_, err = tx.Exec("UPDATE people SET name = $1, role = $2, added = $3 WHERE id = $4", p.Name, p.Role, p.Added.UnixNano(), p.ID)
	return changed, err
}

func scanPerson(scan func(...any) error) (p Person, err error) {
	var added int64
	err = scan(&p.ID, &p.Name, &p.Role, &added)
	p.Added = time.Unix(0, added).UTC()
	return p, unreadable(err)
}

// People lists everybody by name.
func (s *Store) People() (list []Person, err error) {
	err = s.read(func(f *file) error {
		list, err = rowsOf(f.db, scanPerson, "SELECT "+personColumns+" FROM people")
		return err
	})
	slices.SortFunc(list, func(a, b Person) int { return cmp.Or(strings.Compare(a.Name, b.Name), strings.Compare(a.ID, b.ID)) })
	return list, err
}

// Person gives somebody by id; ErrNoPerson if there is none.
func (s *Store) Person(id string) (p Person, err error) {
	err = s.read(func(f *file) error {
		p, err = personOf(f.db, id)
		return err
	})
	return p, err
}

func personOf(q querier, id string) (Person, error) {
	p, err := scanPerson(q.QueryRow("SELECT "+personColumns+" FROM people WHERE id = $1", id).Scan)
	if err == sql.ErrNoRows {
		err = fmt.Errorf("%w: %q", ErrNoPerson, id)
	}
	return p, err
}

// rowsOf reads all rows of a statement.
func rowsOf[T any](q querier, scan func(func(...any) error) (T, error), statement string, args ...any) (list []T, err error) {
	rows, err := q.Query(statement, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		v, err := scan(rows.Scan)
		if err != nil {
			return list, err
		}
		list = append(list, v)
	}
	return list, rows.Err()
}

// Assign says whose a run is; an empty person makes it nobody's. ErrNoRun and
// ErrNoPerson tell that one is not there.
func (s *Store) Assign(run, person string) error {
	return s.inTransaction(func(tx *transaction) error {
		key, err := keyOf(tx, run)
		if err != nil {
			return err
		}
		if person != "" {
			if _, err := personOf(tx, person); err != nil {
				return err
			}
		}
		_, err = tx.Exec("UPDATE runs SET person = $1 WHERE key = $2", orNull(person), key)
		return err
	})
}

// Traces is what names somebody.
type Traces struct{ Runs, RealStarts, SignOffs int }

func (t Traces) String() string {
	count := func(n int, thing string) string {
		if n != 1 {
			thing += "s"
		}
		return fmt.Sprintf("%d %s", n, thing)
	}
	return fmt.Sprintf("%s, %s and %s", count(t.Runs, "run"), count(t.RealStarts, "real start"), count(t.SignOffs, "sign-off"))
}

// Traces counts what [Store.Erase] would take with a person.
func (s *Store) Traces(person string) (t Traces, err error) {
	err = s.read(func(f *file) error {
		if _, err := personOf(f.db, person); err != nil {
			return err
		}
		t, err = tracesOf(f.db, person)
		return err
	})
	return t, err
}

func tracesOf(q querier, person string) (t Traces, err error) {
	err = q.QueryRow(`SELECT (SELECT count(*) FROM runs WHERE person = $1),
		(SELECT count(*) FROM real_starts WHERE person = $1),
		(SELECT count(*) FROM sign_offs WHERE student = $1 OR instructor = $1)`, person).
		Scan(&t.Runs, &t.RealStarts, &t.SignOffs)
	return t, err
}

// Erase deletes a person and all that names them, for good: their runs and real
// starts, and what was signed for them or by them. In a file the rows are
// overwritten; in PostgreSQL the tables with names are written anew, and the
// server's own log and backups stay its keeper's to delete. Files that were
// exported or backed up before still hold what they hold.
func (s *Store) Erase(person string) (t Traces, err error) {
	err = s.write(func(f *file) error {
		err := f.inTransaction(func(tx *transaction) error {
			if err := tx.alone(); err != nil {
				return err
			}
			if _, err := personOf(tx, person); err != nil {
				return err
			}
			if t, err = tracesOf(tx, person); err != nil {
				return err
			}
			return erase(tx, person)
		})
		if err != nil {
			return err
		}
		return f.scrub(true)
	})
	return t, err
}

func erase(tx *transaction, person string) error {
	keys, err := rowsOf(tx, func(scan func(...any) error) (key int64, err error) { return key, scan(&key) },
		"SELECT key FROM runs WHERE person = $1", person)
	if err != nil {
		return err
	}
	for _, key := range keys {
		if err := deleteRun(tx, key); err != nil {
			return err
		}
	}
	for _, statement := range []string{
		"DELETE FROM real_starts WHERE person = $1",
		"DELETE FROM sign_offs WHERE student = $1 OR instructor = $1",
		"DELETE FROM people WHERE id = $1",
	} {
		if _, err := tx.Exec(statement, person); err != nil {
			return err
		}
	}
	return nil
}
