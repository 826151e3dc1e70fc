package timer

import (
	"fmt"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/procedure/starter"
	"kickover/procedure/timer"
	"kickover/procedure/units"
	"kickover/ui/theme"
)

// Voice speaks. None of its methods may wait.
type Voice interface {
	// Say asks for a line to be heard with its beat at a time; one that is not in
	// the future means as soon as possible.
	Say(u Utterance)
	// Hush drops what was asked for under the tag and has not begun.
	Hush(tag string)
}

// Utterance is one line to be heard.
type Utterance struct {
	Line     procedure.Line
	Beat     time.Time
	Priority procedure.Priority
	Tag      string
}

// Ledger keeps the starter's account on disk; package ledgerfile has one. None of
// its methods may wait for the disk.
type Ledger interface {
	Ledger() *starter.Ledger
	Shutdown() (at time.Duration, known bool)
	Ran() bool // the engine, when the ledger was last closed
	Notices() []string
	Now() time.Duration // since it was opened, sleep included
	Engaged(at time.Duration)
	Released(at, rest time.Duration)
	Resumed(at time.Duration)
	Struck(at time.Duration)
	Rested(at time.Duration)
	Runs(at time.Duration)
	Stopped(at time.Duration)
	Tick()
}

// Records keeps real starts; package realstart has one. It may wait for the disk.
type Records interface {
	Keep(s realstart.Start) error
}

// Display is kept on, or let go. Set may wait.
type Display interface {
	Set(on bool) error
}

// Options are what a screen works with.
type Options struct {
	Dress        theme.Tokens // zero is dusk
	Units        units.Units  // the zero value is the files' own
	Library      *procedure.Library
	Registration string  // of the aircraft; empty shows its id
	Celsius      float64 // outside air; NaN when not known
	AltitudeM    float64 // pressure altitude; NaN when not known
	Latch        bool    // prime by press and press

	Notes   []string // offered for a start's record; nil is timer.DefaultNotes
	Notices []string // sentences about what does not work, besides the ledger's own

	// Fleet are the aeroplanes to choose from, this one among them; Board opens
	// the ledger of one of them, or of another registration, and closes the one
	// before. An error says why not and leaves all as it was. Nil offers no choice.
	Fleet []Aeroplane
	Board func(Aeroplane) (Ledger, error)

	Ledger  Ledger  // nil: kept in memory, and said so
	Records Records // nil: starts are not kept
	Voice   Voice   // nil: captions only
	Display Display // nil: the display is left alone
	// Sound, if any, says what is the matter with the sound now; empty is nothing.
	// It is asked with every picture and must not wait.
	Sound func() string
	// News are sentences that come up while the screen is there, about the disk.
	News <-chan string

	// Redress, if any, is told of the dress chosen with N: the toolkit's theme
	// and the settings are the caller's.
	Redress func(theme.Tokens)
	// Leave, if any, is what Escape does while nothing runs, and Fill what F does:
	// the whole display, or a window again.
	Leave func()
	Fill  func()
}

// Screen is the timer on a window.
type Screen struct {
	o       Options
	driver  *driver
	surface *surface
	view    *view
	fleet   []Aeroplane
	dress   int
	page    page
	paged   where       // where the page was opened
	entry   *entry      // what is being typed; nil when nothing is
	typing  atomic.Bool // entry is not nil
	direct  atomic.Bool // the space key comes stamped from the display server
	heard   atomic.Bool // and has come once
	focused atomic.Bool
	latest  atomic.Pointer[picture]
	pending atomic.Bool
	closed  chan struct{}
}

// New makes the screen and begins to keep time.
func New(o Options) (*Screen, error) {
	s, err := newScreen(o)
	if err != nil {
		return nil, err
	}
	s.driver.start()
	if o.News != nil {
		go s.listen(o.News)
	}
	return s, nil
}

// listen shows what comes up, until the screen is closed.
func (s *Screen) listen(news <-chan string) {
	for {
		select {
		case n, more := <-news:
			if !more {
				return
			}
			s.Notice(n)
		case <-s.closed:
			return
		}
	}
}

// newScreen is a screen whose driver does not run yet.
func newScreen(o Options) (*Screen, error) {
	if o.Dress.Name == "" {
		o.Dress = theme.Dusk
	}
	if o.Ledger == nil {
		o.Ledger = newUnkept(o.Library)
	}
	if o.Library == nil || o.Library.Aircraft == nil {
		return nil, fmt.Errorf("timer: no aircraft was given")
	}
	if o.Registration == "" {
		o.Registration = string(o.Library.Aircraft.ID)
	}
	here := Aeroplane{o.Library, o.Registration}
	m, err := newMachine(here, o.Ledger, o.Latch, o.Celsius, o.AltitudeM, o.Notes)
	if err != nil {
		return nil, err
	}
	s := &Screen{o: o, fleet: o.Fleet, closed: make(chan struct{})}
	for i, d := range theme.All() {
		if d.Name == o.Dress.Name {
			s.dress = i
		}
	}
	s.view = newView(o.Dress)
	s.view.units = o.Units
	s.surface = newSurface(s)
	s.driver = newDriver(m, o, s.direct.Load, s.publish)
	s.latest.Store(s.driver.first())
	s.again()
	return s, nil
}

