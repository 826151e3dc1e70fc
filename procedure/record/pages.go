package record

import (
	"encoding/binary"
	"errors"
	"io"
	"os"
	"strings"

	"kickover/procedure"
)

// What follows reads rows straight from a database's pages, without the tree
// that leads to them: when a page near the root is lost, all the rows below are
// still there. Layouts are from sqlite.org/fileformat.html, "B-tree Pages" and
// "Record Format". A record of more than about 4,000 bytes, which continues on
// other pages, is passed over.

// tableLeaf is the first byte of a page that holds a table's rows.
const tableLeaf = 0x0d

// tableOf gives the table by a record's columns, of which no two tables have the
// same number. The first is the key, which stands outside the record. A run that
// schema 1 wrote keeps the columns of then.
var tableOf = map[int]string{23: "runs", 26: "runs", 6: "events", 5: "people", 4: "registrations", 14: "real_starts", 9: "sign_offs"}

// collectRows puts every row that can be found in a database's pages into
// another store, which may then be read as usual.
func collectRows(path string, into *file) error {
	fd, err := os.Open(path)
	if err != nil {
		return err
	}
	defer fd.Close()
	size, err := pageSizeOf(fd)
	if errors.Is(err, io.EOF) {
		return nil // too short for any
	}
	if err != nil {
		return err
	}
	return into.inTransaction(func(tx *transaction) error {
		page := make([]byte, size)
		for offset := int64(0); ; offset += int64(size) {
			n, err := fd.ReadAt(page, offset)
			if n < size {
				if err == nil || errors.Is(err, io.EOF) {
					return nil
				}
				return err
			}
			if err := collectPage(tx, page); err != nil {
				return err
			}
		}
	})
}

// pageSizeOf reads the size of a page where it stands in the header, and takes
// SQLite's own default if that is no power of two.
func pageSizeOf(fd *os.File) (int, error) {
	head := make([]byte, 18)
	if _, err := fd.ReadAt(head, 0); err != nil {
		return 0, err
	}
	size := int(binary.BigEndian.Uint16(head[16:]))
	if size < 512 || size&(size-1) != 0 {
		size = 4096
	}
	return size, nil
}

// collectPage inserts the rows of one page. Page 1, which begins otherwise, has
// none.
func collectPage(tx *transaction, page []byte) error {
	const header = 8
	if page[0] != tableLeaf {
		return nil
	}
	longest := int64(len(page) - 35) // more than that continues elsewhere
	cells := int(binary.BigEndian.Uint16(page[3:]))
	for i := range min(cells, (len(page)-header)/2) {
		length, at, ok := varint(page, int(binary.BigEndian.Uint16(page[header+2*i:])))
		if !ok {
			continue
		}
		key, at, ok := varint(page, at)
		if !ok || length < 1 || length > min(longest, int64(len(page)-at)) {
			continue
		}
		if values, ok := record(page[at : at+int(length)]); ok {
			if err := collectRow(tx, key, values); err != nil {
				return err
			}
		}
	}
	return nil
}

// collectRow inserts a row into the table it must be of, unless one with its key
// is there already.
func collectRow(tx *transaction, key int64, values []any) error {
	table := tableOf[len(values)]
	if key <= 0 || table == "" || values[0] != nil || table == "events" && !likelyEvent(key, values) {
		return nil
	}
	for table == "runs" && len(values) < 26 {
		values = append(values, nil)
	}
	values[0] = key
	_, err := tx.Exec("INSERT INTO "+table+" VALUES ("+places(len(values))+") ON CONFLICT DO NOTHING", values...)
	if err != nil && kindOf(err) == nil {
		return nil // a row that its table refuses is not one of ours
	}
	return err
}

func likelyEvent(place int64, values []any) bool {
	kind, isText := values[2].(string)
	return seqOfPlace(place) > 0 && isText && procedure.EventKind(kind).Stored()
}

// record reads a record's values: int64, string, bytes or nil. It is false for one that
// is malformed or holds a type that no column of ours has.
func record(content []byte) (values []any, ok bool) {
	headerSize, at, ok := varint(content, 0)
	if !ok || headerSize > int64(len(content)) {
		return nil, false
	}
	body := int(headerSize)
	for at < int(headerSize) {
		var kind int64
		if kind, at, ok = varint(content, at); !ok {
			return nil, false
		}
		size := sizeOfValue(kind)
		if size < 0 || size > len(content)-body {
			return nil, false
		}
		values = append(values, value(kind, content[body:body+size]))
		body += size
	}
	return values, body == len(content)
}

// sizeOfValue gives the bytes of a value by its serial type, or -1.
func sizeOfValue(kind int64) int {
	switch {
	case kind >= 0 && kind <= 4:
		return int(kind)
	case kind == 5:
		return 6
	case kind == 6:
		return 8
	case kind == 8 || kind == 9:
		return 0
	case kind >= 12 && kind < 1<<20: // a text's is odd, a blob's even
		return int(kind-12) / 2
	}
	return -1
}

func value(kind int64, content []byte) any {
	switch {
	case kind == 0:
		return nil
	case kind >= 13 && kind%2 == 1:
		return strings.ToValidUTF8(string(content), "\ufffd")
	case kind >= 12:
		return content
	case kind >= 8:
		return kind - 8 // the constants 0 and 1
	}
	number := int64(int8(content[0])) // big-endian two's complement
	for _, b := range content[1:] {
		number = number<<8 | int64(b)
	}
	return number
}

// varint reads a variable-length integer and gives where the next thing begins.
func varint(content []byte, at int) (number int64, next int, ok bool) {
	for i := range 9 {
		if at < 0 || at+i >= len(content) {
			return 0, 0, false
		}
		b := content[at+i]
		if i == 8 {
			return number<<8 | int64(b), at + 9, true
		}
		number = number<<7 | int64(b&0x7f)
		if b < 0x80 {
			return number, at + i + 1, true
		}
	}
	return 0, 0, false
}
