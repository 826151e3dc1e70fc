package ledgerfile

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"kickover/procedure"
)

const sec = time.Second

// Common practice, no source.
var limits = procedure.StarterLimits{Crank: 10 * sec, Rest: time.Minute, Attempts: 3, LongRest: 30 * time.Minute}

// computer is a computer whose clocks do as they are told.
type computer struct {
	mu     sync.Mutex
	now    Moment
	boots  int
	offset time.Duration // of the battery clock
	noRTC  bool
}

func newComputer() *computer {
	return &computer{now: Moment{Boot: "boot-0", Since: time.Hour, Wall: time.Date(2026, 3, 29, 0, 55, 0, 0, time.UTC)}}
}

func (c *computer) Now() Moment {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *computer) Hardware() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.noRTC {
		return time.Time{}
	}
	return c.now.Wall.Add(c.offset).Truncate(sec)
}

// pass is time going by, awake or asleep.
func (c *computer) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now.Since += d
	c.now.Wall = c.now.Wall.Add(d)
}

// set moves the wall clock alone; the battery clock keeps the time.
func (c *computer) set(by time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now.Wall = c.now.Wall.Add(by)
	c.offset -= by
}

// pull is the battery pulled for so long, and a restart that takes 40 s.
func (c *computer) pull(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.boots++
	c.now.Boot = fmt.Sprintf("boot-%d", c.boots)
	c.now.Wall = c.now.Wall.Add(d + 40*sec)
	c.now.Since = 40 * sec
}

