package classroom

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"kickover/procedure"
)

// Logbook is a station's own record of its runs, until the instructor's store
// has confirmed all of them: one file a run, every line with its checksum,
// flushed to the disk. One goroutine writes; it takes whatever has been appended
// since its last flush, so that a slow disk makes larger writes, not a slower run.
type Logbook struct {
	dir     string
	wake    chan struct{} // holds one token when there is something to write
	stop    chan struct{}
	stopped chan struct{}
	durable chan struct{} // holds one token when something became deliverable

	mu      sync.Mutex // guards what follows, and the fields of every Log
	runs    []*Log     // oldest first
	problem error      // what keeps the disk from taking events
	notices []string
}

// Log is one run in the logbook. Its fields are guarded by the logbook.
type Log struct {
	book   *Logbook
	id     RunID
	header RunHeader
	events []procedure.Event
	ended  bool

	file        *os.File // owned by the writing goroutine once the log is open
	headerSaved bool
	saved       int // events on the disk
	endSaved    bool

	sent      int // events handed to the engine since the last doubt
	sentEnd   bool
	since     time.Time // since when nothing of what was handed over was confirmed
	confirmed int
	done      bool // all confirmed, end included
}

const logSuffix = ".run"

// OpenLogbook opens the folder, makes it if need be, and takes up what a program
// that was ended in the middle left: those runs are over, and are delivered.
func OpenLogbook(dir string) (*Logbook, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("the folder for this station's runs cannot be made: %w", err)
	}
	b := &Logbook{dir: dir, wake: make(chan struct{}, 1), stop: make(chan struct{}), stopped: make(chan struct{}), durable: make(chan struct{}, 1)}
	names, err := filepath.Glob(filepath.Join(dir, "*"+logSuffix))
	if err != nil {
		return nil, err
	}
	slices.Sort(names)
	for _, name := range names {
		b.takeUp(name)
	}
	slices.SortStableFunc(b.runs, func(x, y *Log) int { return int(x.header.Began - y.header.Began) })
	poke(b.durable)
	go b.write()
	return b, nil
}

// takeUp reads a run that was left behind.
func (b *Logbook) takeUp(name string) {
	l, whole, err := readLog(name)
	if err == nil && !whole {
		b.notices = append(b.notices, "A run that was cut short, or damaged, on this disk is delivered as far as it can be read; the file is kept as "+name+".damaged.")
		err = keepDamaged(name, l)
	}
	if errors.Is(err, errNoHeader) {
		// The program ended before anything of the run was on the disk.
		if os.Remove(name) == nil {
			return
		}
	}
	if err != nil {
		b.notices = append(b.notices, fmt.Sprintf("%s cannot be read and is left as it is: %v", name, err))
		return
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		b.notices = append(b.notices, fmt.Sprintf("%s cannot be opened and is left as it is: %v", name, err))
		return
	}
	l.book, l.file, l.ended = b, f, true
	b.runs = append(b.runs, l)
	poke(b.wake)
}

// Begin opens the log of a new run.
func (b *Logbook) Begin(id RunID, h RunHeader) *Log {
	l := &Log{book: b, id: id, header: h}
	b.mu.Lock()
	b.runs = append(b.runs, l)
	b.mu.Unlock()
	poke(b.wake)
	return l
}

// Append takes an event; it never blocks.
func (l *Log) Append(e procedure.Event) {
	b := l.book
	b.mu.Lock()
	if !l.ended {
		l.events = append(l.events, e)
	}
	b.mu.Unlock()
	poke(b.wake)
}

// End says that no more events come.
func (l *Log) End() {
	b := l.book
	b.mu.Lock()
	l.ended = true
	b.mu.Unlock()
	poke(b.wake)
}

// Notices are sentences about what was found damaged, oldest first.
func (b *Logbook) Notices() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.notices)
}

// Problem is a sentence for the student when the disk takes nothing; empty when
// all is well.
func (b *Logbook) Problem() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.problem == nil {
		return ""
	}
	return "This machine's disk does not take the run (" + b.problem.Error() + "): it goes on, is kept in memory and is delivered from there; do not close the program before it says so."
}

// Waiting is how many events the instructor's store has not confirmed.
func (b *Logbook) Waiting() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	n := 0
	for _, l := range b.runs {
		n += len(l.events) - l.confirmed
		if l.ended && !l.done {
			n++ // the end itself
		}
	}
	return n
}

