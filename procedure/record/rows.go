package record

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"kickover/procedure"
)

const (
	headerColumns = `id, format, started, program, aircraft, flow, flow_hash, phase, panel,
		oat, altitude, since_shutdown, battery, hidden, faults, seed, step, person`
	summaryColumns = `outcome, prime, attempts, unsafe, duration, running`
	eventColumns   = `place, at, kind, subject, value, text`
)

// seqBits are the bits of an event's place that hold its sequence number: room
// for 16 million events, two days of a hundred a second.
const seqBits = 24

// placeOf is where an event of a run is stored.
func placeOf(key int64, seq int) int64 { return key<<seqBits | int64(seq) }

func seqOfPlace(place int64) int { return int(place & (1<<seqBits - 1)) }

// querier is what a database and a transaction have in common.
type querier interface {
	Query(query string, args ...any) (*sql.Rows, error)
	QueryRow(query string, args ...any) *sql.Row
}

// insertHeader stores a header and gives the key of its run; ErrExists when its id
// is taken.
func insertHeader(tx *transaction, h Header) (key int64, err error) {
	key, err = insertListing(tx, Listing{Header: h})
	if err == sql.ErrNoRows {
		err = fmt.Errorf("%w: %q", ErrExists, h.ID)
	}
	return key, err
}

// insertListing stores a header, with the summary of a run that is over;
// sql.ErrNoRows means that the id is taken.
func insertListing(tx *transaction, l Listing) (key int64, err error) {
	statement, args, err := l.insertion()
	if err != nil {
		return 0, err
	}
	err = tx.QueryRow(statement, args...).Scan(&key)
	return key, err
}

// insertListings stores many, and gives their keys, 0 where an id is taken.
func insertListings(tx *transaction, listings []Listing) (keys []int64, err error) {
	if tx.server != nil {
		return tx.server.insertListings(listings)
	}
	keys = make([]int64, len(listings))
	for i, l := range listings {
		if keys[i], err = insertListing(tx, l); err != nil && err != sql.ErrNoRows {
			return nil, err
		}
	}
	return keys, nil
}

// insertion is the statement that stores a header, with the summary of a run that
// is over, and answers with its key.
func (l Listing) insertion() (statement string, args []any, err error) {
	h, c := l.Header, l.Header.Conditions
	faults, err := json.Marshal(append([]string{}, h.Faults...))
	if err != nil {
		return "", nil, err
	}
	columns := headerColumns
	args = []any{
		h.ID, h.Format, h.Started.UnixNano(), h.Program, h.Aircraft, h.Flow, h.FlowHash, h.Phase, h.Panel,
		bits(c.OATCelsius), bits(c.PressureAltM), int64(c.SinceShutdown), bits(c.BatteryCharge), oneIf(c.Hidden),
		string(faults), int64(h.Seed), int64(h.Step), orNull(h.Person),
	}
	if l.Finished {
		columns, args = columns+", "+summaryColumns+", steps", append(args, l.Summary.row()...)
	}
	return "INSERT INTO runs (" + columns + ") VALUES (" + places(len(args)) + ") ON CONFLICT (id) DO NOTHING RETURNING key", args, nil
}

// row are the values of summaryColumns and of the steps.
func (s Summary) row() []any {
	return []any{s.Outcome, int64(s.Prime), s.Attempts, s.Unsafe, int64(s.Duration), oneIf(s.Running), packSteps(s.Steps)}
}

// keyOf finds a run by its id; ErrNoRun when there is none.
func keyOf(q querier, id string) (key int64, err error) {
	err = q.QueryRow("SELECT key FROM runs WHERE id = $1", id).Scan(&key)
	if err == sql.ErrNoRows {
		err = fmt.Errorf("%w: %q", ErrNoRun, id)
	}
	return key, err
}

func updateSummary(tx *transaction, key int64, s Summary) error {
	_, err := tx.Exec(`UPDATE runs SET outcome = $1, prime = $2, attempts = $3, unsafe = $4, duration = $5,
		running = $6, steps = $7 WHERE key = $8`, append(s.row(), key)...)
	return err
}

// rowsAtOnce is how many events one statement inserts. More gains little: most
// of the time is then spent in the table itself.
const rowsAtOnce = 50

// placed is an event and where it is stored.
type placed struct {
	place int64
	procedure.Event
}

func place(key int64, events []procedure.Event) []placed {
	rows := make([]placed, len(events))
	for i, e := range events {
		rows[i] = placed{placeOf(key, e.Seq), e}
	}
	return rows
}

// insertEvents stores events. What is stored already is left as it is, so that a
// run may be written again from its beginning.
func insertEvents(tx *transaction, rows []placed) error {
	if tx.server != nil {
		return insertEventArrays(tx, rows)
	}
	for len(rows) > 0 {
		n := min(len(rows), rowsAtOnce)
		args := make([]any, 0, 6*n)
		for _, e := range rows[:n] {
			args = append(args, e.place, int64(e.At), e.Kind, e.Subject, bits(e.Value), e.Text)
		}
		statement := insertFullRows
		if n < rowsAtOnce {
			statement = insertRows(n)
		}
		if _, err := tx.Exec(statement, args...); err != nil {
			return err
		}
		rows = rows[n:]
	}
	return nil
}

