package record

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"
	"unicode/utf8"

	"kickover/procedure"
	"kickover/procedure/realstart"
)

// Imported is what an import came to.
type Imported struct {
	Added    int // runs stored now
	Events   int // events stored now
	Known    int // runs that were stored already
	Refused  int // runs with a row that makes no sense, and other things that make none
	Problems []Problem
	More     int // problems beyond those listed

	People, Registrations, Starts, SignOffs Taken
}

// Problem is what is wrong with a row.
type Problem struct {
	Line int
	Text string // what is wrong and how to mend it
}

func (p Problem) String() string { return fmt.Sprintf("line %d: %s", p.Line, p.Text) }

// longestLine bounds a line of an imported file, and mostProblems the list of
// what is wrong with it.
const (
	longestLine  = 1 << 20
	mostProblems = 200
)

// Import stores what was exported, whichever kinds and encoding it finds. Nonsense
// is refused row by row and named: a run with such a row is left out whole, the
// rest is stored. The same file again changes nothing. The error is about reading
// or storing only.
func (s *Store) Import(r io.Reader) (Imported, error) { return s.ImportAt(r, time.Time{}) }

// ImportAt is Import of a file that somebody brings, at a moment: what cannot have
// been is refused too, as a run that is still to come, or an engine that started
// without an attempt. What the program itself wrote down is not doubted.
func (s *Store) ImportAt(r io.Reader, now time.Time) (Imported, error) {
	in := importer{commit: s.inTransaction, now: now}
	in.batch = batch{commit: s.inTransaction, conflict: func(run wholeRun) {
		in.result.Refused++
		in.problem(run.line, errConflict.Error())
	}}
	buffered := bufio.NewReader(r)
	read := in.readCSV
	if beginsJSON(buffered) {
		read = in.readLines
	}
	err := read(buffered)
	for _, end := range []func() error{in.endRun, in.batch.flush, in.flushOthers} {
		if in.batch.failed == nil {
			err = errors.Join(err, end())
		}
	}
	in.result.Added, in.result.Events, in.result.Known = in.batch.tally.runs, in.batch.tally.events, in.batch.tally.unchanged
	if err != nil {
		return in.result, fmt.Errorf("import records: %w", err)
	}
	return in.result, nil
}

// beginsJSON tells the encodings apart by the first character that is not blank.
func beginsJSON(r *bufio.Reader) bool {
	head, _ := r.Peek(512)
	head = bytes.TrimSpace(bytes.TrimPrefix(head, byteOrderMark))
	return len(head) == 0 || head[0] == '{'
}

// byteOrderMark is what a spreadsheet may begin a file of UTF-8 with.
var byteOrderMark = []byte("\ufeff")

func (in *importer) readLines(r *bufio.Reader) (err error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, longestLine)
	for err == nil && lines.Scan() {
		in.line++
		text := bytes.TrimSpace(bytes.TrimPrefix(lines.Bytes(), byteOrderMark))
		switch {
		case len(text) == 0:
		case !utf8.Valid(text):
			in.refuse("this is not UTF-8")
		default:
			err = in.take(text)
		}
	}
	switch {
	case errors.Is(lines.Err(), bufio.ErrTooLong):
		in.line++
		in.refuse("this line does not end within a megabyte. What stands before it was taken in, and nothing after it was read")
	case lines.Err() != nil:
		// The run in hand is incomplete, which its count of events shows.
		err = errors.Join(err, fmt.Errorf("line %d: %w", in.line+1, lines.Err()))
	}
	return err
}

// importer reads a file line by line.
type importer struct {
	commit func(func(*transaction) error) error
	batch  batch
	others []otherThing
	result Imported
	line   int
	now    time.Time // zero doubts nothing

	run  *wholeRun // the run in hand
	want int       // events its header promises
	bad  bool      // something in it makes no sense
}

// take reads one line. Its first key tells what it is.
func (in *importer) take(text []byte) error {
	var kind struct {
		Run          *json.RawMessage `json:"kickover_run"`
		Person       *json.RawMessage `json:"kickover_person"`
		Registration *json.RawMessage `json:"kickover_registration"`
		Start        *json.RawMessage `json:"kickover_start"`
		SignOff      *json.RawMessage `json:"kickover_sign_off"`
		Outcome      *json.RawMessage `json:"outcome"`
	}
	// An event is by far the most frequent line and is tried first, to read it
	// only once.
	var event eventLine
	if in.run != nil && decode(text, &event) == nil && event.Seq > 0 {
		in.takeEvent(event)
		return nil
	}
	if err := json.Unmarshal(text, &kind); err != nil {
		in.refuse("this is not a JSON object (" + err.Error() + ")")
		return nil
	}
	switch {
	case kind.Run != nil:
		err := in.endRun()
		in.takeHeader(text)
		return err
	case kind.Person != nil, kind.Registration != nil, kind.Start != nil, kind.SignOff != nil:
		err := in.endRun()
		switch {
		case kind.Person != nil:
			in.takePerson(text)
		case kind.Registration != nil:
			in.takeRegistration(text)
		case kind.Start != nil:
			in.takeStart(startOfJSON(text, in.now))
		default:
			in.takeSignOff(text)
		}
		return errors.Join(err, in.endOther())
	case in.run == nil:
		in.refuse(`no run has begun: a run begins with a line {"kickover_run":1,…}`)
	case kind.Outcome != nil:
		in.takeSummary(text)
	default:
		err := decode(text, &event)
		if err == nil {
			err = errors.New("seq must be 1 or more")
		}
		in.refuse("this is no event of a run: " + err.Error())
	}
	return nil
}

