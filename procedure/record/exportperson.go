package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"kickover/procedure"
)

// ExportPerson writes as JSON Lines all that names a person: what [Store.Erase]
// would take with them, and the people with whom they share a sign-off, without
// whom it could not be taken in again.
func (s *Store) ExportPerson(w io.Writer, id string) error {
	person, err := s.Person(id)
	if err != nil {
		return err
	}
	signed, err := s.SignOffs(id)
	if err != nil {
		return err
	}
	starts, err := s.RealStarts(StartFilter{Person: id})
	if err != nil {
		return err
	}
	named := map[string]bool{id: true}
	people := []Person{person}
	for _, o := range signed {
		for _, other := range []string{o.Student, o.Instructor} {
			if named[other] {
				continue
			}
			named[other] = true
			p, err := s.Person(other)
			if err != nil {
				return err
			}
			people = append(people, p)
		}
	}
	out := newJSONWriter(w)
	err = errors.Join(
		writeEach(out, people, nil, personJSON), writeEach(out, starts, nil, realStartJSON),
		s.eachRun(Filter{Person: id}, func(l Listing, events []procedure.Event) error { return writeRun(out, l, events) }),
		writeEach(out, signed, nil, signOffJSON), // what they are about comes first
		out.flush(),
	)
	if err != nil {
		return fmt.Errorf("export %s: %w", person.Name, err)
	}
	return nil
}

func personJSON(p Person) (any, error) {
	return personLine{1, p.ID, p.Name, string(p.Role), p.Added}, nil
}

func signOffJSON(o SignOff) (any, error) {
	return signOffLine{1, o.ID, o.Student, o.Instructor, o.Signed, string(o.Aircraft), string(o.Flow), o.Run, o.Remarks}, nil
}

func realStartJSON(r RealStart) (any, error) {
	line, err := startJSON(r)
	return json.RawMessage(line), err
}
