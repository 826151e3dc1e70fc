package timer

import (
	"fmt"
	"sync"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/procedure/starter"
)

// errands runs what may wait, as the disk and the desktop's bus, in order, on a
// goroutine of its own.
type errands struct {
	todo   chan func() string // each gives a sentence about what went wrong, or nothing
	done   chan struct{}
	notice func(string)
	once   sync.Once
	ids    map[made]string // of the starts kept so far; the goroutine's own
}

func newErrands(notice func(string)) *errands {
	e := &errands{todo: make(chan func() string, 64), done: make(chan struct{}), notice: notice, ids: map[made]string{}}
	go e.run()
	return e
}

func (e *errands) run() {
	defer close(e.done)
	for f := range e.todo {
		if wrong := f(); wrong != "" {
			e.notice(wrong)
		}
	}
}

func (e *errands) close() {
	e.once.Do(func() { close(e.todo) })
	<-e.done
}

// made tells the starts of one screen apart.
type made struct {
	aeroplane int // how many were chosen before
	serial    int
}

// keep keeps a start; the same one keeps its name.
func (e *errands) keep(r Records, which made, s realstart.Start) {
	e.todo <- func() string {
		if e.ids[which] == "" {
			e.ids[which] = realstart.NewID(s.Registration, s.At)
		}
		s.ID = e.ids[which]
		if err := r.Keep(s); err != nil {
			return fmt.Sprintf("This start is not in your records: %v.", err)
		}
		return ""
	}
}

const mayGoDark = "The display may go dark by itself, since this desktop cannot be asked to keep it on. Touch the mouse now and then."

// display keeps the display on or lets it go. Why that cannot be done is of no
// use in a cockpit; that it cannot is said.
func (e *errands) display(d Display, on bool) {
	if d == nil {
		return
	}
	e.todo <- func() string {
		if err := d.Set(on); err != nil && on {
			return mayGoDark
		}
		return ""
	}
}

// unkept is a ledger in memory, for when there is none on disk.
type unkept struct {
	limits procedure.StarterLimits
	began  time.Time
}

func newUnkept(lib *procedure.Library) *unkept {
	u := &unkept{began: time.Now()}
	if lib != nil && lib.Aircraft != nil {
		u.limits = lib.Aircraft.Starter
	}
	return u
}

func (u *unkept) Ledger() *starter.Ledger         { return starter.New(u.limits) }
func (u *unkept) Shutdown() (time.Duration, bool) { return 0, false }
func (u *unkept) Ran() bool                       { return false }
func (u *unkept) Now() time.Duration              { return time.Since(u.began) }
func (u *unkept) Notices() []string {
	return []string{"The starter's ledger is kept until the program ends, and not on disk."}
}
func (u *unkept) Engaged(time.Duration)                 {}
func (u *unkept) Released(time.Duration, time.Duration) {}
func (u *unkept) Resumed(time.Duration)                 {}
func (u *unkept) Struck(time.Duration)                  {}
func (u *unkept) Rested(time.Duration)                  {}
func (u *unkept) Runs(time.Duration)                    {}
func (u *unkept) Stopped(time.Duration)                 {}
func (u *unkept) Tick()                                 {}