func open(t *testing.T, dir string, c Clock) *File {
	t.Helper()
	f, err := Open(Options{Dir: dir, Registration: "BR-180", Limits: limits, Clock: c})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// kill leaves a file as a killed program does once its entries are written.
func (f *File) kill(t *testing.T) {
	t.Helper()
	if err := f.Sync(); err != nil {
		t.Fatal(err)
	}
	f.lock.Unlock()
}

// act drives a file and its computer with lines as "engage", "pass 5s", "set -1h";
// "runs 35s" notes now what happened 35 s ago.
func act(t *testing.T, f *File, c *computer, script string) {
	t.Helper()
	for _, line := range strings.Split(script, ",") {
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		var d time.Duration
		if len(words) > 1 {
			var err error
			if d, err = time.ParseDuration(words[1]); err != nil {
				t.Fatal(err)
			}
		}
		switch words[0] {
		case "pass":
			for ; d > sec; d -= sec { // as the window ticks
				c.pass(sec)
				f.Tick()
			}
			c.pass(d)
		case "set":
			c.set(d)
			f.Tick()
		case "engage":
			f.Engaged(f.Now())
		case "release":
			f.Released(f.Now(), limits.Rest)
		case "strike":
			f.Struck(f.Now())
		case "resume":
			f.Resumed(f.Now())
		case "rested":
			f.Rested(f.Now() - d)
		case "runs":
			f.Runs(f.Now() - d)
		case "stopped":
			f.Stopped(f.Now())
		default:
			t.Fatalf("unknown act %q", line)
		}
	}
}

// What is done, what happens to the computer while the program is dead, and what
// the ledger says when it is opened again.
func TestOpenedAgain(t *testing.T) {
	const one = "engage, pass 5s, release"
	const full = one + ", pass 1m, " + one + ", pass 1m, " + one
	for _, c := range []struct {
		name, before string
		meanwhile    func(*computer)
		noRTC        bool
		owed         time.Duration
		number       int
		notice       string // a part of it; empty: none
	}{
		{"at once", one, func(c *computer) {}, false, time.Minute, 2, ""},
		{"ten seconds later", one, func(c *computer) { c.pass(10 * sec) }, false, 50 * sec, 2, ""},
		{"ten minutes later, after a full set", full, func(c *computer) { c.pass(10 * time.Minute) }, false, 20 * time.Minute, 4, ""},
		{"half an hour later", full, func(c *computer) { c.pass(30 * time.Minute) }, false, 0, 1, ""},
		{"the clock moved back an hour", full, func(c *computer) { c.pass(10 * time.Minute); c.set(-time.Hour) }, false, 20 * time.Minute, 4, ""},
		{"the clock moved forward an hour", full, func(c *computer) { c.set(time.Hour); c.pass(10 * time.Minute) }, false, 20 * time.Minute, 4, ""},
		{"asleep for ten minutes", full, func(c *computer) { c.pass(10 * time.Minute) }, true, 20 * time.Minute, 4, ""},
		{"the battery pulled", full, func(c *computer) { c.pull(9*time.Minute + 20*sec) }, false, 20 * time.Minute, 4, ""},
		{"the battery pulled, no battery clock: said", full, func(c *computer) { c.pull(9*time.Minute + 20*sec) }, true, 20 * time.Minute, 4, "if that was changed meanwhile"},
		{"the battery pulled, and long enough ago by either clock", one, func(c *computer) { c.pull(time.Hour); c.pass(time.Hour) }, true, 0, 1, ""},
		{"the battery pulled and the clock an hour back: the rest counts from the restart", full, func(c *computer) { c.pull(10 * time.Minute); c.set(-time.Hour) }, false, 30*time.Minute - 40*sec, 4, "went back"},
		{"the battery pulled and the clock forward: the battery clock knows better", full, func(c *computer) { c.pull(9*time.Minute + 20*sec); c.set(time.Hour) }, false, 20 * time.Minute, 4, "was changed"},
		{"the battery pulled and the clock a little back: the longer rest", full, func(c *computer) { c.pull(9*time.Minute + 20*sec); c.set(-5 * time.Minute) }, false, 25 * time.Minute, 4, "was changed"},
		{"the clock at its factory date after the battery was pulled", full, func(c *computer) { c.pull(9 * time.Minute); c.set(-20 * 365 * 24 * time.Hour) }, true, 30*time.Minute - 40*sec, 4, "went back"},
		{"the clock moved while the program ran, then the battery pulled", full + ", set 3h", func(c *computer) { c.pull(9*time.Minute + 20*sec) }, false, 20 * time.Minute, 4, ""},
		{"killed while cranking: let go at the limit", "engage, pass 3s", func(c *computer) { c.pass(40 * sec) }, false, 27 * sec, 2, "while the starter was engaged"},
		{"killed while cranking past the limit", "engage, pass 15s", func(c *computer) { c.pass(40 * sec) }, false, 19 * sec, 2, "while the starter was engaged"},
		{"killed while cranking, opened at once", "engage, pass 3s", func(c *computer) {}, false, time.Minute, 2, "while the starter was engaged"},
		{"killed in the last attempt of a set", one + ", pass 1m, " + one + ", pass 1m, engage, pass 2s", func(c *computer) { c.pass(time.Minute) }, false, 30*time.Minute - 52*sec, 4, "while the starter was engaged"},
		{"a mistake", one + ", pass 1m, engage, pass 1s, strike", func(c *computer) {}, false, 0, 2, ""},
		{"a slip of the finger", "engage, pass 2s, release, resume, pass 3s, release", func(c *computer) { c.pass(20 * sec) }, false, 40 * sec, 2, ""},
		{"the pilot's word", full + ", pass 1m, rested", func(c *computer) {}, false, 0, 1, ""},
		{"the pilot took long to say that it runs", one + ", pass 40s, runs 40s, pass 5s", func(c *computer) {}, false, 15 * sec, 2, ""},
		{"the pilot's word, noted late", full + ", pass 1m, rested 2s", func(c *computer) {}, false, 0, 1, ""},
		{"a copy of the machine's state restored", full, func(c *computer) { c.now.Since -= 30 * time.Minute; c.now.Wall = c.now.Wall.Add(time.Hour) }, false, 30 * time.Minute, 4, "from a copy"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir, clock := t.TempDir(), newComputer()
			clock.noRTC = c.noRTC
			f := open(t, dir, clock)
			act(t, f, clock, c.before)
			f.kill(t)
			c.meanwhile(clock)
			for again := range 2 { // what was said once stays true when it is opened once more
				g := open(t, dir, clock)
				l := g.Ledger()
				if got := l.Owed(0).Round(sec); got != c.owed || l.Number(0) != c.number {
					t.Errorf("opened %d times: %v owed, number %d; want %v, %d", again+1, got, l.Number(0), c.owed, c.number)
				}
				notices := strings.Join(g.Notices(), " ")
				if again == 0 && (c.notice == "" && notices != "" || !strings.Contains(notices, c.notice)) {
					t.Errorf("notices %q, want %q", notices, c.notice)
				}
				g.kill(t)
			}
		})
	}
}

