package classroom

import (
	"cmp"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	_ "modernc.org/sqlite" // the driver

	"kickover/procedure"
)

// Book is what the instructor's program keeps of one class, in one SQLite file
// or one schema of PostgreSQL: the class itself, its stations, what was ordered, and every run. It is the
// truth about deliveries: an event counts as delivered when it is here, and is
// here once, whatever arrives how often.
//
// A Book may be used from several goroutines.
type Book struct {
	db       *sql.DB
	postgres bool

	mu   sync.Mutex // guards runs, and lets one transaction write at a time
	runs map[RunID]*bookedRun
	kept map[StationID]int // runs of each station
}

type bookedRun struct {
	station StationID
	drill   DrillID
	upto    int
	ended   bool
	last    time.Duration // offset of the last event
}

// bookVersion is the version of the schema.
const bookVersion = 1

const bookSchema = `
CREATE TABLE class (
  one     INTEGER PRIMARY KEY CHECK (one = 1),
  id      TEXT NOT NULL, name TEXT NOT NULL, opened INTEGER NOT NULL,
  plan    TEXT NOT NULL,            -- JSON
  state   TEXT NOT NULL,            -- JSON: drills as they stand
  cert    BLOB NOT NULL, key BLOB NOT NULL, secret BLOB NOT NULL
);
CREATE TABLE stations (
  id TEXT PRIMARY KEY, number INTEGER NOT NULL, name TEXT NOT NULL,
  secret BLOB NOT NULL,             -- SHA-256 of the station's own secret
  cut    TEXT NOT NULL              -- why it was cut off; empty when it was not
) WITHOUT ROWID;
CREATE TABLE orders (
  station TEXT NOT NULL, n INTEGER NOT NULL, body TEXT NOT NULL, PRIMARY KEY (station, n)
) WITHOUT ROWID;
CREATE TABLE runs (
  id TEXT PRIMARY KEY, station TEXT NOT NULL, drill TEXT NOT NULL, header TEXT NOT NULL,
  upto INTEGER NOT NULL, ended INTEGER NOT NULL, last INTEGER NOT NULL,
  filed INTEGER NOT NULL            -- 1: it is in the records too
) WITHOUT ROWID;
CREATE TABLE events (               -- at in nanoseconds, value as IEEE 754 bits
  run TEXT NOT NULL, seq INTEGER NOT NULL, at INTEGER NOT NULL, kind TEXT NOT NULL,
  subject TEXT NOT NULL, value INTEGER NOT NULL, text TEXT NOT NULL, PRIMARY KEY (run, seq)
) WITHOUT ROWID;
CREATE TABLE aloud (                -- drills with one machine
  id TEXT PRIMARY KEY, aircraft TEXT NOT NULL, flow TEXT NOT NULL, begun INTEGER NOT NULL, taps TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE log (at INTEGER NOT NULL, station TEXT NOT NULL, what TEXT NOT NULL);
`

// OpenBook opens a class's file, and makes it if it is not there.
func OpenBook(path string) (*Book, error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, fmt.Errorf("the class's folder cannot be made: %w", err)
	}
	q := url.Values{"_pragma": {"journal_mode(WAL)", "synchronous(FULL)", "busy_timeout(5000)"}, "_txlock": {"immediate"}}
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Opaque: path, RawQuery: q.Encode()}).String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	b := &Book{db: db, runs: map[RunID]*bookedRun{}, kept: map[StationID]int{}}
	if err := b.prepare(); err != nil {
		db.Close()
		return nil, fmt.Errorf("the class's file %s cannot be used: %w; another class can still be opened", path, err)
	}
	return b, nil
}

func (b *Book) prepare() error {
	version, err := b.version()
	switch {
	case err != nil:
		return err
	case version > bookVersion:
		return errors.New("it was written by a newer version of this program")
	case version == 0:
		if err := b.write(func(tx *sql.Tx) error {
			_, err := tx.Exec(b.schema())
			return err
		}); err != nil {
			return err
		}
	}
	rows, err := b.db.Query("SELECT id, station, drill, upto, ended, last FROM runs")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id RunID
		r := &bookedRun{}
		if err := rows.Scan(&id, &r.station, &r.drill, &r.upto, &r.ended, &r.last); err != nil {
			return err
		}
		b.runs[id] = r
		b.kept[r.station]++
	}
	return rows.Err()
}

