package ui

import (
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/ui/home"
	"kickover/ui/review"
	"kickover/ui/runs"
	"kickover/ui/theme"
	"kickover/ui/timer"
)

// Options are what the window works with.
type Options struct {
	Libraries []*procedure.Library
	Dress     theme.Tokens
	Seed      uint64 // of surprises; 0 is another one each time
	Demo      bool   // begin with the demonstration of the first flow
	Begin     func(home.Chosen) (Session, error)
	Replay    func(id string) (Session, error)
	Past      func(after string, limit int) ([]runs.Past, error)
	Open      func(id string) (review.Debriefing, error)
	Starts    func() ([]realstart.Start, error)                  // the real starts that the timer kept
	Timer     func() (o timer.Options, closed func(), err error) // opens what the cockpit timer works with
	Class     *ClassOptions                                      // nil has no class
	Records   Records                                            // of people and of many runs
	Settings  Settings                                           // what the person has chosen
	Painted   func()                                             // called once, when the first frame has been shown
}

// shell is the window with the screen that is shown.
type shell struct {
	o      Options
	window fyne.Window
	header *header
	home   *home.Screen    // nil until it is first shown
	chosen *home.Selection // how home stood before it was made anew
	class  *class          // nil until it is first shown
	leave  func()          // what must be ended before another screen is shown
	back   func()          // where Escape leads; nil is home

	where   string               // the screen that is shown
	whole   bool                 // it has the window to itself: a run, or the timer
	flying  *procedure.Aircraft  // whose levers a run is flown with
	pause   func() (goOn func()) // stops what runs while help is read; nil when nothing does
	helping func()               // takes the help away; nil while none is shown

	working sync.WaitGroup // what must be done before the program ends

	shown   bool // the window is on the screen
	waiting []func()
}

// Run fills the window and returns when it is closed.
func Run(f *Frame, o Options) {
	f.measure()
	s := &shell{o: o, window: f.window}
	s.dress()
	end := endOf(s.window, func() {
		s.end()
		s.closeClass()
	})
	end.hide = func() {
		s.rememberPlace()
		s.window.Hide()
	}
	if o.Demo {
		s.begin(demonstration(o.Libraries[0]))
	} else if o.Class != nil && (o.Class.First || o.Class.Join != nil) {
		s.showClass()
	} else if len(o.Settings.Notices) > 0 {
		s.showSettings() // which says what became of them
	} else if o.Settings.First {
		s.showWelcome()
	} else {
		s.showFor(o.Settings.Now().Who)
	}
	s.putBack()
	f.app.Lifecycle().SetOnStarted(s.started)
	f.fill(end)
	s.working.Wait()
}

// end leaves what is under way.
func (s *shell) end() {
	if s.leave != nil {
		leave := s.leave
		s.leave = nil
		leave()
	}
	s.closeHelp()
	s.pause, s.flying, s.back = nil, nil, nil
	s.window.Canvas().SetOnTypedRune(s.rune)
}

// page shows a screen below the header.
func (s *shell) page(title string, content fyne.CanvasObject, focus func(fyne.Window)) {
	s.end()
	for _, over := range s.window.Canvas().Overlays().List() {
		s.window.Canvas().Overlays().Remove(over) // a slip belongs to the page it was laid on
	}
	s.where, s.whole = title, false
	s.header.at(title)
	s.header.aside.Text = s.classSays(title)
	s.put(s.header.over(content))
	focus(s.window)
}

// wholly gives the window to a screen without a frame.
func (s *shell) wholly(title string, content fyne.CanvasObject, focus func(fyne.Window)) {
	s.where, s.whole = title, true
	s.put(content)
	focus(s.window)
}

// put fills the window, and has what filled it before let go of its pictures.
func (s *shell) put(content fyne.CanvasObject) {
	before := s.window.Content()
	s.window.SetContent(content)
	shown := picturesIn(content)
	for p := range picturesIn(before) {
		if !shown[p] {
			p.Free()
		}
	}
	for p := range shown {
		p.Resize(p.Size()) // the toolkit does not, where it is the size that it was
	}
}

// pictured is an object that holds large pictures. Let go of them, it has them anew
// when it is given its size.
type pictured interface {
	fyne.CanvasObject
	Free()
}

func picturesIn(o fyne.CanvasObject) map[pictured]bool {
	found := map[pictured]bool{}
	var look func(fyne.CanvasObject)
	look = func(o fyne.CanvasObject) {
		if p, ok := o.(pictured); ok {
			found[p] = true
		}
		switch c := o.(type) {
		case *fyne.Container:
			for _, inside := range c.Objects {
				look(inside)
			}
		case *container.Scroll: // as a page below the header is
			look(c.Content)
		}
	}
	look(o)
	return found
}

// whenShown does something now, or once the window is on the screen.
func (s *shell) whenShown(do func()) {
	if s.shown {
		do()
		return
	}
	s.waiting = append(s.waiting, do)
}

func (s *shell) started() {
	s.shown = true
	for _, do := range s.waiting {
		do()
	}
	s.waiting = nil
	if s.o.Painted != nil {
		s.o.Painted()
	}
}
