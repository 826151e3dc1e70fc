package classroom

import (
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
)

// This file is who is let into the class, and who is cut off from it.

const (
	stationsLimit = 2000
	strikesLimit  = 3  // small misdeeds, after which a station is cut off
	notesLimit    = 50 // lines about one station in the class's log
)

// ErrCut is a station that was cut off.
var ErrCut = errors.New("this station was cut off from the class: ask the instructor")

// Admit decides whether a station may connect.
func (i *Instructor) Admit(c Caller) error {
	if !plainID(string(c.Station)) || len(c.Secret) < 20 || len(c.Secret) > 100 {
		return errMalformed
	}
	sum := sha256.Sum256([]byte(c.Secret))
	i.joining.Lock()
	defer i.joining.Unlock()
	i.mu.Lock()
	if st := i.stations[c.Station]; st != nil {
		defer i.mu.Unlock()
		switch {
		case subtle.ConstantTimeCompare(sum[:], st.Secret) != 1:
			// Somebody takes himself for another: as bad as a wrong code.
			return i.door.knock(i.Time(), c.Address, "")
		case st.Cut != "":
			return ErrCut
		}
		return nil
	}
	err := i.door.knock(i.Time(), c.Address, c.Code)
	number := len(i.stations) + 1
	i.mu.Unlock()
	switch {
	case err != nil:
		return err
	case number > stationsLimit:
		return ErrShut
	}
	booked := bookedStation{ID: c.Station, Number: number, Secret: sum[:]}
	if err := i.book.putStation(booked); err != nil {
		i.tell("A station could not join, since the class's file cannot be written: " + err.Error())
		return err
	}
	i.mu.Lock()
	i.stations[c.Station] = &seated{bookedStation: booked}
	i.board.Join(c.Station, number, "")
	i.mu.Unlock()
	return nil
}

// plainID reports whether an identifier can be part of a subject.
func plainID(s string) bool {
	if len(s) < 16 || len(s) > 40 {
		return false
	}
	for _, r := range s {
		if (r < 'A' || r > 'Z') && (r < '0' || r > '9') {
			return false
		}
	}
	return true
}

// Here notes that a station is connected.
func (i *Instructor) Here(s StationID) { i.connected(s, true) }

// Gone notes that it no longer is.
func (i *Instructor) Gone(s StationID) { i.connected(s, false) }

func (i *Instructor) connected(s StationID, here bool) {
	i.mu.Lock()
	i.board.Connected(s, here, i.Time())
	i.mu.Unlock()
	i.o.Changed()
}

// Misbehaved notes what a station tried, and cuts it off when that was grave or
// is not the first time.
func (i *Instructor) Misbehaved(s StationID, what string, grave bool) {
	i.mu.Lock()
	st := i.stations[s]
	if st == nil {
		i.mu.Unlock()
		return
	}
	st.strikes++
	st.noted++
	cut, write := grave || st.strikes >= strikesLimit, st.noted <= notesLimit
	i.mu.Unlock()
	if write {
		if err := i.book.note(i.o.Now(), s, what); err != nil {
			i.tell("The class's log cannot be written: " + err.Error())
		}
	}
	if cut {
		i.CutOff(s, what)
	}
}

// CutOff ends a station's part in the class.
func (i *Instructor) CutOff(s StationID, why string) {
	i.mu.Lock()
	st, room := i.stations[s], i.room
	if st == nil || st.Cut != "" {
		i.mu.Unlock()
		return
	}
	st.Cut = why
	booked := st.bookedStation
	i.board.Trouble(s, why)
	i.mu.Unlock()
	if room != nil {
		room.CutOff(s)
	}
	if err := errors.Join(i.book.putStation(booked), i.book.note(i.o.Now(), s, "cut off: "+why)); err != nil {
		i.tell("A station was cut off, but that could not be stored: " + err.Error())
	}
	i.tell(fmt.Sprintf("Station %d was cut off: it %s. The class goes on.", booked.Number, why))
}

// Readmit lets a station back that was cut off.
func (i *Instructor) Readmit(s StationID) error {
	i.mu.Lock()
	st := i.stations[s]
	if st == nil {
		i.mu.Unlock()
		return errors.New("there is no such station")
	}
	st.Cut, st.strikes = "", 0
	i.board.row(s).Trouble = ""
	booked := st.bookedStation
	i.mu.Unlock()
	i.o.Changed()
	return i.book.putStation(booked)
}