// version is that of the schema, 0 before there is one.
func (b *Book) version() (n int, err error) {
	if b.postgres {
		return b.versionInPostgres()
	}
	err = b.db.QueryRow("PRAGMA user_version").Scan(&n)
	return n, err
}

func (b *Book) schema() string {
	if b.postgres {
		return forPostgres.Replace(bookSchema) + fmt.Sprintf("CREATE TABLE version (n BIGINT NOT NULL); INSERT INTO version VALUES (%d)", bookVersion)
	}
	return bookSchema + fmt.Sprintf("PRAGMA user_version = %d", bookVersion)
}

// Close closes the file.
func (b *Book) Close() error { return b.db.Close() }

func (b *Book) write(fn func(*sql.Tx) error) error {
	tx, err := b.db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if err := fn(tx); err != nil {
		return err
	}
	return tx.Commit()
}

// delivery is one message of run events that was understood.
type delivery struct {
	station StationID
	batch   batch
}

// receipt is what the book has of a run after a delivery.
type receipt struct {
	Station StationID
	Run     RunID
	Upto    int
	Ended   bool
	Fresh   int  // events that were not there before
	Closed  bool // this delivery brought the run's end
	// Refused says what was wrong with the delivery, empty for nothing; then
	// nothing of it was taken.
	Refused string
}

// Why a delivery is refused.
const (
	refusedForeign = "tried to add to another station's run"
	refusedHeader  = "began a run without its header"
	refusedMany    = "began more runs than anybody flies"
	refusedAfter   = "added to a run that had ended"
	refusedBack    = "sent events whose times go back"
)

