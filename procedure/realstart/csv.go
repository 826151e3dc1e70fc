package realstart

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"kickover/procedure"
)

// A column of the CSV: how a start is printed into it and read out of it. Empty
// is not known where that is allowed.
type column struct {
	name  string
	must  bool // the file must have it
	print func(Start) string
	read  func(*Start, string) error
	mend  string
}

const timeForm = "2006-01-02T15:04:05.000Z07:00"

var columns = []column{
	{"id", false, func(s Start) string { return s.ID }, func(s *Start, v string) error { s.ID = v; return nil }, ""},
	{"registration", true, func(s Start) string { return s.Registration }, readRegistration, "write the aircraft's registration"},
	{"aircraft", false, func(s Start) string { return string(s.Aircraft) }, func(s *Start, v string) error { s.Aircraft = procedure.AircraftID(v); return nil }, ""},
	{"time_utc", true, func(s Start) string { return s.At.UTC().Format(timeForm) }, readTime, "write the time as 2026-01-31T09:05:00Z"},
	{"situation", false, func(s Start) string { return s.Situation }, func(s *Start, v string) error { s.Situation = v; return nil }, ""},
	{"oat_degC", false, func(s Start) string { return number(s.OATCelsius) }, func(s *Start, v string) error { return readNumber(&s.OATCelsius, v, -90, 70) }, "write degrees Celsius from -90 to 70, or nothing"},
	{"altitude_m", false, func(s Start) string { return number(s.AltitudeM) }, func(s *Start, v string) error { return readNumber(&s.AltitudeM, v, -1000, 10000) }, "write metres from -1000 to 10000, or nothing"},
	{"since_shutdown_s", false, printSince, readSince, "write seconds, or nothing when it is not known"},
	{"prime_s", false, func(s Start) string { return strconv.FormatFloat(s.Prime.Seconds(), 'f', -1, 64) }, readPrime, "write seconds from 0 to 600"},
	{"attempts", false, printAttempts, readAttempts, "write a whole number from 0 to 999, or nothing when it is not known"},
	{"outcome", true, func(s Start) string { return string(s.Outcome) }, readOutcome, "write \"started\" or \"not started\""},
	{"note", false, func(s Start) string { return s.Note }, func(s *Start, v string) error { s.Note = v; return nil }, ""},
	{"caution", false, func(Start) string { return Caution }, func(*Start, string) error { return nil }, ""},
}

var errValue = errors.New("not a value of this column")

