package timer

import (
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/procedure/starter"
	"kickover/procedure/timer"
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
	Library      *procedure.Library
	Registration string  // of the aircraft; empty shows its id
	Celsius      float64 // outside air; NaN when not known
	AltitudeM    float64 // pressure altitude; NaN when not known
	Latch        bool    // prime by press and press

	Notes   []string // offered for a start's record; nil is timer.DefaultNotes
	Notices []string // sentences about what does not work, besides the ledger's own

	Ledger  Ledger  // nil: kept in memory, and said so
	Records Records // nil: starts are not kept
	Voice   Voice   // nil: captions only
	Display Display // nil: the display is left alone

	// Redress, if any, is told of the dress chosen with N: the toolkit's theme
	// and the settings are the caller's.
	Redress func(theme.Tokens)
	// Leave, if any, is what Escape does while nothing runs.
	Leave func()
}

// Screen is the timer on a window.
type Screen struct {
	o       Options
	driver  *driver
	surface *surface
	view    *view
	dress   int
	help    bool
	direct  atomic.Bool // the space key comes stamped from the display server
	focused atomic.Bool
	latest  atomic.Pointer[picture]
	pending atomic.Bool
}

// New makes the screen and begins to keep time.
func New(o Options) (*Screen, error) {
	s, err := newScreen(o)
	if err != nil {
		return nil, err
	}
	s.driver.start()
	return s, nil
}

// newScreen is a screen whose driver does not run yet.
func newScreen(o Options) (*Screen, error) {
	if o.Dress.Name == "" {
		o.Dress = theme.Dusk
	}
	if o.Ledger == nil {
		o.Ledger = newUnkept(o.Library)
	}
	shutdown, known := o.Ledger.Shutdown()
	m, err := timer.New(timer.Setup{
		Library: o.Library, Ledger: o.Ledger.Ledger(), Shutdown: shutdown, ShutdownKnown: known,
		Latch: o.Latch, Celsius: o.Celsius, Notes: o.Notes,
	})
	if err != nil {
		return nil, err
	}
	if o.Registration == "" {
		o.Registration = string(o.Library.Aircraft.ID)
	}
	s := &Screen{o: o}
	for i, d := range theme.All() {
		if d.Name == o.Dress.Name {
			s.dress = i
		}
	}
	s.view = newView(o.Dress, o.Registration)
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
func (s *Screen) Close() { s.driver.close() }

// Notice shows a sentence about something that is not working, as the sound or
// the disk; empty takes it away. It may be called from any goroutine.
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
	if s.view.show(p, s.help, s.direct.Load()) {
		s.surface.Refresh()
	}
}

// again shows the latest once more, after something of the screen's own changed.
func (s *Screen) again() { s.show(s.latest.Load()) }

// nextDress goes from dusk to day to night.
func (s *Screen) nextDress() {
	all := theme.All()
	s.dress = (s.dress + 1) % len(all)
	s.view.redress(all[s.dress])
	s.again()
	s.surface.Refresh()
	if s.o.Redress != nil {
		s.o.Redress(all[s.dress])
	}
}

// key is a key that is not the button.
func (s *Screen) key(k fyne.KeyName) {
	switch k {
	case fyne.KeyN:
		s.nextDress()
	case fyne.KeyU:
		s.driver.send(timer.Event{Kind: timer.Undo})
	case fyne.KeyH:
		s.help = !s.help
		s.again()
	case fyne.KeyM:
		s.driver.send(timer.Event{Kind: timer.PrimeBy, Latch: !s.latest.Load().Latch})
	case fyne.KeyUp:
		s.driver.warmer(1)
	case fyne.KeyDown:
		s.driver.warmer(-1)
	case fyne.KeyRight:
		s.driver.higher(50)
	case fyne.KeyLeft:
		s.driver.higher(-50)
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
	case s.help:
		s.help = false
		s.again()
	case s.o.Leave != nil && (p.State == timer.Ready || p.State == timer.Quiet):
		s.o.Leave()
	}
}

func (s *Screen) choose(i int) {
	if flows := s.latest.Load().Flows; i < len(flows) {
		s.driver.send(timer.Event{Kind: timer.Choose, Flow: flows[i].ID})
	}
}
