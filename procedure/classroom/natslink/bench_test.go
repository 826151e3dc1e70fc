package natslink_test

import (
	"bufio"
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/classroom/simulated"
)

// The figures of a class: the instructor's program in one process, stations in
// others, over loopback and with TLS. Everybody bursts at "go": 40 run events
// at once, then twenty positions a second. Clocks of every third station are an
// hour wrong. Figures: p50 and p99 from a position handed over on a station to
// the board; p99 from run events handed over to the receipt of the instructor's
// store; p99 of the difference of "go" from the moment it was meant for; and the
// instructor's program's share of a core.
//
// Positions are handed over at most every 45 ms: a lever that moves waits for
// up to that long before the way that is timed here.

const (
	benchFlight = 6 * time.Second
	benchEvents = 40
)

func init() {
	parts["measured instructor"] = measuredInstructor
	parts["measured stations"] = measuredStations
}

func BenchmarkClass(b *testing.B) {
	for _, n := range []int{10, 30, 100, 300, 1000} {
		b.Run(fmt.Sprintf("stations=%d", n), func(b *testing.B) { bench(b, trial{Simulated: n}) })
	}
}

func BenchmarkRealProcesses(b *testing.B) { bench(b, trial{Processes: 30}) }

// Each commit of the store takes 5 ms longer, as on a weak laptop's disk.
func BenchmarkSlowDisk(b *testing.B) {
	for _, n := range []int{30, 300} {
		b.Run(fmt.Sprintf("stations=%d", n), func(b *testing.B) {
			bench(b, trial{Simulated: n, Slower: 5 * time.Millisecond})
		})
	}
}

// The spool flushes each message too: what that costs.
func BenchmarkSpoolFlushed(b *testing.B) { bench(b, trial{Simulated: 300, SyncAlways: true}) }

// One station floods, and is cut off: what the others' positions suffer.
func BenchmarkFlood(b *testing.B) { bench(b, trial{Simulated: 30, Flooded: true}) }

// trial is what is measured.
type trial struct {
	Simulated  int // stations, all in one process
	Processes  int // stations, each in its own
	Slower     time.Duration
	SyncAlways bool
	Flooded    bool
	Folder     string
	Code, Addr string
	Pin        string
}

func (t trial) stations() int { return t.Simulated + t.Processes }

// heardOf is what the instructor's program measured.
type heardOf struct {
	Class, Addr, Code, Pin string        // first
	Go                     int64         // then: nanoseconds of the wall clock
	Way                    []float64     // ms
	CPU                    time.Duration // of the flight
	Flight                 time.Duration
	Memory                 int64 // bytes at the most
}

// flownBy is what a process of stations measured.
type flownBy struct {
	Receipt []float64 // ms
	Began   []int64   // nanoseconds of the wall clock
	Waiting int
}

func bench(b *testing.B, t trial) {
	for range b.N {
		b.StopTimer()
		folder, err := os.MkdirTemp(b.TempDir(), "")
		if err != nil {
			b.Fatal(err)
		}
		t.Folder = folder
		b.StartTimer()
		way, report, began := benchOnce(b, t)
		b.ReportMetric(quantile(way.Way, 0.5), "ms-p50-board")
		b.ReportMetric(quantile(way.Way, 0.99), "ms-p99-board")
		b.ReportMetric(float64(len(way.Way))/way.Flight.Seconds(), "positions/s")
		b.ReportMetric(quantile(report, 0.99), "ms-p99-stored")
		b.ReportMetric(quantile(began, 0.99), "ms-p99-go")
		b.ReportMetric(way.CPU.Seconds()/way.Flight.Seconds(), "core")
		b.ReportMetric(float64(way.Memory)/1e6, "MB")
	}
}

func benchOnce(b *testing.B, t trial) (way heardOf, receipts, began []float64) {
	in := child(b, "measured instructor", t)
	var opened heardOf
	in.read(b, &opened)
	t.Addr, t.Code, t.Pin = opened.Addr, opened.Code, opened.Pin
	var groups []*process
	if t.Simulated > 0 {
		groups = append(groups, child(b, "measured stations", t))
	}
	one := t
	one.Simulated, one.Processes = 1, 0
	for range t.Processes {
		groups = append(groups, child(b, "measured stations", one))
	}
	in.read(b, &way)
	waiting := 0
	for _, g := range groups {
		var f flownBy
		g.finish(b, &f)
		waiting += f.Waiting
		receipts = append(receipts, f.Receipt...)
		for _, at := range f.Began {
			began = append(began, (time.Duration(at-way.Go)).Abs().Seconds()*1000)
		}
	}
	in.finish(b, nil)
	if waiting > 0 || len(began) != t.stations() {
		b.Errorf("%d events were not delivered; %d of %d stations began", waiting, len(began), t.stations())
	}
	_, book, err := classroom.Reopen(t.Folder, opened.Class)
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	whole(b, book, t.stations(), benchEvents)
	return way, receipts, began
}

