package ledgerfile

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/gofrs/flock"

	"kickover/procedure"
	"kickover/procedure/starter"
)

// ErrInUse is returned when another window keeps the ledger.
var ErrInUse = errors.New("the ledger is in use")

// Options are how a ledger is opened.
type Options struct {
	Dir          string // of all ledgers; made when it is not there
	Registration string // of the aircraft, as painted on it
	Limits       procedure.StarterLimits
	Clock        Clock // nil is the computer's
	// Notice, if any, is given each sentence about the disk as it comes up, on
	// the writer's goroutine.
	Notice func(string)

	disk func(path string) (disk, error)
}

// File is a ledger on disk. Open makes one.
type File struct {
	o        Options
	path     string
	origin   Moment
	account  account
	notices  []string
	lock     *flock.Flock
	locked   os.FileInfo // the lock's file
	out      *writer
	mu       sync.Mutex // guards what follows
	lastMark time.Duration
	holding  bool
	restless time.Duration // rest is owed until then
	lastWall time.Time     // by the wall clock, when last looked
	lastAt   time.Duration
}

// Open reads an aircraft's ledger and keeps it from any other program until it
// is closed. ErrInUse is the only error that means a second window; any other
// trouble with the disk is a notice, and the ledger goes on in memory.
func Open(o Options) (*File, error) {
	if o.Clock == nil {
		o.Clock = SystemClock()
	}
	if o.disk == nil {
		o.disk = openDisk
	}
	f := &File{o: o, path: filepath.Join(o.Dir, Name(o.Registration))}
	if err := os.MkdirAll(o.Dir, 0o755); err != nil {
		f.notice("The folder for the starter's ledger cannot be made: %v. The ledger is kept until the program ends; free the disk or choose another folder.", plain(err))
	}
	if err := f.hold(); err != nil {
		return nil, err
	}
	f.origin = f.moment()
	f.load()
	return f, nil
}

// hold takes the lock, which the operating system drops with the program.
func (f *File) hold() error {
	f.lock = flock.New(f.path + ".lock")
	got, err := f.lock.TryLock()
	if err != nil {
		f.notice("The ledger of %s cannot be kept from other windows: %v. Use one window only.", f.o.Registration, plain(err))
		return nil
	}
	f.locked, _ = os.Stat(f.lock.Path())
	if !got {
		return fmt.Errorf("%w: another window keeps the starter's ledger of %s; use that window, or close it and open this one again", ErrInUse, f.o.Registration)
	}
	return nil
}

// holdAnew takes the lock of a folder that was made anew, which the one before does
// not keep any more. It is called on the writer's goroutine.
func (f *File) holdAnew() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	now, err := os.Stat(f.lock.Path())
	if err == nil && os.SameFile(now, f.locked) {
		return nil // only the ledger was taken away
	}
	lock := flock.New(f.lock.Path())
	if got, err := lock.TryLock(); err != nil {
		return err
	} else if !got {
		return fmt.Errorf("%w by another window, which made it anew after it was taken away", ErrInUse)
	}
	f.lock.Unlock() // of a file that is gone
	f.lock = lock
	f.locked, err = os.Stat(lock.Path())
	return err
}

// Name is the file's name for a registration: its letters and digits, anything
// else written out, so that no two registrations share a file.
func Name(registration string) string {
	var b strings.Builder
	for _, r := range strings.ToUpper(strings.TrimSpace(registration)) {
		switch {
		case r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-':
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "_%x_", r)
		}
	}
	if b.Len() == 0 {
		b.WriteString("_")
	}
	return b.String() + ".ledger"
}

// most is how many bytes a ledger may have before it is written anew with its
// last entries only.
const (
	most     = 256 << 10
	keptOver = 400
)

// workOut reads the file and works it out.
func (f *File) workOut() (c content, size int, unread bool) {
	data, err := os.ReadFile(f.path)
	unread = err != nil && !errors.Is(err, os.ErrNotExist)
	c = read(data)
	if unread {
		c.damaged = append(c.damaged, 0)
		f.notice("The starter's ledger of %s cannot be read: %v. It is taken that an attempt has just ended.", f.o.Registration, plain(err))
	}
	f.account = replay(c, f.origin, f.o.Limits, gap)
	f.tell(c)
	return c, len(data), unread
}

