package record

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// readCSV reads a file of CSV, whose columns tell of what kind it is. They may
// stand in any order, and columns that are not ours are passed over.
func (in *importer) readCSV(r *bufio.Reader) error {
	if encoding := otherEncoding(r); encoding != "" {
		in.line = 1
		in.refuseOther("this file is " + encoding + ", and only UTF-8 is read; save it again as CSV in UTF-8")
		return nil
	}
	bounded := &boundedRows{from: r}
	rows := csv.NewReader(bounded)
	rows.FieldsPerRecord, rows.Comma = -1, separator(r)
	kind, names, err := in.readColumns(rows)
	columns := columnsNamed(kind, names)
	for err == nil && kind != "" {
		bounded.since = 0
		var cells []string
		if cells, err = rows.Read(); err == nil {
			in.line, _ = rows.FieldPos(0)
			err = in.takeCells(kind, names, columns, cells)
		} else if err != io.EOF {
			err = in.badRow(err)
		}
	}
	if err == io.EOF {
		return nil
	}
	return err
}

// readColumns reads the first line. Where that names no kind's columns it is
// refused, and the kind is empty.
func (in *importer) readColumns(rows *csv.Reader) (kind Kind, names []string, err error) {
	in.line = 1
	names, err = rows.Read()
	switch {
	case err == io.EOF:
		in.refuseOther("there is nothing in it; the first line names the columns")
		return "", nil, nil
	case err != nil:
		return "", nil, in.badRow(err)
	}
	for i := range names {
		names[i] = strings.TrimSpace(strings.TrimPrefix(names[i], string(byteOrderMark)))
	}
	kind, ok := kindOfColumns(names)
	if !ok {
		in.refuseOther(fmt.Sprintf("the first line must name the columns of one kind; people's, for instance, are %s", strings.Join(namesOf(csvColumns(KindPeople)), ",")))
	}
	return kind, names, nil
}

// takeCells takes one row.
func (in *importer) takeCells(kind Kind, names []string, columns []*column, cells []string) error {
	switch {
	case !utf8.ValidString(strings.Join(cells, "")):
		in.badCells(kind, "this is not UTF-8; save the file again as CSV in UTF-8")
	case len(cells) != len(names):
		in.badCells(kind, fmt.Sprintf("%d values, and the first line names %d columns", len(cells), len(names)))
	case kind == KindStarts:
		in.takeStart(startOf(names, cells, in.now))
		return in.endOther()
	default:
		return in.takeRow(kind, columns, cells)
	}
	return nil
}

// otherEncoding names what a file is written in where that is told by its first
// bytes and is not UTF-8, as a spreadsheet's "Unicode text" is; else it is empty.
func otherEncoding(r *bufio.Reader) string {
	head, _ := r.Peek(512)
	switch {
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}), bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		return "UTF-16"
	case bytes.IndexByte(head, 0) >= 0:
		return "no text"
	}
	return ""
}

// separator is what stands between the names of the columns. Spreadsheets write a
// semicolon where the comma is for decimals, or a tab.
func separator(r *bufio.Reader) rune {
	head, _ := r.Peek(4096)
	first, _, _ := bytes.Cut(head, []byte("\n"))
	for _, other := range []byte{';', '\t'} {
		if bytes.IndexByte(first, ',') < 0 && bytes.IndexByte(first, other) >= 0 {
			return rune(other)
		}
	}
	return ','
}

// errLongRow means that a row does not end where any of ours would.
var errLongRow = errors.New("a row does not end within a megabyte; look at the quotation marks. What stands before it was taken in, and nothing after it was read")

// boundedRows gives a file to a reader of CSV as long as its rows end: one without
// an end would be read into memory whole.
type boundedRows struct {
	from  io.Reader
	since int // bytes given since the reader had its last row
}

func (b *boundedRows) Read(p []byte) (int, error) {
	if b.since > longestLine {
		return 0, errLongRow
	}
	n, err := b.from.Read(p)
	b.since += n
	return n, err
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

// badRow refuses what is no CSV, with io.EOF where nothing can be read after it;
// another error is the file's own.
func (in *importer) badRow(err error) error {
	var parse *csv.ParseError
	switch {
	case errors.Is(err, errLongRow):
		in.line++
		in.badCells(KindRuns, err.Error())
		return io.EOF
	case !errors.As(err, &parse):
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