func number(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

func readNumber(into *float64, v string, least, most float64) error {
	if v == "" {
		*into = math.NaN()
		return nil
	}
	x, err := strconv.ParseFloat(v, 64)
	if err != nil || !(x >= least && x <= most) {
		return errValue
	}
	*into = x
	return nil
}

func readRegistration(s *Start, v string) error {
	if s.Registration = strings.TrimSpace(v); s.Registration == "" {
		return errValue
	}
	return nil
}

func readTime(s *Start, v string) (err error) {
	if s.At, err = time.Parse(time.RFC3339, v); err != nil || s.At.Year() < 1900 || s.At.Year() > 9998 {
		return errValue
	}
	return nil
}

func printSince(s Start) string {
	if !s.ShutdownKnown {
		return ""
	}
	return strconv.FormatInt(int64(s.SinceShutdown/time.Second), 10)
}

func readSince(s *Start, v string) error {
	if v == "" {
		return nil
	}
	n, err := strconv.ParseInt(v, 10, 33)
	if err != nil || n < 0 {
		return errValue
	}
	s.SinceShutdown, s.ShutdownKnown = time.Duration(n)*time.Second, true
	return nil
}

func readPrime(s *Start, v string) error {
	x := 0.0
	if err := readNumber(&x, v, 0, 600); err != nil {
		return err
	}
	if !math.IsNaN(x) {
		s.Prime = time.Duration(math.Round(x * float64(time.Second)))
	}
	return nil
}

// printAttempts leaves empty what is not known: nothing starts without an attempt.
func printAttempts(s Start) string {
	if startedByNothing(s) {
		return ""
	}
	return strconv.Itoa(s.Attempts)
}

func startedByNothing(s Start) bool { return s.Outcome == procedure.Started && s.Attempts == 0 }

func readAttempts(s *Start, v string) error {
	if v == "" {
		return nil
	}
	n, err := strconv.ParseUint(v, 10, 16)
	if err != nil || n > 999 {
		return errValue
	}
	s.Attempts = int(n)
	return nil
}

func readOutcome(s *Start, v string) error {
	switch s.Outcome = procedure.Outcome(v); s.Outcome {
	case procedure.Started, procedure.NotStarted:
		return nil
	}
	return errValue
}

// Write writes starts as CSV with a header.
func Write(w io.Writer, starts []Start) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write(names()); err != nil {
		return fmt.Errorf("write starts as CSV: %w", err)
	}
	for _, s := range starts {
		if err := out.Write(row(s)); err != nil {
			return fmt.Errorf("write starts as CSV: %w", err)
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write starts as CSV: %w", err)
	}
	return nil
}

func names() []string {
	var out []string
	for _, c := range columns {
		out = append(out, c.name)
	}
	return out
}

func row(s Start) []string {
	s = s.tidy()
	var out []string
	for _, c := range columns {
		out = append(out, c.print(s))
	}
	return out
}

// Mistake is one thing wrong with a CSV file.
type Mistake struct {
	Line   int // from one; zero is the file as a whole
	Column string
	Value  string
	Mend   string
}

func (m Mistake) String() string {
	switch {
	case m.Line == 0:
		return m.Mend
	case m.Column == "":
		return fmt.Sprintf("line %d: %s", m.Line, m.Mend)
	default:
		return fmt.Sprintf("line %d, %s: %q: %s", m.Line, m.Column, m.Value, m.Mend)
	}
}

// Mistakes is every one of them.
type Mistakes []Mistake

func (m Mistakes) Error() string {
	const shown = 20
	var lines []string
	for i, x := range m {
		if i == shown {
			lines = append(lines, fmt.Sprintf("and %d more", len(m)-shown))
			break
		}
		lines = append(lines, x.String())
	}
	return strings.Join(lines, "\n")
}

// ClockSkew is how far the clocks of two machines may be apart: what is dated later
// than that after now has not happened.
const ClockSkew = 24 * time.Hour

// Read reads CSV with a header. Columns may stand in any order, and columns that
// are not ours are passed over. A start that cannot have been is a mistake: one that
// is still to come, and one without an attempt; a zero now knows no future. An error
// is a [Mistakes], or the reader's own.
func Read(r io.Reader, now time.Time) ([]Start, error) {
	starts, mistakes, err := read(r, func(s Start, attempts string) (column, mend string) {
		switch {
		case !now.IsZero() && s.At.After(now.Add(ClockSkew)):
			return "time_utc", "this is still to come; mend the date, or this machine's clock, which says " + now.UTC().Format(time.RFC3339)
		case startedByNothing(s) && attempts != "":
			return "attempts", "an engine that started was cranked; write how often, or nothing when it is not known"
		}
		return "", ""
	})
	if err != nil {
		return nil, fmt.Errorf("read starts from CSV: %w", err)
	}
	if len(mistakes) > 0 {
		return nil, Mistakes(mistakes)
	}
	return starts, nil
}

// doubt says what cannot have been about a start, and in which column: both empty
// for nothing. It has the attempts as they are written.
type doubt func(s Start, attempts string) (column, mend string)

// read gives the rows that are right and the mistakes of the others; what the
// program wrote itself is not doubted.
func read(r io.Reader, cannotBe doubt) ([]Start, []Mistake, error) {
	in := csv.NewReader(r)
	in.FieldsPerRecord = -1
	in.ReuseRecord = true
	var order []*column
	var starts []Start
	var mistakes []Mistake
	for {
		fields, err := in.Read()
		var parse *csv.ParseError
		switch {
		case err == io.EOF:
			if order == nil && len(mistakes) == 0 {
				mistakes = append(mistakes, Mistake{Mend: "the file is empty: the first line names the columns " + strings.Join(names(), ",")})
			}
			return starts, mistakes, nil
		case errors.As(err, &parse):
			mistakes = append(mistakes, Mistake{Line: parse.Line, Mend: parse.Err.Error() + "; look at the quotation marks"})
			if order == nil {
				return starts, mistakes, nil
			}
			continue
		case err != nil:
			return starts, mistakes, err
		}
		if order == nil {
			var wrong []Mistake
			if order, wrong = header(fields); len(wrong) > 0 {
				return nil, wrong, nil
			}
			continue
		}
		s, wrong := take(in, order, fields, cannotBe)
		if len(wrong) > 0 {
			mistakes = append(mistakes, wrong...)
			continue
		}
		starts = append(starts, s)
	}
}

func header(fields []string) ([]*column, []Mistake) {
	if len(fields) == 1 && strings.ContainsAny(fields[0], ";\t") {
		return nil, []Mistake{{Line: 1, Mend: "the values are not separated by commas; save the file with commas, or take it in with 'kickover records import', which reads semicolons and tabs too"}}
	}
	order := make([]*column, len(fields))
	found := map[string]bool{}
	var wrong []Mistake
	for i, f := range fields {
		name := strings.TrimSpace(strings.TrimPrefix(f, "\ufeff")) // a spreadsheet's mark of UTF-8
		for c := range columns {
			if columns[c].name == name {
				if found[name] {
					wrong = append(wrong, Mistake{Line: 1, Column: name, Value: f, Mend: "the column is there twice; take one out"})
				}
				order[i], found[name] = &columns[c], true
			}
		}
	}
	for _, c := range columns {
		if c.must && !found[c.name] {
			wrong = append(wrong, Mistake{Line: 1, Mend: fmt.Sprintf("there is no column %q; the first line names the columns", c.name)})
		}
	}
	return order, wrong
}

func take(in *csv.Reader, order []*column, fields []string, cannotBe doubt) (Start, []Mistake) {
	s := Start{OATCelsius: math.NaN(), AltitudeM: math.NaN()}
	line, _ := in.FieldPos(0)
	if len(fields) != len(order) {
		return s, []Mistake{{Line: line, Mend: fmt.Sprintf("%d values, and the header names %d columns", len(fields), len(order))}}
	}
	var wrong []Mistake
	for i, c := range order {
		if c == nil {
			continue
		}
		if err := c.read(&s, fields[i]); err != nil {
			at, _ := in.FieldPos(i)
			wrong = append(wrong, Mistake{Line: at, Column: c.name, Value: strings.Clone(fields[i]), Mend: c.mend})
		}
	}
	s = s.tidy()
	if s.ID == "" {
		s.ID = NewID(s.Registration, s.At)
	}
	if cannotBe != nil && len(wrong) == 0 {
		cell := func(name string) string {
			i := slices.IndexFunc(order, func(c *column) bool { return c != nil && c.name == name })
			if i < 0 {
				return ""
			}
			return strings.Clone(fields[i])
		}
		if name, mend := cannotBe(s, cell("attempts")); mend != "" {
			wrong = append(wrong, Mistake{Line: line, Column: name, Value: cell(name), Mend: mend})
		}
	}
	return s, wrong
}

// NewID names a start by its aircraft and its time, which no other start has.
func NewID(registration string, at time.Time) string {
	return registration + "@" + at.UTC().Truncate(time.Millisecond).Format(timeForm)
}