func TestShutdownIsRemembered(t *testing.T) {
	dir, clock := t.TempDir(), newComputer()
	f := open(t, dir, clock)
	if _, known := f.Shutdown(); known {
		t.Error("a new ledger knows of a shutdown")
	}
	act(t, f, clock, "engage, pass 2s, release, runs, pass 30m, stopped")
	f.kill(t)
	clock.pull(45 * time.Minute)
	g := open(t, dir, clock)
	if at, known := g.Shutdown(); !known || at.Round(sec) != -(45*time.Minute+40*sec) {
		t.Errorf("shut down at %v, known %v; want 45m40s ago", at, known)
	}
	act(t, g, clock, "engage, pass 2s, release, runs")
	g.kill(t)
	h := open(t, dir, clock)
	defer h.Close()
	if _, known := h.Shutdown(); known {
		t.Error("a shutdown is known of an engine that was last seen running")
	}
}

func TestTheSecondWindowIsRefused(t *testing.T) {
	dir := t.TempDir()
	f := open(t, dir, newComputer())
	_, err := Open(Options{Dir: dir, Registration: "br-180 ", Limits: limits})
	if !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), "another window") {
		t.Errorf("got %v, want a reason", err)
	}
	other, err := Open(Options{Dir: dir, Registration: "BR-100", Limits: limits})
	if err != nil {
		t.Errorf("another aircraft's ledger: %v", err)
	} else if err := other.Close(); err != nil {
		t.Error(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	g := open(t, dir, newComputer())
	if err := g.Close(); err != nil {
		t.Error(err)
	}
}

func TestNamesAreApart(t *testing.T) {
	seen := map[string]string{}
	for _, reg := range []string{"", "BR-180", "BR 180", "BR/180", "BR_180", "BR_20_180", "../BR-180", "ÄR-1", "."} {
		name := Name(reg)
		if other, taken := seen[name]; taken {
			t.Errorf("%q and %q share %s", reg, other, name)
		}
		if filepath.Base(name) != name {
			t.Errorf("%q leads out of its folder: %s", reg, name)
		}
		seen[name] = reg
	}
}

func TestDamage(t *testing.T) {
	whole := func(t *testing.T, dir string, clock *computer) string {
		f := open(t, dir, clock)
		act(t, f, clock, "engage, pass 5s, release, pass 31m, engage, pass 5s, release")
		f.kill(t)
		return f.Path()
	}
	for _, c := range []struct {
		name   string
		spoil  func(string) string
		number int // of the next attempt
		owed   time.Duration
	}{
		{"an entry torn off", func(s string) string { return s[:len(s)-20] }, 2, time.Minute},
		{"torn off in its first word", func(s string) string { return s[:strings.LastIndex(s, "\n")+1] + "rele" }, 3, time.Minute},
		{"a torn mark is no attempt", func(s string) string { return s + "mark boot=boot-0 sin" }, 2, 50 * sec},
		{"a torn word that may be anything", func(s string) string { return s + "m" }, 3, time.Minute},
		{"zeros after a loss of power", func(s string) string { return s + strings.Repeat("\x00", 100) }, 3, time.Minute},
		{"one figure changed", func(s string) string {
			i := strings.LastIndex(s, "release")
			return s[:i] + strings.Replace(s[i:], "since=5", "since=6", 1)
		}, 2, time.Minute},
		{"not a ledger", func(string) string { return "GIF89a and so on" }, 2, time.Minute},
		{"empty", func(string) string { return "" }, 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir, clock := t.TempDir(), newComputer()
			path := whole(t, dir, clock)
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, []byte(c.spoil(string(data))), 0o644); err != nil {
				t.Fatal(err)
			}
			clock.pass(10 * sec)
			f := open(t, dir, clock)
			l := f.Ledger()
			if l.Number(0) != c.number || l.Owed(0) != c.owed {
				t.Errorf("number %d, %v owed; want %d, %v", l.Number(0), l.Owed(0), c.number, c.owed)
			}
			f.kill(t)
			// The next opening finds a whole file that says the same.
			clock.pass(5 * sec)
			g := open(t, dir, clock)
			if n := g.Notices(); len(n) > 0 {
				t.Errorf("opened again it still says %q", n)
			}
			if l := g.Ledger(); l.Number(0) != c.number || l.Owed(0) != max(0, c.owed-5*sec) {
				t.Errorf("opened again: number %d, %v owed; want %d, %v", l.Number(0), l.Owed(0), c.number, max(0, c.owed-5*sec))
			}
			g.Close()
		})
	}
}