// insertNewEvents stores events of runs that have none yet.
func insertNewEvents(tx *transaction, rows []placed) error {
	if tx.server != nil {
		return tx.server.copyEvents(rows)
	}
	return insertEvents(tx, rows)
}

var insertFullRows = insertRows(rowsAtOnce)

func insertRows(n int) string {
	const row = "(?,?,?,?,?,?),"
	return "INSERT INTO events (" + eventColumns + ") VALUES " + strings.TrimSuffix(strings.Repeat(row, n), ",") + " ON CONFLICT DO NOTHING"
}

// checkSequence wants events numbered next, next+1, and so on.
func checkSequence(next int, events []procedure.Event) error {
	for i, e := range events {
		if e.Seq != next+i {
			return fmt.Errorf("%w: number %d where %d was due", ErrSequence, e.Seq, next+i)
		}
	}
	if next+len(events) > 1<<seqBits {
		return fmt.Errorf("%w: a run cannot have more than %d events", ErrSequence, 1<<seqBits-1)
	}
	return nil
}

// scanListing reads headerColumns and summaryColumns, and what follows into more.
func scanListing(scan func(...any) error, more ...any) (Listing, error) {
	var l Listing
	var started, oat, altitude, since, battery, seed, step int64
	var faults string
	var outcome, person sql.NullString
	var prime, attempts, unsafe, length, running sql.NullInt64
	h := &l.Header
	columns := []any{&h.ID, &h.Format, &started, &h.Program, &h.Aircraft, &h.Flow, &h.FlowHash, &h.Phase, &h.Panel,
		&oat, &altitude, &since, &battery, &h.Conditions.Hidden, &faults, &seed, &step, &person,
		&outcome, &prime, &attempts, &unsafe, &length, &running}
	if err := scan(append(columns, more...)...); err != nil {
		return Listing{}, unreadable(err)
	}
	if err := json.Unmarshal([]byte(faults), &h.Faults); err != nil {
		return Listing{}, fmt.Errorf("%w: faults of run %s: %w", ErrDamaged, h.ID, err)
	}
	h.Started = time.Unix(0, started).UTC()
	h.Conditions.OATCelsius = fromBits(oat)
	h.Conditions.PressureAltM = fromBits(altitude)
	h.Conditions.SinceShutdown = time.Duration(since)
	h.Conditions.BatteryCharge = fromBits(battery)
	h.Seed, h.Step, h.Person = uint64(seed), time.Duration(step), person.String
	if l.Finished = outcome.Valid; l.Finished {
		l.Summary = Summary{
			Outcome:  procedure.Outcome(outcome.String),
			Prime:    time.Duration(prime.Int64),
			Attempts: int(attempts.Int64),
			Unsafe:   int(unsafe.Int64),
			Duration: time.Duration(length.Int64),
			Running:  running.Int64 == 1,
		}
		if !running.Valid { // of schema 1
			l.Summary.Running = l.Summary.Outcome == procedure.Started
		}
	}
	return l, nil
}

// readListing gives a run with its steps.
func readListing(q querier, key int64) (Listing, error) {
	var packed []byte
	l, err := scanListing(q.QueryRow("SELECT "+headerColumns+", "+summaryColumns+", steps FROM runs WHERE key = $1", key).Scan, &packed)
	l.Summary.Steps = new(unpacker).unpack(packed)
	return l, err
}

// readEvents gives what can be read of a run's events as far as they follow one
// another, since a run with a hole in it could not be replayed, and the error
// that ended it.
func readEvents(q querier, key int64) (events []procedure.Event, err error) {
	rows, err := q.Query("SELECT "+eventColumns+" FROM events WHERE place BETWEEN $1 AND $2 ORDER BY place",
		placeOf(key, 0), placeOf(key, 1<<seqBits-1))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		e, err := scanEvent(rows.Scan)
		if err != nil {
			return events, err
		}
		if e.Seq != len(events)+1 {
			return events, fmt.Errorf("%w: event %d where %d is due", ErrDamaged, e.Seq, len(events)+1)
		}
		events = append(events, e)
	}
	return events, rows.Err()
}

// scanEvent reads eventColumns.
func scanEvent(scan func(...any) error) (procedure.Event, error) {
	var e procedure.Event
	var place, at, value int64
	err := scan(&place, &at, &e.Kind, &e.Subject, &value, &e.Text)
	e.Seq, e.At, e.Value = seqOfPlace(place), time.Duration(at), fromBits(value)
	return e, unreadable(err)
}

// unreadable tells a row with values that its table would never have taken,
// which SQLite itself does not notice, from other errors.
func unreadable(err error) error {
	// database/sql has no type for this error.
	if err != nil && strings.HasPrefix(err.Error(), "sql: Scan error") {
		return fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return err
}

func bits(v float64) int64     { return int64(math.Float64bits(v)) }
func fromBits(v int64) float64 { return math.Float64frombits(uint64(v)) }

func oneIf(yes bool) int64 {
	if yes {
		return 1
	}
	return 0
}

// orNull is a text that may be missing.
func orNull(text string) any {
	if text == "" {
		return nil
	}
	return text
}

// places are n parameters of a statement. Both databases read $1, so that one
// text serves both.
func places(n int) string {
	var text strings.Builder
	for i := range n {
		if i > 0 {
			text.WriteByte(',')
		}
		fmt.Fprintf(&text, "$%d", i+1)
	}
	return text.String()
}
