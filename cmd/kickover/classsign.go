package main

import (
	"errors"
	"fmt"
	"strings"

	"kickover/procedure/record"
	screens "kickover/ui/classroom"
)

// signer keeps an instructor's sign-offs in the records. People are known by
// their names; somebody new is added.
type signer struct{ store *record.Store }

// SignOff implements classroom.Signer.
func (s signer) SignOff(o screens.SignOff) error {
	people, err := s.store.People()
	if err != nil {
		return err
	}
	student, err := s.person(people, o.Student, record.Student)
	if err != nil {
		return err
	}
	instructor, err := s.person(people, o.Instructor, record.Instructor)
	if err != nil {
		return err
	}
	err = s.store.Assign(o.Run, student)
	if errors.Is(err, record.ErrNoRun) {
		return errors.New("this run is not in the records yet: it comes when its end has been delivered, a moment after the drill")
	}
	if err == nil {
		_, err = s.store.Sign(record.SignOff{Student: student, Instructor: instructor, Run: o.Run, Remarks: o.Remarks})
	}
	return err
}

// person finds somebody by name and role, or adds them.
func (s signer) person(people []record.Person, name string, role record.Role) (id string, err error) {
	var found []string
	for _, p := range people {
		if strings.EqualFold(p.Name, name) && p.Role == role {
			found = append(found, p.ID)
		}
	}
	switch len(found) {
	case 0:
		p, err := s.store.AddPerson(record.Person{Name: name, Role: role})
		return p.ID, err
	case 1:
		return found[0], nil
	}
	return "", fmt.Errorf("%d people in the records are called %s: write the name as only one of them is called, or rename one with 'kickover records people rename'", len(found), name)
}

// Signed implements classroom.Signer.
func (s signer) Signed() (map[string]string, error) {
	signed, err := s.store.SignOffs("")
	if err != nil {
		return nil, err
	}
	names, err := peopleNames(s.store)
	if err != nil {
		return nil, err
	}
	by := map[string]string{}
	for _, o := range signed {
		by[o.Run] = names(o.Instructor)
	}
	return by, nil
}
