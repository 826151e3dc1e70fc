package record

import (
	"bytes"
	"database/sql"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
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

// readCSV reads a file of CSV, whose columns tell of what kind it is. They may
// stand in any order, and columns that are not ours are passed over.
func (in *importer) readCSV(r io.Reader) error {
	rows := csv.NewReader(r)
	rows.FieldsPerRecord = -1
	names, err := rows.Read()
	if err != nil {
		return in.badRow(err)
	}
	in.line = 1
	for i := range names {
		names[i] = strings.TrimSpace(strings.TrimPrefix(names[i], string(byteOrderMark)))
	}
	kind, ok := kindOfColumns(names)
	if !ok {
		in.refuseOther(fmt.Sprintf("the first line must name the columns of one kind; people's, for instance, are %s", strings.Join(namesOf(csvColumns(KindPeople)), ",")))
		return nil
	}
	columns := columnsNamed(kind, names)
	for {
		cells, err := rows.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			if err := in.badRow(err); err != nil {
				return err
			}
			continue
		}
		in.line, _ = rows.FieldPos(0)
		if len(cells) != len(names) {
			in.badCells(kind, fmt.Sprintf("%d values, and the first line names %d columns", len(cells), len(names)))
			continue
		}
		if kind == KindStarts {
			in.takeStart(startOf(names, cells))
			err = in.endOther()
		} else {
			err = in.takeRow(kind, columns, cells)
		}
		if err != nil {
			return err
		}
	}
}

// columnsNamed are a file's columns in its own order, nil for one that is not ours.
func columnsNamed(kind Kind, names []string) []*column {
	ours := csvColumns(kind)
	columns := make([]*column, len(names))
	for i, name := range names {
		for c := range ours {
			if ours[c].name == name {
				columns[i] = &ours[c]
			}
		}
	}
	return columns
}

// badRow refuses what is no CSV; another error is the file's own.
func (in *importer) badRow(err error) error {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		return err
	}
	in.line = parse.Line
	in.badCells(KindRuns, parse.Err.Error()+"; look at the quotation marks")
	return nil
}

// badCells refuses a row, and with it the run that it belongs to.
func (in *importer) badCells(kind Kind, text string) {
	if kind == KindRuns && in.run != nil {
		in.refuse(text)
		return
	}
	in.refuseOther(text)
}

// kindOfColumns tells a kind by a column that no other has.
func kindOfColumns(names []string) (Kind, bool) {
	for _, own := range []struct {
		name string
		kind Kind
	}{{rowColumn, KindRuns}, {"time_utc", KindStarts}, {"instructor", KindSignOffs}, {"role", KindPeople}, {"registration", KindRegistrations}} {
		for _, name := range names {
			if name == own.name {
				return own.kind, true
			}
		}
	}
	return "", false
}

func namesOf(columns []column) (names []string) {
	for _, c := range columns {
		names = append(names, c.name)
	}
	return names
}

// markOf is the key that a kind's line of JSON begins with.
var markOf = map[Kind]string{KindPeople: "kickover_person", KindRegistrations: "kickover_registration", KindSignOffs: "kickover_sign_off"}

// takeRow makes a row into the line of JSON that says the same, and takes that.
func (in *importer) takeRow(kind Kind, columns []*column, cells []string) error {
	row := ""
	for i, c := range columns {
		if c != nil && c.name == rowColumn {
			row = cells[i]
		}
	}
	if kind == KindRuns && row != rowRun && row != rowEvent && row != rowSummary {
		in.badCells(kind, fmt.Sprintf("%s is %q; it must be %s, %s or %s", rowColumn, row, rowRun, rowEvent, rowSummary))
		return nil
	}
	var line bytes.Buffer
	line.WriteByte('{')
	if mark := markOf[kind]; mark != "" {
		fmt.Fprintf(&line, `%q:1,`, mark)
	}
	for i, c := range columns {
		// An empty cell says nothing, but a summary always has an outcome.
		if c == nil || c.name == rowColumn || cells[i] == "" && (c.name != "outcome" || row != rowSummary) {
			continue
		}
		value, err := valueOf(*c, cells[i])
		if err != nil {
			in.badCells(kind, err.Error())
			return nil
		}
		fmt.Fprintf(&line, `%q:%s,`, c.name, value)
	}
	return in.take(append(bytes.TrimSuffix(line.Bytes(), []byte(",")), '}'))
}
