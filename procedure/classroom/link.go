package classroom

import (
	"context"
	"errors"
	"fmt"
	"net"
)

// This file is all that the classroom needs of a messaging engine. Package
// natslink has it over the network; the tests have one in memory.

// Link is a station's end. Its methods may be called from any goroutine.
type Link interface {
	// Live hands over a position that may be lost.
	Live(data []byte) error
	// Append hands over run events; nil means that the engine has taken them
	// into its spool. That the instructor has stored them is heard separately.
	Append(ctx context.Context, data []byte) error
	// Ask puts a question to the instructor's program.
	Ask(ctx context.Context, question []byte) (answer []byte, err error)
	Close()
}

// Ear is what a station's end calls, one call at a time.
type Ear interface {
	Heard(data []byte)     // a message from the instructor
	Trusted(f Fingerprint) // the class's certificate, before the first Up
	Up()                   // connected, also for the first time
	Down(reason error)     // connection lost; it is being tried again
	Refused(why error)     // the instructor's program will not have this station; no more tries
}

// Room is the instructor's end. Its methods may be called from any goroutine
// and do not wait for the network.
type Room interface {
	Broadcast(data []byte) error
	Send(to StationID, data []byte) error
	// CutOff ends a station's connections. Whether it may come back is Host.Admit's to say.
	CutOff(s StationID)
	// Addresses are what a student types, the likeliest first.
	Addresses() []string
	Fingerprint() Fingerprint
	Close() error
}

// Host is what the instructor's end calls, from several goroutines at once.
type Host interface {
	// Admit decides on a connection before anything is taken from it.
	Admit(c Caller) error
	Here(s StationID)
	Gone(s StationID)
	Live(s StationID, data []byte)
	Ask(s StationID, question []byte) (answer []byte)
	// Deliver stores what stations appended. For each parcel the engine may drop
	// the message when Deliver returns nil; on an error it offers all of them again.
	Deliver(parcels []Parcel) error
	// Misbehaved tells what a station tried that an honest one does not; grave
	// is what a broken program does not do by chance either, and ends it at once.
	Misbehaved(s StationID, what string, grave bool)
	// Trouble tells what is the matter with the engine itself, in a sentence; empty
	// is nothing any more. The same again means nothing.
	Trouble(what string)
}

// Caller is who wants to connect.
type Caller struct {
	Station StationID
	Secret  string // the station's own, the same every time
	Code    string // digits of the join code; may be empty for one that was here before
	Address string // of its machine, without the port
}

// Parcel is one message of run events. Station is who sent it, as authenticated
// by the engine: nothing in Data can change that.
type Parcel struct {
	Station StationID
	Data    []byte
}

// PortError is a class that could not be opened since nothing can listen where it
// was to.
type PortError struct {
	Host, Port string
	Taken      bool // by another program
	Free       int  // a port that nobody had a moment ago, 0 for none
	Err        error
}

func (e *PortError) Error() string {
	if e.Taken {
		return fmt.Sprintf("another program has port %s of %s, perhaps a class that is open in another window", e.Port, e.Host)
	}
	return fmt.Sprintf("nothing can listen at %s (%v): this machine may have left that network", net.JoinHostPort(e.Host, e.Port), e.Err)
}

func (e *PortError) Unwrap() error { return e.Err }

// Why a station is not in the class, as its link reports with Down and Refused.
var (
	ErrUntrusted = errors.New("the machine at this address is not the instructor's: its check words are others than those you typed; look at the projector again, and tell the instructor")
	ErrRefused   = errors.New("the class did not let this machine in: the code is wrong or no longer valid, there were too many wrong ones, nobody new is let in, or the instructor cut it off; look at the projector again, or ask the instructor")
)

// ErrAway means there is no connection at the moment.
var ErrAway = errors.New("the instructor's machine cannot be reached at the moment: everything is kept here and delivered later")
