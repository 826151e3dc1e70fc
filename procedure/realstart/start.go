package realstart

import (
	"math"
	"strings"
	"time"

	"kickover/procedure"
)

// Caution stands in every row that leaves the program.
const Caution = "practice note, not a maintenance record"

// Start is one real start: a set of attempts that ended with a running engine,
// or without one.
type Start struct {
	ID            string
	Registration  string
	Aircraft      procedure.AircraftID
	At            time.Time // UTC, of the first prime or attempt
	Situation     string    // cold, warm, hot, flooded: the flow of the last attempt
	OATCelsius    float64   // NaN when not known
	AltitudeM     float64   // pressure altitude; NaN when not known
	SinceShutdown time.Duration
	ShutdownKnown bool // else SinceShutdown says nothing
	Prime         time.Duration
	Attempts      int
	Outcome       procedure.Outcome // Started or NotStarted
	Note          string
}

// tidy brings a start into the form in which it is kept: whole milliseconds, UTC,
// lines ended by a line feed.
func (s Start) tidy() Start {
	s.At = s.At.UTC().Truncate(time.Millisecond).Round(0)
	s.Prime = s.Prime.Round(time.Millisecond)
	s.SinceShutdown = s.SinceShutdown.Round(time.Second)
	if !s.ShutdownKnown {
		s.SinceShutdown = 0
	}
	lines := strings.NewReplacer("\r\n", "\n", "\r", "\n") // CSV keeps no return of its own
	for _, text := range []*string{&s.ID, &s.Registration, (*string)(&s.Aircraft), &s.Situation, &s.Note} {
		*text = lines.Replace(*text)
	}
	return s
}

// same compares two starts; not known is the same as not known.
func (s Start) same(o Start) bool {
	number := func(x float64) float64 {
		if math.IsNaN(x) {
			return math.MaxFloat64
		}
		return x
	}
	s.OATCelsius, o.OATCelsius = number(s.OATCelsius), number(o.OATCelsius)
	s.AltitudeM, o.AltitudeM = number(s.AltitudeM), number(o.AltitudeM)
	return s == o
}