func TestALongLedgerIsShortened(t *testing.T) {
	dir, clock := t.TempDir(), newComputer()
	f := open(t, dir, clock)
	for range 1500 {
		act(t, f, clock, "engage, pass 1s, release, pass 2s")
		clock.pass(31 * time.Minute)
	}
	f.kill(t)
	if info, err := os.Stat(f.Path()); err != nil || info.Size() < most {
		t.Fatalf("the file has %v bytes, too few for this test (%v)", info.Size(), err)
	}
	clock.set(0)
	g := open(t, dir, clock)
	act(t, g, clock, "engage, pass 5s, release")
	g.kill(t)
	if info, err := os.Stat(g.Path()); err != nil || info.Size() > most {
		t.Errorf("the file still has %v bytes (%v)", info.Size(), err)
	}
	h := open(t, dir, clock)
	defer h.Close()
	if l := h.Ledger(); l.Owed(0) != time.Minute || l.Number(0) != 2 {
		t.Errorf("%v owed, number %d; want 1m, 2", l.Owed(0), l.Number(0))
	}
}

// fullDisk refuses until it is freed, and writes half of what it is given.
type fullDisk struct {
	disk
	full func() bool
}

func (d fullDisk) WriteAt(b []byte, off int64) (int, error) {
	if d.full() {
		n, _ := d.disk.WriteAt(b[:len(b)/2], off)
		return n, &os.PathError{Op: "write", Path: "ledger", Err: syscall.ENOSPC}
	}
	return d.disk.WriteAt(b, off)
}

