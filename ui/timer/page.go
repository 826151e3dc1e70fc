package timer

import (
	"slices"

	"fyne.io/fyne/v2"

	"kickover/procedure/timer"
)

// page is what may be opened in the clock's place while nothing is timed.
type page string

const (
	noPage    page = ""
	helpPage  page = "help"
	airPage   page = "air"   // the air and the last shutdown, or the record of a start
	fleetPage page = "fleet" // which aeroplane
)

// open opens a page, or closes it when it is open.
func (s *Screen) open(p page) {
	if s.page == p {
		p = noPage
	}
	s.page, s.paged = p, whereOf(s.latest.Load())
	s.again()
}

// where is how far the button has come: the state, and in that of the look around
// the looks.
type where struct {
	state timer.State
	looks int
}

func whereOf(p *picture) where {
	w := where{state: p.State}
	if p.Area != nil {
		w.looks = p.Area.Looks
	}
	return w
}

// clockFirst reports whether no page may cover the clock, by which a hand lets go.
func clockFirst(s timer.State) bool { return s == timer.Priming || s == timer.Cranking }

// turn closes a page that has no place beside what is shown now: a clock comes
// first, and so does each look around, which a press is to answer and not to pass.
func (s *Screen) turn(p *picture) {
	idle := p.State == timer.Ready || p.State == timer.Quiet || p.State == timer.Noting
	switch {
	case s.page == helpPage && (clockFirst(p.State) || s.paged != whereOf(p)):
		s.page = noPage
	case s.page == fleetPage && (p.State != timer.Ready || s.o.Board == nil), s.page == airPage && !idle:
		s.page = noPage
	}
	if s.entry != nil && !idle {
		s.stopTyping()
	}
}

// leaf is what the view is to show beside the picture.
func (s *Screen) leaf(p *picture) leaf {
	l := leaf{page: s.page, direct: s.direct.Load(), many: s.o.Board != nil, free: mayLeave(p.State) && s.entry == nil}
	if p.State == timer.Noting && l.page == noPage {
		l.page = airPage
	}
	if l.page == fleetPage {
		for i, a := range s.fleet {
			l.fleet = append(l.fleet, a.Title()+"\t"+a.Library.Aircraft.Name)
			if a.is(p.Aeroplane) {
				l.boarded = i
			}
		}
	}
	if s.entry != nil {
		l.typing, l.asked, l.typed = true, s.entry.asked, string(s.entry.text)
	}
	return l
}

// board changes to an aeroplane of the list.
func (s *Screen) board(i int) {
	if i < len(s.fleet) {
		s.driver.board(s.fleet[i])
		s.open(fleetPage)
	}
}

// boardNew changes to a registration that was typed, of the aircraft that is
// shown.
func (s *Screen) boardNew(typed string) {
	registration, err := Registration(typed)
	if err != nil || registration == "" { // no more can be typed than it may have
		return
	}
	a := Aeroplane{s.latest.Load().Aeroplane.Library, registration}
	if i := slices.IndexFunc(s.fleet, a.is); i >= 0 {
		s.board(i)
		return
	}
	s.fleet = append([]Aeroplane{a}, s.fleet...)
	s.board(0)
}

// act does what the plate under the pointer says.
func (s *Screen) act(p plate) {
	switch p.does {
	case doesChoose:
		s.choose(p.number)
	case doesBoard:
		s.board(p.number)
	case doesType:
		s.startTyping()
	case doesAir:
		s.open(airPage)
	case doesFleet:
		s.open(fleetPage)
	case doesHelp:
		s.open(helpPage)
	case doesDress:
		s.nextDress()
	case doesUndo:
		s.key(fyne.KeyU)
	case doesEscape:
		s.escape()
	case doesFill:
		s.key(fyne.KeyF)
	case doesPrime:
		s.key(fyne.KeyM)
	case doesWarmer:
		s.driver.warmer(float64(p.number))
	case doesHigher:
		s.driver.higher(float64(p.number) * 50)
	case doesLonger:
		s.driver.longer(p.number > 0)
	}
}

// entry is a line being typed: while there is one, keys are letters.
type entry struct {
	asked   string
	text    []rune
	longest int
	done    func(string)
}

const longestNote = 120

// startTyping asks for a note, or on the page of aeroplanes for a registration.
func (s *Screen) startTyping() {
	p := s.latest.Load()
	switch {
	case s.page == fleetPage:
		s.entry = &entry{
			asked:   "Registration of the " + p.Aeroplane.Library.Aircraft.Name,
			longest: longestRegistration,
			done:    s.boardNew,
		}
	case p.State == timer.Quiet || p.State == timer.Noting:
		e := &entry{asked: "A note on this start", longest: longestNote, done: func(text string) {
			s.driver.send(timer.Event{Kind: timer.Note, Text: text})
		}}
		if p.Record != nil {
			e.text = []rune(p.Record.Note)
		}
		s.entry = e
	default:
		return
	}
	s.typing.Store(true)
	s.again()
}

func (s *Screen) stopTyping() {
	s.entry = nil
	s.typing.Store(false)
}

// finishTyping keeps what was typed.
func (s *Screen) finishTyping() {
	e := s.entry
	s.stopTyping()
	e.done(string(e.text))
	s.again()
}

// typedRune is a letter, or the wish to type.
func (s *Screen) typedRune(r rune) {
	switch {
	case s.entry == nil && (r == 't' || r == 'T'):
		s.startTyping()
	case s.entry != nil && r >= ' ' && len(s.entry.text) < s.entry.longest:
		s.entry.text = append(s.entry.text, r)
		s.again()
	}
}

// typedKey is a key that is no letter, while something is typed.
func (s *Screen) typedKey(k fyne.KeyName) {
	switch {
	case s.entry == nil:
	case k == fyne.KeyBackspace && len(s.entry.text) > 0:
		s.entry.text = s.entry.text[:len(s.entry.text)-1]
		s.again()
	case k == fyne.KeyReturn, k == fyne.KeyEnter:
		s.finishTyping()
	case k == fyne.KeyEscape:
		s.escape()
	}
}
