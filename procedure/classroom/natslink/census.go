package natslink

import (
	"fmt"
	"sync"
	"time"

	"kickover/procedure/classroom"
)

// census knows who is here at a school, whose servers this program cannot look
// into: by what it hears from them. It also finds who sends far more than a
// station does.
type census struct {
	a *atSchool

	mu       sync.Mutex // guards what follows
	stations map[classroom.StationID]*counted
}

type counted struct {
	connections []connection
	last        time.Time // when it was heard
	here        bool
	cut         bool
	since       time.Time // of the count
	msgs, bytes int
}

// connection is one to a server of the cluster.
type connection struct {
	server string
	id     uint64
}

const (
	// A station that is here says so each second.
	goneAfter       = 5 * time.Second
	connectionsKept = 8
)

func newCensus(a *atSchool) *census {
	return &census{a: a, stations: map[classroom.StationID]*counted{}}
}

func (c *census) of(s classroom.StationID) *counted {
	n := c.stations[s]
	if n == nil {
		n = &counted{}
		c.stations[s] = n
	}
	return n
}

func (c *census) admitted(s classroom.StationID, at connection) {
	c.mu.Lock()
	defer c.mu.Unlock()
	n := c.of(s)
	n.cut = false
	n.connections = append(n.connections, at)
	if len(n.connections) > connectionsKept {
		n.connections = n.connections[1:]
	}
}

// heard counts a message, and reports whether it is to be heeded.
func (c *census) heard(s classroom.StationID, bytes int) bool {
	now := time.Now()
	c.mu.Lock()
	n := c.of(s)
	if n.cut {
		c.mu.Unlock()
		return false
	}
	arrived := !n.here
	n.here, n.last = true, now
	flood := n.count(bytes, now, c.a.o.Flood)
	n.cut = flood != ""
	c.mu.Unlock()
	if arrived {
		c.a.host.Here(s)
	}
	if flood != "" {
		c.a.host.Misbehaved(s, flood, true)
		c.a.CutOff(s) // whatever the host thinks of it
	}
	return flood == ""
}

// count is the watch over floods: what a station sends in two seconds, so that
// what was kept back by a stalled network and comes at once is none.
func (n *counted) count(bytes int, now time.Time, limit int) string {
	const window = 2 * time.Second
	if now.Sub(n.since) > window {
		n.since, n.msgs, n.bytes = now, 0, 0
	}
	n.msgs++
	n.bytes += bytes
	if n.msgs > 2*limit || n.bytes > 2*floodBytes {
		return fmt.Sprintf("flooded the class: %d messages and %d kB in two seconds", n.msgs, n.bytes/1000)
	}
	return ""
}

// cutOff stops listening to a station and gives its connections.
func (c *census) cutOff(s classroom.StationID) []connection {
	c.mu.Lock()
	defer c.mu.Unlock()
	n := c.of(s)
	n.cut = true
	out := n.connections
	n.connections = nil
	return out
}

// work tells the host of those that were not heard any more.
func (c *census) work() {
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for {
		select {
		case now := <-tick.C:
			for _, s := range c.gone(now) {
				c.a.host.Gone(s)
			}
		case <-c.a.stop:
			return
		}
	}
}

func (c *census) gone(now time.Time) (out []classroom.StationID) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for s, n := range c.stations {
		if n.here && now.Sub(n.last) > goneAfter {
			n.here = false
			out = append(out, s)
		}
	}
	return out
}
