package main

import (
	"cmp"
	"crypto/rand"
	"crypto/tls"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net"
	"strconv"
	"sync"
	"time"

	"github.com/nats-io/nats.go"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/flowfile"
	"kickover/procedure/rehearsal"
)

// opened is the first that the instructor's program says.
type opened struct {
	Class, Addr, Code, Pin string
	Port                   int
}

// heard is what it says at the end of each drill.
type heard struct {
	Go       int64         // when "go" was meant, nanoseconds of the wall clock
	Way      []float64     // ms, from a position's being sent to the board
	Lever    []float64     // ms, from a lever's movement, whenever it moves, to the board
	CPU      time.Duration // of the flight
	Memory   int64         // bytes at the most, until now
	Moved    []moved       // throttles of real rehearsals
	CutAfter float64       // ms until the flood was cut off; 0 when there was none
}

var drill = classroom.Situation{Title: "cold", Aircraft: "brindle-180", Flow: "cold", Phase: procedure.Evaluate,
	Conditions: rehearsal.Conditions{OATCelsius: 10}, Hidden: true}

// shipped are the aeroplanes with their flows; what is wrong with one is
// another program's to say.
func shipped() []*procedure.Library {
	libs, _ := flowfile.Load(assets.Library())
	return libs
}

// listener notes when positions come to the board.
type listener struct {
	*classroom.Instructor

	mu    sync.Mutex
	last  map[classroom.StationID]int64
	way   []float64
	lever []float64

	// Of real rehearsals; travel is zero where there are none.
	lever0 int
	travel procedure.Position
	notch  map[classroom.StationID]int
	moved  []moved
}

// leverMoves is at how many moments between two positions a lever's movement is
// thought of: it waits for the next position.
const leverMoves = 5

func (h *listener) Live(s classroom.StationID, data []byte) {
	h.Instructor.Live(s, data)
	now := time.Now().UnixNano()
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.travel > 0 {
		h.sawLever(s, data, now)
		return
	}
	var l struct{ At, Sent int64 }
	if json.Unmarshal(data, &l) != nil || l.At == 0 {
		return
	}
	before := h.last[s]
	if l.At == before {
		return // nothing moved: the station only says that it is there
	}
	h.last[s] = l.At
	h.way = append(h.way, float64(now-l.Sent)/1e6)
	if before == 0 || l.At-before > int64(time.Second) {
		return
	}
	for k := range leverMoves {
		moved := before + (l.At-before)*int64(2*k+1)/(2*leverMoves)
		h.lever = append(h.lever, float64(now-moved)/1e6)
	}
}

func (h *listener) take() (way, lever []float64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	way, lever = h.way, h.lever
	h.way, h.lever = nil, nil
	return way, lever
}

// instructor is the instructor's program.
func instructor(t trial) error {
	c, book, err := take(t)
	if err != nil {
		return err
	}
	changed := make(chan struct{}, 1)
	i, err := classroom.NewInstructor(c, book, classroom.InstructorOptions{Libraries: shipped(), Changed: func() {
		select {
		case changed <- struct{}{}:
		default:
		}
	}})
	if err != nil {
		return err
	}
	host := &listener{Instructor: i, last: map[classroom.StationID]int64{}, notch: map[classroom.StationID]int{}}
	if t.Hands {
		host.lever0, host.travel = throttle()
	}
	room, err := natslink.Open(natslink.Options{Class: c.ID, Certificate: c.Certificate(), Fingerprint: c.Fingerprint(),
		Host: cmp.Or(t.Host, "127.0.0.1"), Port: t.Port, Spool: classroom.Spool(t.Folder, c.ID), SyncAlways: t.SyncAlways}, host)
	if err != nil {
		return err
	}
	i.Attach(room)
	o := opened{Class: c.ID, Addr: room.Addresses()[0], Code: i.JoinCode().String(), Pin: pinOf(c)}
	_, port, _ := net.SplitHostPort(o.Addr)
	o.Port, _ = strconv.Atoi(port) // of an address that is listened at
	if err := say(o); err != nil {
		return err
	}
	if t.Resume {
		select {}
	}
	for range t.Goes {
		if err := lead(t, i, host, changed, o.Addr); err != nil {
			return err
		}
	}
	untilTold()
	return i.Close()
}

func take(t trial) (*classroom.Class, *classroom.Book, error) {
	if t.Class != "" {
		return classroom.Reopen(t.Folder, t.Class)
	}
	return classroom.NewClass(t.Folder, "measured", nil, time.Now())
}

func pinOf(c *classroom.Class) string {
	f := c.Fingerprint()
	return hex.EncodeToString(f[:])
}

// lead flies one drill and says what was heard of it.
func lead(t trial, i *classroom.Instructor, host *listener, changed <-chan struct{}, addr string) error {
	if _, err := i.Announce(drill, classroom.Together); err != nil {
		return err
	}
	for i.Tally().Ready < t.stations() {
		<-changed
	}
	host.take()
	if err := i.Go(2 * time.Second); err != nil {
		return err
	}
	d, _ := i.Drill()
	flight := time.NewTimer(d.Go - i.Time())
	<-flight.C
	before, _ := used()
	h := heard{Go: int64(d.Go)}
	if t.Flooded {
		h.CutAfter = flood(i, addr)
	}
	flight.Reset(d.Go + t.Flight - i.Time())
	<-flight.C
	after, memory := used()
	h.CPU, h.Memory = after-before, memory
	h.Way, h.Lever = host.take()
	host.mu.Lock()
	h.Moved = host.moved
	host.mu.Unlock()
	if err := say(h); err != nil {
		return err
	}
	return i.End()
}

// flood is a station that sends all it can, until it is cut off; it gives how
// long that took, in milliseconds.
func flood(i *classroom.Instructor, addr string) float64 {
	station := rand.Text()
	nc, err := nats.Connect("tls://"+addr, nats.UserInfo(station, rand.Text()+"."+i.JoinCode().Digits), nats.NoReconnect(),
		nats.Secure(&tls.Config{InsecureSkipVerify: true}), nats.TLSHandshakeFirst()) // it does not care who listens
	if err != nil {
		return 0
	}
	defer nc.Close()
	begun := time.Now()
	subject := fmt.Sprintf("kickover.%s.live.%s", i.Class().ID, station)
	for nc.Publish(subject, []byte(`{"steps":10}`)) == nil {
	}
	return time.Since(begun).Seconds() * 1000
}