// Content is what goes into the window. It wants all of it.
func (s *Screen) Content() fyne.CanvasObject { return s.surface }

// Focus gives the screen the keyboard of its window.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.surface) }

// Close ends the screen: what could still be undone is settled and handed to the
// ledger and the records, and the display is let go.
func (s *Screen) Close() {
	select {
	case <-s.closed:
	default:
		close(s.closed)
	}
	s.driver.close()
}

// Notice shows a sentence about something that is not working, as the disk; empty
// takes it away. It may be called from any goroutine.
func (s *Screen) Notice(text string) { s.driver.notice(text) }

// publish is called by the driver with what is to be shown.
func (s *Screen) publish(p *picture) {
	s.latest.Store(p)
	if s.pending.CompareAndSwap(false, true) {
		fyne.Do(func() {
			s.pending.Store(false)
			s.show(s.latest.Load())
		})
	}
}

func (s *Screen) show(p *picture) {
	s.turn(p)
	if s.view.show(p, s.leaf(p)) {
		s.surface.Refresh()
	}
}

// again shows the latest once more, after something of the screen's own changed.
func (s *Screen) again() { s.show(s.latest.Load()) }

// nextDress goes from dusk to day to night.
func (s *Screen) nextDress() {
	all := theme.All()
	s.dress = (s.dress + 1) % len(all)
	if s.o.Redress != nil {
		s.o.Redress(all[s.dress])
	}
	s.view.redress(all[s.dress])
	s.again()
	s.surface.Refresh()
}

func (s *Screen) night() bool { return theme.All()[s.dress].Name == theme.Night.Name }

// key is a key that is not the button.
func (s *Screen) key(k fyne.KeyName) {
	switch k {
	case fyne.KeyN:
		s.nextDress()
	case fyne.KeyU:
		s.driver.send(timer.Event{Kind: timer.Undo})
	case fyne.KeyH, fyne.KeyF1:
		s.open(helpPage)
	case fyne.KeyA:
		s.open(fleetPage)
	case fyne.KeyC:
		s.open(airPage)
	case fyne.KeyM:
		s.driver.send(timer.Event{Kind: timer.PrimeBy, Latch: !s.latest.Load().Latch})
	case fyne.KeyF:
		if s.o.Fill != nil {
			s.o.Fill()
		}
	case fyne.KeyUp:
		s.driver.warmer(1)
	case fyne.KeyDown:
		s.driver.warmer(-1)
	case fyne.KeyRight:
		s.driver.higher(50)
	case fyne.KeyLeft:
		s.driver.higher(-50)
	case fyne.KeyPageUp:
		s.driver.longer(true)
	case fyne.KeyPageDown:
		s.driver.longer(false)
	case fyne.KeyEscape:
		s.escape()
	default:
		if len(k) == 1 && k[0] >= '1' && k[0] <= '9' {
			s.choose(int(k[0] - '1'))
		}
	}
}

func (s *Screen) escape() {
	switch p := s.latest.Load(); {
	case s.entry != nil:
		s.stopTyping()
		s.again()
	case s.page != noPage:
		s.open(s.page) // again closes it
	case s.o.Leave != nil && mayLeave(p.State):
		s.o.Leave()
	}
}

// mayLeave reports whether nothing is lost or missed by leaving: a rest goes on in
// the ledger.
func mayLeave(s timer.State) bool {
	switch s {
	case timer.Ready, timer.Setting, timer.Looking, timer.Listening, timer.Armed, timer.Resting, timer.Thinking, timer.Quiet, timer.Noting:
		return true
	}
	return false
}

// choose takes the aeroplane, the note or the situation of a number, whichever is
// shown.
func (s *Screen) choose(i int) {
	switch p := s.latest.Load(); {
	case s.page == fleetPage:
		s.board(i)
	case p.State == timer.Noting && i < len(p.Notes):
		s.driver.send(timer.Event{Kind: timer.Note, Text: p.Notes[i]})
	case p.State != timer.Noting && i < len(p.Flows):
		s.driver.send(timer.Event{Kind: timer.Choose, Flow: p.Flows[i].ID})
	}
}
