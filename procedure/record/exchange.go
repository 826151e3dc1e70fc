package record

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
)

// Kind is a kind of thing that is exported: JSON Lines may hold all kinds one
// after another, a CSV file holds one.
type Kind string

// The kinds, in the order in which they refer to one another.
const (
	KindPeople        Kind = "people"
	KindRegistrations Kind = "registrations"
	KindStarts        Kind = "starts"
	KindRuns          Kind = "runs"
	KindSignOffs      Kind = "sign-offs"
)

// Kinds are all of them.
func Kinds() []Kind {
	return []Kind{KindPeople, KindRegistrations, KindStarts, KindRuns, KindSignOffs}
}

// Encoding is how a file of records is written.
type Encoding string

// The encodings: JSON Lines, an object a line in UTF-8; and CSV by RFC 4180, in
// UTF-8, the first line naming the columns.
const (
	JSONLines Encoding = "jsonl"
	CSV       Encoding = "csv"
)

// What follows are lines of things other than runs. The first key tells what a
// line is, and its value the version of its meaning, 1.

type personLine struct {
	Version int       `json:"kickover_person"`
	ID      string    `json:"id"`
	Name    string    `json:"name"`
	Role    string    `json:"role"`
	Added   time.Time `json:"added,omitzero"`
}

type registrationLine struct {
	Version      int    `json:"kickover_registration"`
	Registration string `json:"registration"`
	Aircraft     string `json:"aircraft"`
	Note         string `json:"note"`
}

type signOffLine struct {
	Version    int       `json:"kickover_sign_off"`
	ID         string    `json:"id"`
	Student    string    `json:"student"`
	Instructor string    `json:"instructor"`
	Signed     time.Time `json:"signed"`
	Aircraft   string    `json:"aircraft"`
	Flow       string    `json:"flow"`
	Run        string    `json:"run,omitempty"`
	Remarks    string    `json:"remarks"`
}

func (l personLine) person() Person {
	return Person{ID: l.ID, Name: strings.TrimSpace(l.Name), Role: Role(l.Role), Added: l.Added}
}

func (l registrationLine) registration() Registration {
	return Registration{Registration: strings.TrimSpace(l.Registration), Aircraft: procedure.AircraftID(l.Aircraft), Note: l.Note}
}

func (l signOffLine) signOff() SignOff {
	return SignOff{
		ID: l.ID, Student: l.Student, Instructor: l.Instructor, Signed: l.Signed.UTC().Round(0),
		Aircraft: procedure.AircraftID(l.Aircraft), Flow: procedure.FlowID(l.Flow), Run: l.Run, Remarks: l.Remarks,
	}
}

// A real start's columns are those of package realstart, and whose it was.

func startNames() []string {
	names, _ := startCells(RealStart{})
	return names
}

func startCells(r RealStart) (names, cells []string) {
	var text bytes.Buffer
	err := realstart.Write(&text, []realstart.Start{r.Start})
	rows, readErr := csv.NewReader(&text).ReadAll()
	if err != nil || readErr != nil || len(rows) != 2 {
		panic(fmt.Sprintf("a start does not come back from its own CSV: %v %v", err, readErr)) // it is written to memory
	}
	return append(rows[0], "person"), append(rows[1], r.Person)
}

// startOf reads a start from cells, and says what is wrong with each that is.
func startOf(names, cells []string, now time.Time) (RealStart, error) {
	var text bytes.Buffer
	out := csv.NewWriter(&text)
	if err := errors.Join(out.Write(names), out.Write(cells)); err != nil {
		return RealStart{}, err
	}
	out.Flush()
	starts, err := realstart.Read(&text, now)
	var mistakes realstart.Mistakes
	if errors.As(err, &mistakes) {
		var wrong []string
		for _, m := range mistakes {
			if m.Column == "" {
				wrong = append(wrong, m.Mend)
				continue
			}
			wrong = append(wrong, fmt.Sprintf("%s is %q; %s", m.Column, m.Value, m.Mend))
		}
		return RealStart{}, errors.New(strings.Join(wrong, "; "))
	}
	if err != nil {
		return RealStart{}, err
	}
	r := RealStart{Start: starts[0]}
	for i, name := range names {
		if name == "person" && i < len(cells) {
			r.Person = cells[i]
		}
	}
	return r, nil
}

// numericStart are the columns that are numbers in JSON.
var numericStart = map[string]bool{"oat_degC": true, "altitude_m": true, "since_shutdown_s": true, "prime_s": true, "attempts": true}

// startJSON writes a start as a line of JSON: what is not known is left out.
func startJSON(r RealStart) ([]byte, error) {
	line := []byte(`{"kickover_start":1`)
	names, cells := startCells(r)
	for i, cell := range cells {
		if cell == "" {
			continue
		}
		value := []byte(cell)
		if !numericStart[names[i]] {
			var err error
			if value, err = jsonText(cell); err != nil {
				return nil, err
			}
		}
		line = fmt.Appendf(line, `,%q:%s`, names[i], value)
	}
	return append(line, '}'), nil
}