func TestAFullDisk(t *testing.T) {
	var mu sync.Mutex
	full := true
	var said []string
	dir, clock := t.TempDir(), newComputer()
	f, err := Open(Options{
		Dir: dir, Registration: "BR-180", Limits: limits, Clock: clock,
		Notice: func(s string) { mu.Lock(); defer mu.Unlock(); said = append(said, s) },
		disk: func(path string) (disk, error) {
			d, err := openDisk(path)
			return fullDisk{d, func() bool { mu.Lock(); defer mu.Unlock(); return full }}, err
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	act(t, f, clock, "engage, pass 5s, release")
	if err := f.Sync(); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("a full disk gives %v", err)
	}
	mu.Lock()
	full = false
	mu.Unlock()
	act(t, f, clock, "pass 1500ms, pass 1s")
	if err := f.Sync(); err != nil {
		t.Errorf("after there is room: %v", err)
	}
	f.kill(t)
	mu.Lock()
	if len(said) != 2 || !strings.Contains(said[0], "make room") || !strings.Contains(said[1], "written again") {
		t.Errorf("said %q", said)
	}
	mu.Unlock()
	g := open(t, dir, clock)
	defer g.Close()
	if l := g.Ledger(); l.Number(0) != 2 || len(g.Notices()) > 0 {
		t.Errorf("number %d, notices %q; want 2 and none", l.Number(0), g.Notices())
	}
}

func TestAFolderThatCannotBeMade(t *testing.T) {
	inTheWay := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(inTheWay, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := Open(Options{Dir: filepath.Join(inTheWay, "ledgers"), Registration: "BR-180", Limits: limits, Clock: newComputer()})
	if err != nil {
		t.Fatalf("a missing folder must stop nobody: %v", err)
	}
	f.Engaged(0)
	if len(f.Notices()) == 0 {
		t.Error("nothing is said")
	}
	if err := f.Close(); err == nil {
		t.Error("closing reports a ledger that was never written as written")
	}
}

// The ledger, or its whole folder, is taken away while a window keeps it: nothing of
// it is lost, and no second window is let in.
func TestTakenAwayWhileItIsKept(t *testing.T) {
	for _, what := range []string{"the ledger", "its folder"} {
		t.Run(what, func(t *testing.T) {
			var said []string
			dir, clock := filepath.Join(t.TempDir(), "ledgers"), newComputer()
			o := Options{Dir: dir, Registration: "BR-180", Limits: limits, Clock: clock, Notice: func(s string) { said = append(said, s) }}
			f, err := Open(o)
			if err != nil {
				t.Fatal(err)
			}
			act(t, f, clock, "engage, pass 5s, release")
			if err := f.Sync(); err != nil {
				t.Fatal(err)
			}
			gone := dir
			if what == "the ledger" {
				gone = f.Path()
			}
			if err := os.RemoveAll(gone); err != nil {
				t.Fatal(err)
			}
			act(t, f, clock, "pass 1m, engage, pass 5s, release")
			if err := f.Sync(); err != nil {
				t.Fatalf("it is not written anew: %v", err)
			}
			if len(said) != 1 || !strings.Contains(said[0], "taken away") {
				t.Errorf("said %q", said)
			}
			if _, err := Open(o); !errors.Is(err, ErrInUse) {
				t.Errorf("a second window is told %v", err)
			}
			f.kill(t)
			g := open(t, dir, clock)
			defer g.Close()
			if l := g.Ledger(); l.Number(0) != 3 || l.Owed(0) != limits.Rest || len(g.Notices()) > 0 {
				t.Errorf("attempt %d, %v owed, notices %q; want 3, a whole rest and none", l.Number(0), l.Owed(0), g.Notices())
			}
		})
	}
}

// A second window that made a folder anew first keeps it.
func TestTakenAwayAndMadeAnewByAnother(t *testing.T) {
	dir, clock := filepath.Join(t.TempDir(), "ledgers"), newComputer()
	f := open(t, dir, clock)
	act(t, f, clock, "engage, pass 5s, release")
	if err := f.Sync(); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	other := open(t, dir, clock)
	defer other.Close()
	if err := other.Sync(); err != nil {
		t.Fatal(err)
	}
	act(t, f, clock, "engage, pass 5s, release")
	if err := f.Sync(); !errors.Is(err, ErrInUse) {
		t.Errorf("the first goes on writing: %v", err)
	}
	f.Close() // which says the same
}

// A look changes nothing, and knows nothing while a window keeps the ledger.
func TestLook(t *testing.T) {
	dir, clock := t.TempDir(), newComputer()
	o := Options{Dir: dir, Registration: "BR-180", Limits: limits, Clock: clock}
	if _, err := Look(o); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("where there is none: %v", err)
	}
	f := open(t, dir, clock)
	act(t, f, clock, "engage, pass 5s, release, pass 1s")
	f.Runs(f.Now() - time.Second)
	if err := f.Sync(); err != nil {
		t.Fatal(err)
	}
	if _, err := Look(o); !errors.Is(err, ErrInUse) {
		t.Errorf("while a window keeps it: %v", err)
	}
	f.kill(t)
	before, err := os.ReadFile(f.Path())
	if err != nil {
		t.Fatal(err)
	}
	clock.pass(10 * sec)
	s, err := Look(o)
	if err != nil {
		t.Fatal(err)
	}
	if want := limits.Rest - 11*time.Second; s.Ledger.Owed(0) != want || s.Ledger.Number(0) != 2 || !s.Ran || s.ShutdownKnown {
		t.Errorf("%v owed, number %d, ran %v; want %v, 2, true", s.Ledger.Owed(0), s.Ledger.Number(0), s.Ran, want)
	}
	if after, err := os.ReadFile(f.Path()); err != nil || string(after) != string(before) {
		t.Errorf("a look has written to the ledger: %v", err)
	}
}

func BenchmarkUntilOnTheDisk(b *testing.B) {
	f, err := Open(Options{Dir: b.TempDir(), Registration: "BR-180", Limits: limits})
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	for b.Loop() {
		f.Runs(0)
		if err := f.Sync(); err != nil {
			b.Fatal(err)
		}
	}
}

// What a press costs its caller.
func BenchmarkNote(b *testing.B) {
	f, err := Open(Options{Dir: b.TempDir(), Registration: "BR-180", Limits: limits})
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	for b.Loop() {
		f.Runs(0)
	}
}
