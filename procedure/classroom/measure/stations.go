package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/classroom/simulated"
)

// flown is what a process of stations says at its end.
type flown struct {
	Began  []began
	Taken  []float64     // ms, from handing run events over until the engine had taken them
	Stored []float64     // ms, until the instructor's program said that they are in its file
	Moved  []moved       // a real rehearsal's throttle
	Wait   int           // events that it never said so of
	CPU    time.Duration // of the whole process
	Alive  time.Duration
}

// began is one run that began.
type began struct {
	Run   classroom.RunID
	Meant int64 // when it was to, as this station's clock and its comparisons say: nanoseconds of the wall clock
	At    int64 // the program began it
	Sound int64 // the first sample of "go" left the loudspeaker; zero without
}

// logged gathers what all stations of a process measure.
type logged struct {
	mu sync.Mutex
	flown
}

// wrongClock is a station's clock, an hour off.
type wrongClock struct{ by time.Duration }

var programBegan = time.Now()

func (c wrongClock) Now() time.Duration { return time.Since(programBegan) + c.by }

// wall is when a moment of this clock is.
func (c wrongClock) wall(at time.Duration) time.Time { return programBegan.Add(at - c.by) }

// Tick implements rehearsal.Clock; nobody flies a rehearsal here.
func (c wrongClock) Tick(context.Context, time.Duration) <-chan struct{} { return nil }

// stations is a process of stations: one, or as many as are simulated.
func stations(t trial) error {
	if t.Hands {
		return hands(t)
	}
	code, err := classroom.ParseJoinCode(t.Code)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	var log logged
	var all []*classroom.Station
	var seats []*simulated.Seat
	libs := shipped()
	for n := range t.Simulated {
		id, err := classroom.IdentityFor(filepath.Join(t.Folder, strconv.Itoa(n)), code, t.Addr, "", time.Now())
		if err != nil {
			return err
		}
		if t.Pin != "" {
			id.Fingerprint = t.Pin
		}
		clock := wrongClock{time.Duration((n+os.Getpid())%3-1) * time.Hour}
		seat := &simulated.Seat{Events: t.Events, Burst: t.Burst, Every: t.Every, Lives: t.Flight, Stamp: true, Stop: ctx}
		ears(seat, clock, &log, t.Sound)
		s, err := classroom.Join(id, classroom.StationOptions{Libraries: libs, Seat: seat, Clock: clock}, func(id classroom.Identity, e classroom.Ear) (classroom.Link, error) {
			r := &receipts{Ear: e, sent: map[string]time.Time{}, log: &log}
			link, err := natslink.Dial(id, natslink.Calling{Digits: code.Digits}, r)
			r.Link = link
			return r, err
		})
		if err != nil {
			return err
		}
		seat.Sit(s)
		all, seats = append(all, s), append(seats, seat)
	}
	untilTold()
	for _, s := range seats {
		s.Wait()
	}
	log.Wait = settle(all)
	for _, s := range all {
		s.Close()
	}
	log.mu.Lock()
	defer log.mu.Unlock()
	log.CPU, _ = used()
	log.Alive = time.Since(programBegan)
	return say(log.flown)
}

// ears notes when runs are meant to begin, when they do, and when "go" is heard.
func ears(seat *simulated.Seat, clock wrongClock, log *logged, sound bool) {
	var speaker *loudspeaker
	if sound {
		speaker = newLoudspeaker()
	}
	var meant time.Time // the station's own goroutine tells of both, in this order
	seat.Goes = func(_ classroom.Assignment, at time.Duration) {
		meant = clock.wall(at)
		if speaker != nil {
			speaker.schedule(meant)
		}
	}
	seat.Began = func(_ classroom.Assignment, run classroom.RunID) {
		b := began{Run: run, Meant: meant.UnixNano(), At: time.Now().UnixNano()}
		if speaker == nil {
			log.began(b)
			return
		}
		go func() {
			b.Sound = speaker.heard().UnixNano()
			log.began(b)
		}()
	}
}

func (l *logged) began(b began) {
	l.mu.Lock()
	l.Began = append(l.Began, b)
	l.mu.Unlock()
}

// settle waits until everything is confirmed, and gives what never was.
func settle(all []*classroom.Station) (waiting int) {
	late := time.After(60 * time.Second)
	look := time.NewTicker(50 * time.Millisecond)
	defer look.Stop()
	for {
		waiting = 0
		for _, s := range all {
			waiting += s.Status().Waiting
		}
		if waiting == 0 {
			return 0
		}
		select {
		case <-late:
			return waiting
		case <-look.C:
		}
	}
}

// receipts times the way of run events.
type receipts struct {
	classroom.Link
	classroom.Ear
	log *logged

	mu   sync.Mutex
	sent map[string]time.Time // by run and last sequence number
}

// Close implements classroom.Link.
func (r *receipts) Close() { r.Link.Close() }

// Live implements classroom.Link. It adds when the position was sent.
func (r *receipts) Live(data []byte) error {
	return r.Link.Live(fmt.Appendf(data[:len(data)-1], `,"sent":%d}`, time.Now().UnixNano()))
}

// Append implements classroom.Link.
func (r *receipts) Append(ctx context.Context, data []byte) error {
	var m struct {
		Run    string
		From   int
		Events []json.RawMessage
	}
	begun := time.Now()
	if json.Unmarshal(data, &m) == nil {
		r.mu.Lock()
		r.sent[m.Run+" "+strconv.Itoa(m.From+len(m.Events)-1)] = begun
		r.mu.Unlock()
	}
	err := r.Link.Append(ctx, data)
	if err == nil {
		r.log.mu.Lock()
		r.log.Taken = append(r.log.Taken, milliseconds(time.Since(begun)))
		r.log.mu.Unlock()
	}
	return err
}

// Heard implements classroom.Ear.
func (r *receipts) Heard(data []byte) {
	var n struct {
		Kind string
		Run  string
		Upto int
	}
	if json.Unmarshal(data, &n) == nil && n.Kind == "confirmed" {
		key := n.Run + " " + strconv.Itoa(n.Upto)
		r.mu.Lock()
		at, ok := r.sent[key]
		delete(r.sent, key)
		r.mu.Unlock()
		if ok {
			r.log.mu.Lock()
			r.log.Stored = append(r.log.Stored, milliseconds(time.Since(at)))
			r.log.mu.Unlock()
		}
	}
	r.Ear.Heard(data)
}

func milliseconds(d time.Duration) float64 { return d.Seconds() * 1000 }