func (in *importer) takeHeader(text []byte) {
	in.run, in.want, in.bad = &wholeRun{line: in.line}, 0, false
	var h headerLine
	if err := decode(text, &h); err != nil {
		in.refuse("this header cannot be read: " + err.Error())
		return
	}
	switch {
	case h.Run != Format:
		in.refuse(fmt.Sprintf("kickover_run is %d, this version reads %d; use the version that exported it", h.Run, Format))
	case len(h.ID) < 16 || len(h.ID) > 64:
		in.refuse("id must have 16 to 64 characters")
	case h.Aircraft == "" || h.Flow == "":
		in.refuse("aircraft and flow must be named")
	case h.Started.Year() < 1900 || h.Started.Year() > 2200:
		in.refuse("started must lie between the years 1900 and 2200")
	case in.toCome(h.Started):
		in.refuse(in.notYet("started", h.Started))
	case !plain(h.Aircraft + h.Flow + h.Program + h.FlowHash + h.Phase + h.Panel + h.ID + h.Person):
		in.refuse("names must not have control characters")
	case h.Person != "" && !named(h.Person):
		in.refuse("person must have 1 to 64 characters")
	case h.Events < 0 || h.SinceShutdown < 0 || h.Step < 0:
		in.refuse("events, since_shutdown_ns and step_ns must not be negative")
	}
	in.want = h.Events
	in.run.listing.Header = Header{
		ID: h.ID, Format: h.Run, Started: h.Started, Program: h.Program,
		Aircraft: procedure.AircraftID(h.Aircraft), Flow: procedure.FlowID(h.Flow), FlowHash: h.FlowHash,
		Phase: procedure.Phase(h.Phase), Panel: h.Panel,
		Conditions: Conditions{
			OATCelsius: float64(h.OATCelsius), PressureAltM: float64(h.PressureAltM),
			SinceShutdown: time.Duration(h.SinceShutdown), BatteryCharge: float64(h.BatteryCharge), Hidden: h.Hidden,
		},
		Faults: h.Faults, Seed: h.Seed, Step: time.Duration(h.Step), Person: h.Person,
	}.prepared()
}

func (in *importer) takeEvent(e eventLine) {
	switch {
	case in.run.listing.Finished:
		in.refuse("an event after the summary; the summary is a run's last line")
	case e.Seq != len(in.run.events)+1 && !in.bad:
		in.refuse(fmt.Sprintf("seq is %d where %d is due", e.Seq, len(in.run.events)+1))
	case e.At < 0:
		in.refuse(fmt.Sprintf("at_ns is %d; a run begins at 0", e.At))
	case !procedure.EventKind(e.Kind).Stored():
		in.refuse(fmt.Sprintf("kind %q is not one that is stored", e.Kind))
	}
	in.run.events = append(in.run.events, procedure.Event{
		Seq: e.Seq, At: time.Duration(e.At), Kind: procedure.EventKind(e.Kind),
		Subject: e.Subject, Value: float64(e.Value), Text: e.Text,
	})
}

func (in *importer) takeSummary(text []byte) {
	var sum summaryLine
	if err := decode(text, &sum); err != nil {
		in.refuse("this summary cannot be read: " + err.Error())
		return
	}
	l := &in.run.listing
	switch {
	case l.Finished:
		in.refuse("a second summary of one run")
	case !plain(*sum.Outcome):
		in.refuse("outcome must not have control characters")
	case !in.now.IsZero() && procedure.Outcome(*sum.Outcome) == procedure.Started && sum.Attempts == 0:
		in.refuse("outcome is started and attempts is 0: an engine that started was cranked; write how often")
	case sum.Prime < 0 || sum.Attempts < 0 || sum.Unsafe < 0 || sum.Duration < 0:
		in.refuse("a summary's numbers must not be negative")
	}
	l.Finished = true
	l.Summary = sum.summary()
}

// toCome reports whether a moment has not been yet, whichever clock it is from.
func (in *importer) toCome(t time.Time) bool {
	return !in.now.IsZero() && t.After(in.now.Add(realstart.ClockSkew))
}

func (in *importer) notYet(what string, t time.Time) string {
	return fmt.Sprintf("%s is %s, which is still to come; mend the date, or this machine's clock, which says %s", what, t.UTC().Format(time.RFC3339), in.now.UTC().Format(time.RFC3339))
}

// endRun hands the run in hand on, if it makes sense.
func (in *importer) endRun() error {
	run := in.run
	if run == nil {
		return nil
	}
	if !in.bad && len(run.events) != in.want {
		in.problem(run.line, fmt.Sprintf("the header promises %d events and %d follow; the file was cut short or joined wrongly", in.want, len(run.events)))
		in.bad = true
	}
	in.run = nil
	if in.bad {
		in.result.Refused++
		return nil
	}
	return in.batch.add(*run)
}

// refuse notes what is wrong with the line in hand, and with it its run.
func (in *importer) refuse(text string) {
	in.bad = true
	in.problem(in.line, text)
}

func (in *importer) problem(line int, text string) {
	if len(in.result.Problems) == mostProblems {
		in.result.More++
		return
	}
	in.result.Problems = append(in.result.Problems, Problem{line, text})
}

// decode reads one JSON object and nothing else, and refuses unknown keys.
func decode(text []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("something follows the object")
	}
	return nil
}
