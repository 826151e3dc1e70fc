package record

import (
	"database/sql"
	"errors"
	"fmt"
	"time"

	"kickover/procedure"
)

// SignOff is an instructor's word that a student has flown a flow as it should
// be. It is a note of training and nobody's licence.
type SignOff struct {
	ID         string // Sign makes one when it is empty
	Student    string // a person's id
	Instructor string // a person's id
	Signed     time.Time
	Aircraft   procedure.AircraftID
	Flow       procedure.FlowID
	Run        string // id of the run that was seen; empty for none in particular
	Remarks    string
}

// ErrNoSignOff means that there is none with this id.
var ErrNoSignOff = errors.New("no such sign-off")

const signOffColumns = "id, student, instructor, signed, aircraft, flow, run, remarks"

func (s SignOff) prepared() SignOff {
	if s.ID == "" {
		s.ID = NewID()
	}
	if s.Signed.IsZero() {
		s.Signed = time.Now()
	}
	s.Signed = s.Signed.UTC().Round(0)
	return s
}

// check looks at what is said; who says it is looked at by Sign.
func (s SignOff) check() error {
	switch {
	case !named(s.ID) || !named(s.Student) || !named(s.Instructor):
		return fmt.Errorf("%w: a sign-off needs an id, a student and an instructor", ErrInvalid)
	case s.Student == s.Instructor:
		return fmt.Errorf("%w: nobody signs for themselves", ErrInvalid)
	case s.Aircraft == "" || s.Flow == "" || !plain(string(s.Aircraft)) || !plain(string(s.Flow)) || !plain(s.Run):
		return fmt.Errorf("%w: a sign-off names an aircraft and a flow", ErrInvalid)
	case len(s.Remarks) > longestText || !plain(s.Remarks):
		return fmt.Errorf("%w: remarks have at most %d bytes and no control characters", ErrInvalid, longestText)
	case !storableTime(s.Signed):
		return fmt.Errorf("%w: signed must lie between the years 1900 and 2200", ErrInvalid)
	}
	return nil
}

// Sign stores an instructor's word and gives it as stored. With a run it takes
// the aircraft and the flow from that run, which must be the student's or
// nobody's. The errors are ErrInvalid, ErrNoPerson and ErrNoRun.
func (s *Store) Sign(o SignOff) (SignOff, error) {
	o = o.prepared()
	err := s.inTransaction(func(tx *transaction) error {
		if err := o.checkPeople(tx); err != nil {
			return err
		}
		if o.Run != "" {
			if err := o.takeRun(tx); err != nil {
				return err
			}
		}
		change, err := putSignOff(tx, o)
		if err == nil && change == unchanged {
			err = fmt.Errorf("%w: sign-off %q", ErrExists, o.ID)
		}
		return err
	})
	return o, err
}

func (s SignOff) checkPeople(q querier) error {
	student, err := personOf(q, s.Student)
	if err != nil {
		return err
	}
	instructor, err := personOf(q, s.Instructor)
	switch {
	case err != nil:
		return err
	case student.Role != Student || instructor.Role != Instructor:
		return fmt.Errorf("%w: an instructor signs for a student; %s is %s and %s is %s", ErrInvalid, instructor.Name, instructor.Role, student.Name, student.Role)
	}
	return nil
}

func (s *SignOff) takeRun(q querier) error {
	key, err := keyOf(q, s.Run)
	if err != nil {
		return err
	}
	l, err := readListing(q, key)
	switch {
	case err != nil:
		return err
	case l.Header.Person != "" && l.Header.Person != s.Student:
		return fmt.Errorf("%w: run %s is another person's", ErrInvalid, s.Run)
	case !l.Finished:
		return fmt.Errorf("%w: run %s was cut short", ErrInvalid, s.Run)
	}
	s.Aircraft, s.Flow = l.Header.Aircraft, l.Header.Flow
	return nil
}

// putSignOff stores one that is not there yet. What was signed never changes: one
// with the same id and another content is errConflict.
func putSignOff(tx *transaction, o SignOff) (change, error) {
	if err := o.check(); err != nil {
		return unchanged, err
	}
	stored, err := scanSignOff(tx.QueryRow("SELECT "+signOffColumns+" FROM sign_offs WHERE id = $1", o.ID).Scan)
	switch {
	case err == nil && stored != o:
		return unchanged, errConflict
	case err != sql.ErrNoRows:
		return unchanged, err
	}
	_, err = tx.Exec("INSERT INTO sign_offs ("+signOffColumns+") VALUES ("+places(8)+")",
		o.ID, o.Student, o.Instructor, o.Signed.UnixNano(), o.Aircraft, o.Flow, orNull(o.Run), o.Remarks)
	return added, err
}

func scanSignOff(scan func(...any) error) (o SignOff, err error) {
	var signed int64
	var run sql.NullString
	err = scan(&o.ID, &o.Student, &o.Instructor, &signed, &o.Aircraft, &o.Flow, &run, &o.Remarks)
	o.Signed, o.Run = time.Unix(0, signed).UTC(), run.String
	return o, unreadable(err)
}

// SignOffs lists what was signed for a person or by them, or all with an empty
// id, newest first.
func (s *Store) SignOffs(person string) (list []SignOff, err error) {
	var c conditions
	if person != "" {
		c.add("(student = ? OR instructor = ?)", person, person)
	}
	err = s.read(func(f *file) error {
		list, err = rowsOf(f.db, scanSignOff, "SELECT "+signOffColumns+" FROM sign_offs"+c.where()+" ORDER BY signed DESC, key DESC", c.args...)
		return err
	})
	return list, err
}

// Withdraw deletes a sign-off for good.
func (s *Store) Withdraw(id string) error {
	return s.deleteOne("sign_offs", "id", id, ErrNoSignOff)
}

// deleteOne deletes the row that an id names, and what its place held.
func (s *Store) deleteOne(table, column, id string, none error) error {
	return s.write(func(f *file) error {
		err := f.inTransaction(func(tx *transaction) error {
			result, err := tx.Exec("DELETE FROM "+table+" WHERE "+column+" = $1", id)
			if err != nil {
				return err
			}
			if n, err := result.RowsAffected(); err != nil || n == 0 {
				return errors.Join(err, fmt.Errorf("%w: %q", none, id))
			}
			return nil
		})
		if err != nil {
			return err
		}
		return f.scrub(true)
	})
}