// load works the file out and leaves it ready to be appended to.
func (f *File) load() {
	c, size, unread := f.workOut()
	f.out = newWriter(f.path, f.o.disk, f.o.Notice, f.o.Registration, f.holdAnew)
	switch {
	case c.torn || unread:
		if len(c.damaged) > 0 {
			f.out.setAside = f.path + ".damaged-" + f.origin.Wall.Format("20060102-150405")
		}
		f.out.replace(f.afresh(c))
	case size > most:
		c.entries = c.entries[max(0, len(c.entries)-keptOver):]
		f.out.replace(f.afresh(c))
	case size == 0:
		f.out.replace([]byte(header + "\n"))
	}
	f.note(entry{kind: opened, at: f.origin})
	if f.account.openEnded {
		last := f.account.ledger.Attempts()
		f.note(entry{kind: released, at: f.at(last[len(last)-1].Released), until: f.account.ledger.Ready() - last[len(last)-1].Released})
	}
	f.restless = f.account.ledger.Ready()
	f.lastWall = f.origin.Wall
}

// afresh is what a file holds that replaces a damaged or an overlong one; what
// could not be read becomes the attempt that it was counted as.
func (f *File) afresh(c content) []byte {
	var b strings.Builder
	b.WriteString(header + "\n")
	damaged := c.damaged
	for i, e := range c.entries {
		for len(damaged) > 0 && damaged[0] == i {
			b.WriteString(entry{kind: engaged, at: e.at}.line() + entry{kind: released, at: e.at}.line())
			damaged = damaged[1:]
		}
		b.WriteString(e.line())
	}
	for range damaged {
		b.WriteString(entry{kind: engaged, at: f.origin}.line() + entry{kind: released, at: f.origin}.line())
	}
	return []byte(b.String())
}

// tell says what could not be known.
func (f *File) tell(c content) {
	reg := f.o.Registration
	if len(c.damaged) > 0 {
		f.notice("The starter's ledger of %s is damaged. What cannot be read is counted as an attempt; the damaged file is kept beside it.", reg)
	}
	if f.account.openEnded {
		f.notice("The program stopped while the starter was engaged. It is taken to have been let go after %v.", f.account.heldFor.Round(time.Second/10))
	}
	a := &f.account
	switch {
	case a.doubt == byWall:
		sure := replay(c, f.origin, f.o.Limits, surely)
		if sure.matters() && sure.ledger.Owed(0) != a.ledger.Owed(0) {
			f.notice("The computer was restarted. The starter's rest is counted by its clock; if that was changed meanwhile, rest longer.")
		}
	case a.doubt != certain && a.matters():
		f.notice("%s", map[doubt]string{
			wentBack:   "The computer's clock went back since the last attempt. How long ago that was cannot be known: the starter's rest is counted from the restart.",
			disagreed:  "The computer's clock was changed since the last attempt. How long ago that was cannot be known: the longer rest is taken.",
			impossible: "The computer's state was restored from a copy. How long ago the last attempt was cannot be known: its rest is counted from now.",
		}[a.doubt])
	}
}

func (f *File) notice(format string, args ...any) {
	f.notices = append(f.notices, fmt.Sprintf(format, args...))
}

// plain is an error without the path.
func plain(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// Notices says, in whole sentences, what could not be known or done when the
// ledger was opened.
func (f *File) Notices() []string { return f.notices }

// Ledger is a copy of the account as it was when it was opened, times counted
// from then.
func (f *File) Ledger() *starter.Ledger { return f.account.ledger.Clone() }

// Shutdown is when the engine was last shut down, counted from the opening, if
// that is known.
func (f *File) Shutdown() (time.Duration, bool) { return f.account.shutdown, f.account.shutdownKnown }

// Ran reports whether the engine ran when the ledger was last closed: then nobody
// noted its shutdown.
func (f *File) Ran() bool { return f.account.ran }

// Origin is the moment of opening, from which all times are counted.
func (f *File) Origin() Moment { return f.origin }

// Now is the time counted from the opening, through sleep and whatever is done
// to the wall clock.
func (f *File) Now() time.Duration {
	now := f.o.Clock.Now()
	if now.Boot == f.origin.Boot {
		return now.Since - f.origin.Since
	}
	d, _ := gap(f.origin, now)
	return d
}

// Path is where the ledger is.
func (f *File) Path() string { return f.path }

// Close writes what is left and lets the ledger go.
func (f *File) Close() error {
	err := f.out.close()
	f.mu.Lock()
	defer f.mu.Unlock()
	return errors.Join(err, f.lock.Unlock())
}

// Sync returns when everything told so far is on the disk, or the disk refuses.
func (f *File) Sync() error { return f.out.sync() }
