// Package simulated has stations without a student, for tests and for
// measuring: a [Seat] moves a lever and writes invented run events that can be
// known again from the run's id, so that what arrived can be compared with what
// was sent.
package simulated

import (
	"context"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
)

// Seat is a classroom.Seat. Set the fields, give it to classroom.Join, then
// call Sit.
type Seat struct {
	Events int           // in a run
	Burst  int           // of them at once at its beginning
	Every  time.Duration // between two others; zero is all at once
	// Rest, if any, holds the second half of the events back until it is closed.
	Rest <-chan struct{}
	// Lives is how long the lever goes on moving after the last event, thirty
	// times a second; the run ends then.
	Lives time.Duration
	// Stamp makes a position carry the wall clock's nanoseconds as its time of
	// the run, so that the way to the board can be timed.
	Stamp bool
	// Goes, if any, is told when a drill is to begin, by the station's clock.
	Goes func(a classroom.Assignment, at time.Duration)
	// Began, if any, is told when a run begins, with the station's clock.
	Began func(a classroom.Assignment, run classroom.RunID)
	// Carried, if any, is told of orders.
	Carried func(classroom.Order)
	// Told, if any, is told that the station's status is another.
	Told func()
	// Stop ends all runs.
	Stop context.Context

	mu      sync.Mutex // guards what follows
	station *classroom.Station
	working sync.WaitGroup
}

// Sit tells the seat which station it is at.
func (s *Seat) Sit(st *classroom.Station) {
	s.mu.Lock()
	s.station = st
	s.mu.Unlock()
}

// Wait waits until no run goes on.
func (s *Seat) Wait() { s.working.Wait() }

// Announced implements classroom.Seat.
func (s *Seat) Announced(classroom.Assignment) {}

// Going implements classroom.Seat.
func (s *Seat) Going(a classroom.Assignment, at time.Duration) {
	if s.Goes != nil {
		s.Goes(a, at)
	}
}

// Begin implements classroom.Seat.
func (s *Seat) Begin(a classroom.Assignment, r *classroom.Recorder) {
	if s.Began != nil {
		s.Began(a, r.Run())
	}
	s.working.Go(func() { s.fly(a, r) })
}

// Carry implements classroom.Seat.
func (s *Seat) Carry(o classroom.Order) {
	if s.Carried != nil {
		s.Carried(o)
	}
}

// Pause implements classroom.Seat.
func (s *Seat) Pause(bool) {}

// Over implements classroom.Seat.
func (s *Seat) Over() {}

// Changed implements classroom.Seat.
func (s *Seat) Changed() {
	if s.Told != nil {
		s.Told()
	}
}

// showEvery is how often a cockpit publishes.
const showEvery = time.Second / 30

func (s *Seat) fly(a classroom.Assignment, r *classroom.Recorder) {
	defer r.End()
	s.mu.Lock()
	station := s.station
	s.mu.Unlock()
	events := Events(r.Run(), s.Events)
	begun := time.Now()
	show := time.NewTicker(showEvery)
	defer show.Stop()
	for n := 0; n < len(events) || time.Since(begun) < s.Lives; {
		for n < len(events) && (n < len(events)/2 || s.goesOn()) && (s.Every == 0 || n < s.Burst || time.Since(begun) >= time.Duration(n-s.Burst)*s.Every) {
			r.Append(events[n])
			n++
		}
		if station != nil {
			at := time.Since(begun)
			if s.Stamp {
				at = time.Duration(time.Now().UnixNano())
			}
			station.Show(snapshot(a, at, time.Since(begun).Seconds()))
		}
		select {
		case <-show.C:
		case <-s.Stop.Done():
			return
		}
	}
}

func (s *Seat) goesOn() bool {
	select {
	case <-s.Rest:
		return true
	default:
		return s.Rest == nil
	}
}

// snapshot is of the size of a real one.
func snapshot(a classroom.Assignment, at time.Duration, position float64) *rehearsal.Snapshot {
	craft := a.Options.Library.Aircraft
	s := &rehearsal.Snapshot{At: at, Aircraft: craft, Positions: make([]procedure.Position, len(craft.Controls)), Readings: make([]float64, len(craft.Instruments))}
	for i := range s.Positions {
		s.Positions[i] = procedure.Position(position)
	}
	for i := range s.Readings {
		s.Readings[i] = math.Sqrt(float64(i) + position)
	}
	return s
}

var kinds = [...]procedure.EventKind{procedure.EventMove, procedure.EventReading, procedure.EventLook, procedure.EventSignal, procedure.EventReport}

// Events are the first n events of a run, invented from its id: every value of
// every bit, not-a-number among them.
func Events(run classroom.RunID, n int) []procedure.Event {
	h := fnv.New64a()
	h.Write([]byte(run))
	rng := rand.New(rand.NewPCG(h.Sum64(), 1))
	out := make([]procedure.Event, n)
	at := time.Duration(0)
	for i := range out {
		at += time.Duration(rng.IntN(int(time.Second)))
		out[i] = procedure.Event{Seq: i + 1, At: at, Kind: kinds[rng.IntN(len(kinds))], Subject: "mixture", Value: math.Float64frombits(rng.Uint64())}
		if rng.IntN(10) == 0 {
			out[i].Text = "„ä“ \\ \" \n"
		}
	}
	return out
}

// Same reports whether two lists of events are one to the bit.
func Same(a, b []procedure.Event) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		x, y := a[i], b[i]
		if math.Float64bits(x.Value) != math.Float64bits(y.Value) {
			return false
		}
		if x.Value, y.Value = 0, 0; x != y {
			return false
		}
	}
	return true
}