// startOfJSON is startOf for a line of JSON.
func startOfJSON(text []byte, now time.Time) (RealStart, error) {
	var object map[string]json.RawMessage
	if err := decode(text, &object); err != nil {
		return RealStart{}, err
	}
	if string(object["kickover_start"]) != "1" {
		return RealStart{}, fmt.Errorf("kickover_start is %s, this version reads 1", object["kickover_start"])
	}
	delete(object, "kickover_start")
	names := startNames()
	cells := make([]string, len(names))
	for i, name := range names {
		value := object[name]
		if len(value) == 0 || string(value) == "null" {
			continue
		}
		cells[i] = string(value)
		if value[0] == '"' {
			if err := json.Unmarshal(value, &cells[i]); err != nil {
				return RealStart{}, err
			}
		}
		delete(object, name)
	}
	for name := range object {
		return RealStart{}, fmt.Errorf("unknown field %q", name)
	}
	return startOf(names, cells, now)
}

func jsonText(text string) ([]byte, error) {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	err := e.Encode(text)
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), err
}

// column is one of a line's, as a CSV file has it.
type column struct {
	name string
	text bool // its cell is a text; another's is JSON
}

// columnsOf are a line's columns, by the names of its JSON.
func columnsOf(lines ...any) (columns []column) {
	seen := map[string]bool{}
	for _, line := range lines {
		t := reflect.TypeOf(line)
		for i := range t.NumField() {
			name, options, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
			if seen[name] {
				continue
			}
			seen[name] = true
			field := t.Field(i).Type
			if field.Kind() == reflect.Pointer {
				field = field.Elem()
			}
			isText := field.Kind() == reflect.String || field == reflect.TypeFor[time.Time]() || options == "string"
			columns = append(columns, column{name, isText})
		}
	}
	return columns
}

// rowKinds are the values of the column that tells a run's rows apart.
const (
	rowColumn  = "row"
	rowRun     = "run"
	rowEvent   = "event"
	rowSummary = "summary"
)

// csvColumns are a kind's columns. A run takes a row for its header, one for each
// event and one for its summary, as it takes lines of JSON.
func csvColumns(kind Kind) []column {
	switch kind {
	case KindPeople:
		return columnsOf(personLine{})[1:]
	case KindRegistrations:
		return columnsOf(registrationLine{})[1:]
	case KindSignOffs:
		return columnsOf(signOffLine{})[1:]
	case KindRuns:
		return append([]column{{rowColumn, true}}, columnsOf(headerLine{}, eventLine{}, summaryLine{})...)
	}
	var columns []column
	for _, name := range startNames() {
		columns = append(columns, column{name, true})
	}
	return columns
}

// cellOf writes a JSON value into a cell. A text with a carriage return, which
// readers of CSV change, or that begins with a quotation mark is written as JSON.
func cellOf(c column, value json.RawMessage) (string, error) {
	if !c.text || len(value) == 0 || value[0] != '"' {
		return string(value), nil
	}
	var text string
	if err := json.Unmarshal(value, &text); err != nil {
		return "", err
	}
	if strings.ContainsRune(text, '\r') || strings.HasPrefix(text, `"`) {
		return string(value), nil
	}
	return text, nil
}

// valueOf reads what cellOf wrote.
func valueOf(c column, cell string) (json.RawMessage, error) {
	if c.text && !strings.HasPrefix(cell, `"`) {
		return jsonText(cell)
	}
	if !json.Valid([]byte(cell)) {
		return nil, fmt.Errorf("%s is %q, which is no value of this column", c.name, cell)
	}
	return json.RawMessage(cell), nil
}

// csvWriter writes lines of one kind as CSV.
type csvWriter struct {
	out     *csv.Writer
	columns []column
}

func newCSVWriter(w io.Writer, kind Kind) (*csvWriter, error) {
	c := &csvWriter{csv.NewWriter(w), csvColumns(kind)}
	c.out.UseCRLF = true
	var names []string
	for _, column := range c.columns {
		names = append(names, column.name)
	}
	return c, c.out.Write(names)
}

// write writes a line; row is what it is, for a run's.
func (c *csvWriter) write(row string, line any) error {
	text, err := json.Marshal(line)
	if err != nil {
		return err
	}
	var values map[string]json.RawMessage
	if err := json.Unmarshal(text, &values); err != nil {
		return err
	}
	cells := make([]string, len(c.columns))
	for i, column := range c.columns {
		if column.name == rowColumn {
			cells[i] = row
			continue
		}
		if cells[i], err = cellOf(column, values[column.name]); err != nil {
			return err
		}
	}
	return c.out.Write(cells)
}

func (c *csvWriter) flush() error {
	c.out.Flush()
	return c.out.Error()
}