func quantile(v []float64, p float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	return s[min(len(s)-1, int(p*float64(len(s))))]
}

// process is a part that speaks JSON lines, and ends when its input does.
type process struct {
	in   io.Closer
	out  *json.Decoder
	wait func() error
}

func child(b *testing.B, name string, t trial) *process {
	argument, err := json.Marshal(t)
	if err != nil {
		b.Fatal(err)
	}
	c := play(name, string(argument))
	in, err1 := c.StdinPipe()
	out, err2 := c.StdoutPipe()
	if err := errors.Join(err1, err2, c.Start()); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { c.Process.Kill() })
	return &process{in, json.NewDecoder(bufio.NewReader(out)), c.Wait}
}

func (p *process) read(b *testing.B, v any) {
	b.Helper()
	if err := p.out.Decode(v); err != nil {
		b.Fatal(err)
	}
}

func (p *process) finish(b *testing.B, v any) {
	b.Helper()
	p.in.Close()
	if v != nil {
		p.read(b, v)
	}
	if err := p.wait(); err != nil {
		b.Error(err)
	}
}

// untilTold waits until the input is closed.
func untilTold() { io.Copy(io.Discard, os.Stdin) }

// timed notes when positions came to the board, and makes the store slower.
type timed struct {
	*classroom.Instructor
	slower time.Duration

	mu  sync.Mutex
	way []float64
}

func (h *timed) Live(s classroom.StationID, data []byte) {
	h.Instructor.Live(s, data)
	var l struct{ At int64 }
	if json.Unmarshal(data, &l) != nil || l.At == 0 {
		return
	}
	h.mu.Lock()
	h.way = append(h.way, float64(time.Now().UnixNano()-l.At)/1e6)
	h.mu.Unlock()
}

func (h *timed) Deliver(p []classroom.Parcel) error {
	if h.slower > 0 {
		disk := time.NewTimer(h.slower)
		<-disk.C
	}
	return h.Instructor.Deliver(p)
}

func measuredInstructor(argument string) error {
	var t trial
	if err := json.Unmarshal([]byte(argument), &t); err != nil {
		return err
	}
	c, book, err := classroom.NewClass(t.Folder, "bench", nil, time.Now())
	if err != nil {
		return err
	}
	bell := newBell()
	i, err := classroom.NewInstructor(c, book, classroom.InstructorOptions{Libraries: shipped(), Changed: bell.ring})
	if err != nil {
		return err
	}
	host := &timed{Instructor: i, slower: t.Slower}
	o := options(t.Folder, i, 0)
	o.SyncAlways = t.SyncAlways
	hub, err := natslink.Open(o, host)
	if err != nil {
		return err
	}
	i.Attach(hub)
	f := c.Fingerprint()
	out := json.NewEncoder(os.Stdout)
	if err := out.Encode(heardOf{Class: c.ID, Addr: hub.Addresses()[0], Code: i.JoinCode().String(), Pin: hex.EncodeToString(f[:])}); err != nil {
		return err
	}
	if _, err := i.Announce(drill, classroom.Together); err != nil {
		return err
	}
	for i.Tally().Ready < t.stations() {
		<-bell
	}
	if err := i.Go(2 * time.Second); err != nil {
		return err
	}
	d, _ := i.Drill()
	flight := time.NewTimer(d.Go - i.Time())
	<-flight.C
	before := cpu()
	if t.Flooded {
		go flood(i, hub.Addresses()[0])
	}
	flight.Reset(benchFlight)
	<-flight.C
	h := heardOf{Go: int64(d.Go), CPU: cpu() - before, Flight: benchFlight, Memory: memory()}
	host.mu.Lock()
	h.Way = slices.Clone(host.way)
	host.mu.Unlock()
	if err := out.Encode(h); err != nil {
		return err
	}
	untilTold()
	return i.Close()
}

