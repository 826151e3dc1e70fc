package timer

import (
	"fmt"
	"strings"
	"unicode"

	"kickover/procedure"
	"kickover/procedure/timer"
)

// Aeroplane is one that may be timed: its flows and limits, and under which
// registration its ledger is kept.
type Aeroplane struct {
	Library      *procedure.Library
	Registration string
}

// longestRegistration leaves room for a name beside the mark. A flight plan has room
// for seven letters (ICAO Doc 4444, item 7).
const longestRegistration = 16

// Registration is what was written for one, without what cannot be seen: what is
// left of nothing is empty. An error says why it is none.
func Registration(written string) (string, error) {
	r := strings.Join(strings.Fields(strings.Map(seen, written)), " ")
	if n := len([]rune(r)); n > longestRegistration {
		return "", fmt.Errorf("a registration has at most %d letters and this has %d: write what is painted on the aeroplane", longestRegistration, n)
	}
	return r, nil
}

// seen leaves out what is neither a space nor printed.
func seen(r rune) rune {
	if unicode.IsSpace(r) || unicode.IsPrint(r) && r != unicode.ReplacementChar {
		return r
	}
	return -1
}

// Title is how a screen names it.
func (a Aeroplane) Title() string {
	if a.Registration == "" || a.Registration == string(a.Library.Aircraft.ID) {
		return a.Library.Aircraft.Name
	}
	return a.Registration
}

// is compares two by what is painted on them.
func (a Aeroplane) is(b Aeroplane) bool {
	return a.Library == b.Library && strings.EqualFold(strings.TrimSpace(a.Registration), strings.TrimSpace(b.Registration))
}

// board changes to another aeroplane and its ledger, while nothing runs. What
// could still be undone of the one that is left is settled first. When the other's
// ledger is in use, all stays as it was and that is said.
func (d *driver) board(a Aeroplane) {
	d.do(func() {
		was := d.machine.View(d.here())
		if a.is(d.aeroplane) || d.o.Board == nil || was.State != timer.Ready {
			return
		}
		begin := func(l Ledger) (*timer.Machine, error) {
			return newMachine(a, l, was.Latch, was.Celsius, was.AltitudeM, d.o.Notes)
		}
		if _, err := begin(newUnkept(a.Library)); err != nil {
			d.add(err.Error())
			return
		}
		d.settle()
		ledger, err := d.o.Board(a)
		if err != nil {
			d.add(err.Error())
			return
		}
		m, err := begin(ledger)
		if err != nil { // its flows were looked at above
			panic(err)
		}
		d.machine, d.ledger, d.aeroplane = m, ledger, a
		d.shift = d.now() - ledger.Now()
		d.boarded++
		d.captions, d.dusty, d.woken, d.timing = captions{}, 0, d.here(), false
		d.notices = nil
		for _, n := range ledger.Notices() {
			d.add(n)
		}
		d.apply(timer.Event{Kind: timer.Tick, At: d.here()})
	})
}

// newMachine begins a machine on an aeroplane's ledger.
func newMachine(a Aeroplane, l Ledger, latch bool, celsius, metres float64, notes []string) (*timer.Machine, error) {
	shutdown, known := l.Shutdown()
	return timer.New(timer.Setup{
		Library: a.Library, Ledger: l.Ledger(), Shutdown: shutdown, ShutdownKnown: known, Ran: l.Ran(),
		Latch: latch, Celsius: celsius, AltitudeM: metres, Notes: notes,
	})
}