// Deliver stores deliveries, all in one transaction, and gives a receipt for
// each. A delivery that comes again changes nothing; one that comes too early,
// since an earlier one is missing, is not taken: its receipt says what is here.
func (b *Book) Deliver(ds []delivery) ([]receipt, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	changed := map[RunID]*bookedRun{} // as they will be when the transaction is through
	receipts := make([]receipt, len(ds))
	err := b.write(func(tx *sql.Tx) error {
		clear(changed)
		for i, d := range ds {
			var err error
			if receipts[i], err = b.deliver(tx, changed, d); err != nil {
				return err
			}
		}
		for id, r := range changed {
			if _, err := tx.Exec("UPDATE runs SET upto = $1, ended = $2, last = $3 WHERE id = $4", r.upto, asNumber(r.ended), int64(r.last), id); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("deliveries could not be stored: %w", err)
	}
	for id, r := range changed {
		if b.runs[id] == nil {
			b.kept[r.station]++
		}
		b.runs[id] = r
	}
	return receipts, nil
}

func (b *Book) deliver(tx *sql.Tx, changed map[RunID]*bookedRun, d delivery) (receipt, error) {
	m := d.batch
	r := changed[m.Run]
	if r == nil {
		if was := b.runs[m.Run]; was != nil {
			now := *was
			r = &now
		}
	}
	rc := receipt{Station: d.station, Run: m.Run}
	switch {
	case r == nil && m.From > 1:
		return rc, nil // nothing is here yet: the receipt says so
	case r == nil && m.Header == nil:
		rc.Refused = refusedHeader
		return rc, nil
	case r == nil && b.kept[d.station] >= runsOfStation:
		rc.Refused = refusedMany
		return rc, nil
	case r == nil:
		r = &bookedRun{station: d.station, drill: m.Header.Drill}
		if _, err := tx.Exec("INSERT INTO runs (id, station, drill, header, upto, ended, last, filed) VALUES ($1, $2, $3, $4, 0, 0, 0, 0)",
			m.Run, d.station, m.Header.Drill, string(encode(m.Header))); err != nil {
			return rc, err
		}
	case r.station != d.station:
		rc.Refused = refusedForeign
		return rc, nil
	}
	changed[m.Run] = r
	rc.Upto, rc.Ended = r.upto, r.ended
	if m.From > r.upto+1 {
		return rc, nil
	}
	fresh := m.Events[min(len(m.Events), r.upto+1-m.From):]
	switch {
	case r.ended && len(fresh) > 0:
		rc.Refused = refusedAfter
		return rc, nil
	case len(fresh) > 0 && fresh[0].At < r.last:
		rc.Refused = refusedBack
		return rc, nil
	}
	if err := b.insertEvents(tx, m.Run, fresh); err != nil {
		return rc, err
	}
	if n := len(fresh); n > 0 {
		r.upto, r.last = r.upto+n, fresh[n-1].At
	}
	rc.Closed = m.Ended && !r.ended
	r.ended = r.ended || m.Ended && m.From+len(m.Events)-1 == r.upto
	rc.Upto, rc.Ended, rc.Fresh, rc.Closed = r.upto, r.ended, len(fresh), rc.Closed && r.ended
	return rc, nil
}

// insertEvents writes events fifty at a time; more at once gains little.
func (b *Book) insertEvents(tx *sql.Tx, run RunID, events []event) error {
	for part := range slices.Chunk(events, 50) {
		var text strings.Builder
		text.WriteString("INSERT INTO events (run, seq, at, kind, subject, value, text) VALUES ")
		args := make([]any, 0, 7*len(part))
		for i, e := range part {
			if i > 0 {
				text.WriteByte(',')
			}
			n := len(args)
			fmt.Fprintf(&text, "($%d,$%d,$%d,$%d,$%d,$%d,$%d)", n+1, n+2, n+3, n+4, n+5, n+6, n+7)
			args = append(args, run, e.Seq, int64(e.At), e.Kind, b.anyText(e.Subject), int64(e.Bits), b.anyText(e.Text))
		}
		if _, err := tx.Exec(text.String(), args...); err != nil {
			return err
		}
	}
	return nil
}

// asNumber is a truth as the tables have it.
func asNumber(b bool) int {
	if b {
		return 1
	}
	return 0
}

// confirmed tells what is here of a station's runs.
func (b *Book) confirmed(s StationID, runs []RunID) map[RunID]receipt {
	b.mu.Lock()
	defer b.mu.Unlock()
	out := map[RunID]receipt{}
	for _, id := range runs {
		if r := b.runs[id]; r != nil && r.station == s {
			out[id] = receipt{Station: s, Run: id, Upto: r.upto, Ended: r.ended}
		}
	}
	return out
}

// StoredRun is a run as the book has it.
type StoredRun struct {
	Run     RunID
	Station StationID
	Header  RunHeader
	Events  int
	Ended   bool
	Filed   bool // it is in the records
}

// Runs are the runs of a drill, or of all drills when it is empty, by station
// and time.
func (b *Book) Runs(drill DrillID) ([]StoredRun, error) {
	rows, err := b.db.Query("SELECT id, station, header, upto, ended, filed FROM runs WHERE drill = $1 OR $2 = ''", drill, drill)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []StoredRun
	for rows.Next() {
		var r StoredRun
		var header []byte
		if err := rows.Scan(&r.Run, &r.Station, &header, &r.Events, &r.Ended, &r.Filed); err != nil {
			return nil, err
		}
		if err := json.Unmarshal(header, &r.Header); err != nil {
			return nil, fmt.Errorf("run %s: %w", r.Run, err)
		}
		out = append(out, r)
	}
	slices.SortFunc(out, func(x, y StoredRun) int {
		return cmp.Or(cmp.Compare(x.Station, y.Station), cmp.Compare(x.Header.Began, y.Header.Began), cmp.Compare(x.Run, y.Run))
	})
	return out, rows.Err()
}

// run is one run as the book has it.
func (b *Book) run(id RunID) (StoredRun, error) {
	r := StoredRun{Run: id}
	var header []byte
	err := b.db.QueryRow("SELECT station, header, upto, ended, filed FROM runs WHERE id = $1", id).Scan(&r.Station, &header, &r.Events, &r.Ended, &r.Filed)
	if err != nil {
		return r, err
	}
	return r, json.Unmarshal(header, &r.Header)
}

func (b *Book) drillOf(run RunID) (DrillID, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if r := b.runs[run]; r != nil {
		return r.drill, true
	}
	return "", false
}

// Events are a run's events, in order.
func (b *Book) Events(run RunID) ([]procedure.Event, error) {
	rows, err := b.db.Query("SELECT seq, at, kind, subject, value, text FROM events WHERE run = $1 ORDER BY seq", run)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []procedure.Event
	for rows.Next() {
		var e procedure.Event
		var at, bits int64
		if err := rows.Scan(&e.Seq, &at, &e.Kind, &e.Subject, &bits, &e.Text); err != nil {
			return nil, err
		}
		e.At, e.Value = time.Duration(at), math.Float64frombits(uint64(bits))
		out = append(out, e)
	}
	return out, rows.Err()
}

// filed notes that a run is in the records.
func (b *Book) filed(run RunID) error {
	_, err := b.db.Exec("UPDATE runs SET filed = 1 WHERE id = $1", run)
	return err
}