// Runs are those not yet confirmed.
func (b *Logbook) Runs() []RunID {
	b.mu.Lock()
	defer b.mu.Unlock()
	var out []RunID
	for _, l := range b.runs {
		out = append(out, l.id)
	}
	return out
}

// batchRoom keeps a message under messageLimit with its header and end.
const batchRoom = messageLimit - 4<<10

// next gives the next message to deliver of the run that has waited longest,
// nil when there is none. Only what is on the disk is delivered, unless the disk
// takes nothing.
func (b *Logbook) next() (*Log, batch, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, l := range b.runs {
		ready, end := l.saved, l.ended && l.endSaved
		if b.problem != nil {
			ready, end = len(l.events), l.ended
		}
		if l.done || l.sent >= ready && (!end || l.sentEnd) {
			continue
		}
		out := batch{Run: l.id, From: l.sent + 1}
		if l.sent == 0 {
			h := l.header
			out.Header = &h
		}
		size := 0
		for _, e := range l.events[l.sent:ready] {
			size += 120 + len(e.Subject) + 6*len(e.Text)
			if len(out.Events) == eventsInBatch || size > batchRoom {
				break
			}
			out.Events = append(out.Events, packEvent(e))
		}
		out.Ended = end && l.sent+len(out.Events) == len(l.events)
		return l, out, true
	}
	return nil, batch{}, false
}

// handedOver notes that the engine took a message.
func (b *Logbook) handedOver(l *Log, m batch, now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if l.sent == l.confirmed {
		l.since = now
	}
	l.sent = max(l.sent, m.From+len(m.Events)-1)
	l.sentEnd = l.sentEnd || m.Ended
}

// doubt makes what was handed over and not confirmed be delivered again: of runs
// of which nothing was confirmed since a moment, or of all with the zero moment.
func (b *Logbook) doubt(since time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, l := range b.runs {
		if since.IsZero() || l.since.Before(since) {
			l.sent, l.sentEnd = l.confirmed, false
		}
	}
}

// confirm notes what the instructor's store has. A run that it has all of is
// dropped, here and on the disk.
func (b *Logbook) confirm(id RunID, upto int, ended bool, now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	i := slices.IndexFunc(b.runs, func(l *Log) bool { return l.id == id })
	if i < 0 {
		return
	}
	l := b.runs[i]
	if upto > l.confirmed {
		l.since = now
	}
	l.confirmed = max(l.confirmed, min(upto, len(l.events)))
	l.sent = max(l.sent, l.confirmed)
	// It may have more than this disk does, when the disk took nothing and the
	// program was ended: then there is nothing to add.
	l.done = l.done || l.ended && (ended && upto >= len(l.events) || upto > len(l.events))
	poke(b.wake)
}

// Close flushes and ends the writing. What is on the disk is delivered next time.
func (b *Logbook) Close() {
	close(b.stop)
	<-b.stopped
}

