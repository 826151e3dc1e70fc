package classroom

import (
	"errors"
	"slices"
	"time"
)

// How the door is kept. At 20 tries in a code's life somebody who guesses gets
// in once in 50,000 codes.
const (
	codeLife        = 15 * time.Minute // a code is good for so long, then the projector shows another
	wrongPerAddress = 6                // wrong tries from one address before it has to wait; a station makes two for each code that is typed
	codesKept       = 8                // that were good before: of two hours, in which nobody is told that he typed wrongly
	wrongPerCode    = 20               // wrong tries from everywhere before the code is changed
	addressWait     = time.Minute
	addressesKept   = 1024
)

// Why somebody was not let in.
var (
	ErrWrongCode = errors.New("the code is wrong or has changed: look at the projector again")
	ErrOldCode   = errors.New("this code is no longer valid, which happens after a quarter of an hour: type the one that the projector shows now, or ask the instructor for it")
	ErrTooMany   = errors.New("too many wrong codes from this machine: wait a minute, then look at the projector again")
	ErrShut      = errors.New("the class takes nobody new: ask the instructor")
)

// door lets newcomers in who know the code of the moment. Times are class time.
type door struct {
	digits string
	until  time.Duration
	since  time.Duration
	old    []string // codes until this one, the last first: whoever is late types them
	shut   bool
	wrong  int // tries with a wrong code since it was drawn
	peers  map[string]*peer
}

type peer struct {
	wrong int
	since time.Duration
}

func newDoor(now time.Duration) *door {
	d := &door{peers: make(map[string]*peer)}
	d.renew(now)
	return d
}

func (d *door) renew(now time.Duration) {
	if d.digits != "" {
		d.old = append([]string{d.digits}, d.old[:min(len(d.old), codesKept-1)]...)
	}
	for d.digits == "" || slices.Contains(d.old, d.digits) {
		d.digits = newDigits()
	}
	d.since, d.until, d.wrong = now, now+codeLife, 0
}

// turn draws another code when the time of this one is up.
func (d *door) turn(now time.Duration) {
	if now >= d.until {
		d.renew(now)
	}
}

// knock reports whether somebody with this code may come in, nil for yes.
func (d *door) knock(now time.Duration, address, digits string) error {
	d.turn(now)
	p := d.peer(now, address)
	switch {
	case p == nil || p.wrong >= wrongPerAddress:
		return ErrTooMany
	case d.shut:
		return ErrShut
	case sameSecret(digits, d.digits):
		return nil
	case slices.ContainsFunc(d.old, func(o string) bool { return sameSecret(digits, o) }):
		return ErrOldCode // no guess: it was read from the projector
	}
	p.wrong++
	p.since = now
	if d.wrong++; d.wrong >= wrongPerCode {
		d.renew(now)
	}
	return ErrWrongCode
}

// peer gives the account of an address. It is nil when more addresses have been
// wrong of late than a room holds: then nobody new is believed for a while.
func (d *door) peer(now time.Duration, address string) *peer {
	p := d.peers[address]
	if p != nil && now-p.since >= addressWait {
		p.wrong = 0
	}
	if p == nil {
		if len(d.peers) >= addressesKept {
			d.forget(now)
		}
		if len(d.peers) >= addressesKept {
			return nil
		}
		p = &peer{since: now}
		d.peers[address] = p
	}
	return p
}

func (d *door) forget(now time.Duration) {
	for a, p := range d.peers {
		if p.wrong == 0 || now-p.since >= addressWait {
			delete(d.peers, a)
		}
	}
}
