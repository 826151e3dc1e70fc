package ledgerfile

import (
	"fmt"
	"hash/crc32"
	"strconv"
	"strings"
	"time"
)

// kind is what an entry says happened.
type kind string

const (
	opened   kind = "open"    // the program began
	engaged  kind = "engage"  // the starter was engaged
	released kind = "release" // and let go
	resumed  kind = "resume"  // the release was a slip
	struck   kind = "strike"  // the engagement was a mistake
	rested   kind = "rested"  // the pilot says it has rested
	runs     kind = "runs"    // the engine runs
	stopped  kind = "stopped" // and was shut down
	mark     kind = "mark"    // the program was still there
)

// harmless reports whether an entry that can no longer be read in full may be
// passed over: none of these changes a rest.
func (k kind) harmless() bool {
	switch k {
	case opened, mark, runs, stopped:
		return true
	}
	return false
}

// entry is a line of the file. Until is, for a release, how long the starter
// must rest from then on.
type entry struct {
	kind  kind
	at    Moment
	until time.Duration
}

const header = "kickover-starter-ledger 1"

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// line is an entry as it is written: fields, then the checksum of what stands
// before it.
func (e entry) line() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s boot=%s since=%s wall=%s", e.kind, e.at.Boot, decimal(e.at.Since), e.at.Wall.UTC().Format(time.RFC3339Nano))
	if !e.at.Hardware.IsZero() {
		fmt.Fprintf(&b, " battery=%s", e.at.Hardware.UTC().Format(time.RFC3339))
	}
	if e.kind == released {
		fmt.Fprintf(&b, " rest=%s", decimal(e.until))
	}
	return fmt.Sprintf("%s crc=%08x\n", b.String(), sum(b.String()))
}

func sum(s string) uint32 { return crc32.Checksum([]byte(s), castagnoli) }

// decimal prints seconds with nine decimals, exactly.
func decimal(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "-", -d
	}
	return fmt.Sprintf("%s%d.%09d", sign, d/time.Second, d%time.Second)
}

func parseDecimal(s string) (time.Duration, bool) {
	whole, frac, ok := strings.Cut(s, ".")
	if !ok || len(frac) != 9 {
		return 0, false
	}
	body, negative := strings.CutPrefix(whole, "-")
	sec, err := strconv.ParseUint(body, 10, 33)
	if err != nil {
		return 0, false
	}
	ns, err := strconv.ParseUint(frac, 10, 63)
	if err != nil {
		return 0, false
	}
	d := time.Duration(sec)*time.Second + time.Duration(ns)
	if negative {
		d = -d
	}
	return d, true
}

// parse reads a line without its newline; false when it is not whole.
func parse(line string) (entry, bool) {
	i := strings.LastIndex(line, " crc=")
	if i < 0 {
		return entry{}, false
	}
	body, check := line[:i], line[i+len(" crc="):]
	want, err := strconv.ParseUint(check, 16, 32)
	if err != nil || len(check) != 8 || uint32(want) != sum(body) {
		return entry{}, false
	}
	fields := strings.Split(body, " ")
	e := entry{kind: kind(fields[0])}
	for _, f := range fields[1:] {
		if !e.field(f) {
			return entry{}, false
		}
	}
	return e, !e.at.Wall.IsZero()
}

// field takes one name=value. A name from a newer version is passed over.
func (e *entry) field(f string) bool {
	name, value, ok := strings.Cut(f, "=")
	if !ok {
		return false
	}
	var err error
	switch name {
	case "boot":
		e.at.Boot = value
	case "since":
		e.at.Since, ok = parseDecimal(value)
	case "wall":
		e.at.Wall, err = time.Parse(time.RFC3339Nano, value)
	case "battery":
		e.at.Hardware, err = time.Parse(time.RFC3339, value)
	case "rest":
		e.until, ok = parseDecimal(value)
	}
	return ok && err == nil
}

// content is what a file was found to hold.
type content struct {
	entries []entry
	// damaged lists, for entries that could not be read and may have mattered,
	// how many whole entries stood before each.
	damaged []int
	torn    bool // anything at all was not whole
}

// read takes a file's bytes. It never fails: what is not whole is damage.
func read(data []byte) content {
	var c content
	text := string(data)
	if text == "" {
		return c
	}
	lines := strings.Split(text, "\n")
	last := lines[len(lines)-1] // what follows the last newline: nothing, or a torn entry
	for i, line := range lines[:len(lines)-1] {
		if i == 0 && line == header || line == "" {
			continue
		}
		c.take(line)
	}
	if last != "" {
		c.torn = true
		c.harm(last)
	}
	return c
}

func (c *content) take(line string) {
	e, ok := parse(line)
	if !ok {
		c.torn = true
		c.harm(line)
		return
	}
	c.entries = append(c.entries, e)
}

// harm notes a line that is not whole, unless its first word says that it can
// not have changed a rest.
func (c *content) harm(line string) {
	first, _, more := strings.Cut(line, " ")
	if more && kind(first).harmless() {
		return
	}
	c.damaged = append(c.damaged, len(c.entries))
}