func poke(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

// diskRetry is how long a disk that failed is left alone.
const diskRetry = time.Second

// write is the writing goroutine.
func (b *Logbook) write() {
	defer close(b.stopped)
	var again <-chan time.Time
	for {
		wake := b.wake
		if again != nil {
			wake = nil
		}
		select {
		case <-wake:
		case <-again:
		case <-b.stop:
			b.flush()
			b.mu.Lock()
			for _, l := range b.runs {
				if l.file != nil {
					l.file.Close()
				}
			}
			b.mu.Unlock()
			return
		}
		again = nil
		if b.flush() != nil {
			again = time.After(diskRetry)
		}
		poke(b.durable)
	}
}

// flush brings every run's file up to date.
func (b *Logbook) flush() error {
	b.mu.Lock()
	runs := slices.Clone(b.runs)
	b.mu.Unlock()
	var errs []error
	for _, l := range runs {
		errs = append(errs, b.flushRun(l))
	}
	err := errors.Join(errs...)
	b.mu.Lock()
	b.problem = err
	b.runs = slices.DeleteFunc(b.runs, func(l *Log) bool { return l.done && l.file == nil })
	b.mu.Unlock()
	return err
}

func (b *Logbook) flushRun(l *Log) error {
	b.mu.Lock()
	fresh, ended, done := l.events[l.saved:], l.ended, l.done
	b.mu.Unlock()
	if done {
		return l.drop()
	}
	var text bytes.Buffer
	if !l.headerSaved {
		line(&text, logLine{Run: l.id, Header: &l.header})
	}
	for _, e := range fresh {
		packed := packEvent(e)
		line(&text, logLine{Event: &packed})
	}
	if ended && !l.endSaved {
		line(&text, logLine{Ended: true})
	}
	if text.Len() == 0 {
		return nil
	}
	if err := l.save(text.Bytes()); err != nil {
		return err
	}
	b.mu.Lock()
	l.headerSaved, l.saved, l.endSaved = true, l.saved+len(fresh), ended
	b.mu.Unlock()
	return nil
}

// save appends to the run's file and flushes it. After a failure the file is cut
// back to where it was, so that no half line stands before the next.
func (l *Log) save(text []byte) error {
	name := filepath.Join(l.book.dir, string(l.id)+logSuffix)
	if l.file == nil {
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
		if err != nil {
			return err
		}
		syncFolder(l.book.dir)
		l.file = f
	}
	before, err := l.file.Seek(0, 2)
	if err != nil {
		return err
	}
	if _, err = l.file.Write(text); err == nil {
		err = l.file.Sync()
	}
	if err != nil {
		return errors.Join(err, l.file.Truncate(before))
	}
	return nil
}

// drop removes a run that is safe elsewhere.
func (l *Log) drop() error {
	if l.file == nil {
		return nil
	}
	err := l.file.Close()
	l.file = nil
	if e := os.Remove(filepath.Join(l.book.dir, string(l.id)+logSuffix)); e != nil && !errors.Is(e, fs.ErrNotExist) {
		err = errors.Join(err, e)
	}
	return err
}

// logLine is one line of a run's file: its header, an event, or its end.
type logLine struct {
	Run    RunID      `json:"run,omitempty"`
	Header *RunHeader `json:"header,omitempty"`
	Event  *event     `json:"event,omitempty"`
	Ended  bool       `json:"ended,omitempty"`
}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

func line(to *bytes.Buffer, l logLine) {
	text := encode(l)
	fmt.Fprintf(to, "%08x ", crc32.Checksum(text, castagnoli))
	to.Write(text)
	to.WriteByte('\n')
}

var errNoHeader = errors.New("it has no readable beginning")

// readLog reads a run's file as far as it is sound.
func readLog(name string) (l *Log, whole bool, err error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, false, err
	}
	defer f.Close()
	l = &Log{id: RunID(strings.TrimSuffix(filepath.Base(name), logSuffix))}
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 1<<20)
	whole = true
	for lines.Scan() {
		got, ok := readLine(lines.Bytes())
		switch {
		case ok && got.Header != nil && got.Run == l.id && !l.headerSaved:
			l.header, l.headerSaved = *got.Header, true
		case ok && got.Event != nil && l.headerSaved && got.Event.Seq == len(l.events)+1:
			l.events = append(l.events, got.Event.unpack())
		case ok && got.Ended && l.headerSaved:
			l.endSaved = true
		default:
			whole = false
		}
		if !whole {
			break
		}
	}
	if !l.headerSaved {
		return nil, false, errNoHeader
	}
	l.saved = len(l.events)
	return l, whole && lines.Err() == nil, nil
}

func readLine(text []byte) (l logLine, ok bool) {
	sum, rest, found := bytes.Cut(text, []byte(" "))
	if !found || string(sum) != fmt.Sprintf("%08x", crc32.Checksum(rest, castagnoli)) {
		return l, false
	}
	return l, json.Unmarshal(rest, &l) == nil
}

// keepDamaged sets a damaged file aside and writes what could be read of it in
// its place.
func keepDamaged(name string, l *Log) error {
	var text bytes.Buffer
	line(&text, logLine{Run: l.id, Header: &l.header})
	for _, e := range l.events {
		packed := packEvent(e)
		line(&text, logLine{Event: &packed})
	}
	if l.endSaved {
		line(&text, logLine{Ended: true})
	}
	if err := os.Rename(name, name+".damaged"); err != nil {
		return err
	}
	return writeFile(name, text.Bytes())
}

// writeFile writes a small file so that it is there whole or not at all.
func writeFile(name string, data []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".new-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	syncFolder(filepath.Dir(name))
	return nil
}

// syncFolder makes a new file's name durable. Systems that cannot sync a folder
// need no such call.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
