package record

import (
	"database/sql"
	"errors"
	"fmt"
)

// otherThing is a person, an aeroplane, a start or a sign-off on its way in.
type otherThing struct {
	line int
	put  func(*transaction) (change, error)
	into *Taken
}

// othersAtOnce is how many are committed together.
const othersAtOnce = 1000

func (in *importer) takePerson(text []byte) {
	var l personLine
	if err := decode(text, &l); err != nil {
		in.refuseOther("this person cannot be read: " + err.Error())
		return
	}
	in.takeOther(l.Version, "kickover_person", &in.result.People, func(tx *transaction) (change, error) {
		p, err := l.person().known(tx)
		if err != nil {
			return unchanged, err
		}
		return putPerson(tx, p.prepared())
	})
}

// known gives a person without an id, as in a list that somebody typed, the id of
// the one stored with that name and role; and one without a date the stored one's.
func (p Person) known(q querier) (Person, error) {
	query, args := "id = $1", []any{p.ID}
	if p.ID == "" {
		query, args = "name = $1 AND role = $2", []any{p.Name, p.Role}
	}
	stored, err := scanPerson(q.QueryRow("SELECT "+personColumns+" FROM people WHERE "+query+" ORDER BY key LIMIT 1", args...).Scan)
	if err == sql.ErrNoRows {
		return p, nil
	}
	p.ID = stored.ID
	if p.Added.IsZero() {
		p.Added = stored.Added
	}
	return p, err
}

func (in *importer) takeRegistration(text []byte) {
	var l registrationLine
	if err := decode(text, &l); err != nil {
		in.refuseOther("this registration cannot be read: " + err.Error())
		return
	}
	in.takeOther(l.Version, "kickover_registration", &in.result.Registrations, func(tx *transaction) (change, error) {
		return putRegistration(tx, l.registration())
	})
}

func (in *importer) takeSignOff(text []byte) {
	var l signOffLine
	if err := decode(text, &l); err != nil {
		in.refuseOther("this sign-off cannot be read: " + err.Error())
		return
	}
	if signed := l.signOff().Signed; in.toCome(signed) {
		in.refuseOther(in.notYet("signed", signed))
		return
	}
	in.takeOther(l.Version, "kickover_sign_off", &in.result.SignOffs, func(tx *transaction) (change, error) {
		return putSignOff(tx, l.signOff())
	})
}

func (in *importer) takeStart(r RealStart, err error) {
	if err != nil {
		in.refuseOther("this start cannot be read: " + err.Error())
		return
	}
	in.takeOther(1, "", &in.result.Starts, func(tx *transaction) (change, error) { return putStart(tx, r) })
}

func (in *importer) takeOther(version int, key string, into *Taken, put func(*transaction) (change, error)) {
	if version != 1 {
		in.refuseOther(fmt.Sprintf("%s is %d, this version reads 1", key, version))
		return
	}
	in.others = append(in.others, otherThing{in.line, put, into})
}

func (in *importer) refuseOther(text string) {
	in.result.Refused++
	in.problem(in.line, text)
}

func (in *importer) endOther() error {
	if len(in.others) < othersAtOnce {
		return nil
	}
	return in.flushOthers()
}

// flushOthers stores what is waiting. What makes no sense is refused, the rest is
// stored.
func (in *importer) flushOthers() error {
	if len(in.others) == 0 {
		return nil
	}
	others := in.others
	in.others = nil
	if err := in.batch.settle(); err != nil {
		return err // one transaction at a time
	}
	var changes []change
	var wrong map[int]error
	err := in.commit(func(tx *transaction) error {
		changes, wrong = make([]change, len(others)), map[int]error{} // it may be tried twice
		if err := tx.alone(); err != nil {
			return err
		}
		for i, o := range others {
			c, err := o.put(tx)
			switch {
			case errors.Is(err, ErrInvalid), errors.Is(err, errConflict):
				wrong[i] = err
			case err != nil:
				return fmt.Errorf("line %d: %w", o.line, err)
			}
			changes[i] = c
		}
		return nil
	})
	if err != nil {
		return err
	}
	for i, o := range others {
		switch {
		case errors.Is(wrong[i], errConflict):
			in.result.Refused++
			in.problem(o.line, "another sign-off with this id is stored already, and what was signed never changes")
		case wrong[i] != nil:
			in.result.Refused++
			in.problem(o.line, wrong[i].Error())
		default:
			o.into.count(changes[i])
		}
	}
	return nil
}