// flood is a station that sends all it can until it is cut off.
func flood(i *classroom.Instructor, addr string) {
	t := &testing.T{}
	r := &room{t: t, i: i, addr: addr}
	x := r.intrude(intruder, intruderSecret, i.JoinCode().Digits)
	text := []byte(strings.Repeat(fmt.Sprintf("PUB %s 12\r\n{\"steps\":10}\r\n", r.subject("live", intruder)), 100))
	for {
		if _, err := x.Write(text); err != nil {
			return
		}
	}
}

func cpu() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func memory() int64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return u.Maxrss * 1024
}

// wrongClock is a clock that is off.
type wrongClock struct{ by time.Duration }

var began = time.Now()

func (c wrongClock) Now() time.Duration { return time.Since(began) + c.by }
func (c wrongClock) Tick(context.Context, time.Duration) <-chan struct{} {
	return nil // nobody flies a rehearsal here
}

// receipts times the way of run events: from handing them over to the receipt
// of the instructor's store.
type receipts struct {
	classroom.Link
	classroom.Ear
	mu    sync.Mutex
	sent  map[string]time.Time
	times *[]float64
}

func (r *receipts) Append(ctx context.Context, data []byte) error {
	var m struct {
		Run    string
		From   int
		Events []json.RawMessage
	}
	if json.Unmarshal(data, &m) == nil {
		r.mu.Lock()
		r.sent[m.Run+" "+strconv.Itoa(m.From+len(m.Events)-1)] = time.Now()
		r.mu.Unlock()
	}
	return r.Link.Append(ctx, data)
}

func (r *receipts) Heard(data []byte) {
	var n struct {
		Kind string
		Run  string
		Upto int
	}
	if json.Unmarshal(data, &n) == nil && n.Kind == "confirmed" {
		key := n.Run + " " + strconv.Itoa(n.Upto)
		r.mu.Lock()
		if at, ok := r.sent[key]; ok {
			timesMu.Lock()
			*r.times = append(*r.times, float64(time.Since(at))/1e6)
			timesMu.Unlock()
			delete(r.sent, key)
		}
		r.mu.Unlock()
	}
	r.Ear.Heard(data)
}

func (r *receipts) Close() { r.Link.Close() }

var timesMu sync.Mutex

func measuredStations(argument string) error {
	var t trial
	if err := json.Unmarshal([]byte(argument), &t); err != nil {
		return err
	}
	code, err := classroom.ParseJoinCode(t.Code)
	if err != nil {
		return err
	}
	libs := shipped()
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	var f flownBy
	var stations []*classroom.Station
	var seats []*simulated.Seat
	for n := range t.Simulated {
		folder, err := os.MkdirTemp(t.Folder, "station")
		if err != nil {
			return err
		}
		id, err := classroom.IdentityFor(folder, code, t.Addr, "", time.Now())
		if err != nil {
			return err
		}
		id.Fingerprint = t.Pin // so that a thousand do not work out the check words on one machine
		seat := &simulated.Seat{Events: benchEvents, Lives: time.Hour, Stamp: true, Stop: ctx, Began: func(classroom.Assignment, classroom.RunID) {
			timesMu.Lock()
			f.Began = append(f.Began, time.Now().UnixNano())
			timesMu.Unlock()
		}}
		clock := wrongClock{time.Duration(n%3-1) * time.Hour}
		s, err := classroom.Join(id, classroom.StationOptions{Libraries: libs, Seat: seat, Clock: clock}, func(id classroom.Identity, e classroom.Ear) (classroom.Link, error) {
			r := &receipts{Ear: e, sent: map[string]time.Time{}, times: &f.Receipt}
			link, err := natslink.Dial(id, natslink.Calling{Digits: code.Digits}, r)
			r.Link = link
			return r, err
		})
		if err != nil {
			return err
		}
		seat.Sit(s)
		stations, seats = append(stations, s), append(seats, seat)
	}
	untilTold()
	stop()
	for _, s := range seats {
		s.Wait()
	}
	late := time.After(20 * time.Second)
	look := time.NewTicker(50 * time.Millisecond)
	defer look.Stop()
	for done := false; !done; {
		f.Waiting = 0
		for _, s := range stations {
			f.Waiting += s.Status().Waiting
		}
		select {
		case <-late:
			done = true
		case <-look.C:
			done = f.Waiting == 0
		}
	}
	for _, s := range stations {
		s.Close()
	}
	return json.NewEncoder(os.Stdout).Encode(f)
}
