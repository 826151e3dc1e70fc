package record

import (
	"crypto/rand"
	"time"

	"kickover/procedure"
)

// Format is the version of what a run's events mean. It is raised when an event
// kind changes its meaning, so that an old run is never read as a new one.
const Format = 1

// Header is what a run began with: with the events, all that a replay needs.
type Header struct {
	ID         string    // unguessable; Begin makes one when it is empty
	Format     int       // Begin fills in the present one
	Started    time.Time // wall clock; stored in UTC, to the nanosecond
	Program    string    // version of the program
	Aircraft   procedure.AircraftID
	Flow       procedure.FlowID
	FlowHash   string // SHA-256 of the flow's file, hex
	Phase      procedure.Phase
	Panel      string // variant of the panel; empty is the standard one
	Conditions Conditions
	Faults     []string
	Seed       uint64
	Step       time.Duration // of the simulation
	Person     string        // id of whose run it is; empty when it is nobody's
}

// Conditions are what the aeroplane was like when the run began.
type Conditions struct {
	OATCelsius    float64
	PressureAltM  float64
	SinceShutdown time.Duration
	BatteryCharge float64 // 0 to 1
	Hidden        bool    // the student was not shown them
}

// Summary is what a run came to. It follows from the events and may be written
// again when the way it is computed changes.
type Summary struct {
	Outcome  procedure.Outcome
	Prime    time.Duration // how long fuel was primed, all holds together
	Attempts int
	Unsafe   int // breaches
	Duration time.Duration
	Running  bool   // the engine ran at the end, safely or not
	Steps    []Step // in the order of the flow; given by [Store.History] and [Store.Listing], not by lists
}

// NewID makes an identifier for a run: 130 random bits in 26 letters and digits,
// so that knowing one run's tells nothing of another's.
func NewID() string { return rand.Text() }

// prepared gives the header as it is stored.
func (h Header) prepared() Header {
	if h.ID == "" {
		h.ID = NewID()
	}
	if h.Format == 0 {
		h.Format = Format
	}
	h.Started = h.Started.UTC().Round(0)
	h.Faults = append([]string{}, h.Faults...)
	return h
}
