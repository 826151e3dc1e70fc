package natslink

import (
	"fmt"
	"net"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"kickover/procedure/classroom"
)

// watch looks at every connection twice a second: who has come and gone, and
// who sends far more than a station does. The server itself has no limit.
func (h *served) watch() {
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	seen := map[uint64]traffic{}
	for {
		select {
		case now := <-tick.C:
			seen = h.look(seen, now)
			h.host.Trouble(h.networkTrouble())
		case <-h.stop:
			return
		}
	}
}

// networkTrouble is a sentence when the network that was chosen is gone: nobody
// can be reached then, and the server does not notice.
func (h *served) networkTrouble() string {
	if ip := net.ParseIP(h.o.Host); ip == nil || ip.IsLoopback() || onNetwork(ip) {
		return ""
	}
	return "The network at " + h.o.Host + " is gone. Everybody flies on and delivers later. Back with another address? Close the class, and open it again there."
}

// onNetwork reports whether this machine has an address on a network that is up and
// has a cable, or whatever it needs; true when that cannot be told.
func onNetwork(ip net.IP) bool {
	all, err := net.Interfaces()
	if err != nil {
		return true
	}
	const ready = net.FlagUp | net.FlagRunning
	for _, i := range all {
		addrs, err := i.Addrs()
		if err == nil && i.Flags&ready == ready && slices.ContainsFunc(addrs, func(a net.Addr) bool {
			n, ok := a.(*net.IPNet)
			return ok && n.IP.Equal(ip)
		}) {
			return true
		}
	}
	return false
}

// traffic is what a connection has sent until now.
type traffic struct {
	who         classroom.StationID
	at          time.Time
	msgs, bytes int64
}

func (h *served) look(before map[uint64]traffic, now time.Time) map[uint64]traffic {
	conns, err := h.server.Connz(&server.ConnzOptions{Limit: 4096, Username: true})
	if err != nil {
		return before
	}
	after := make(map[uint64]traffic, len(conns.Conns))
	present := map[classroom.StationID]bool{}
	for _, c := range conns.Conns {
		if c.AuthorizedUser == ownUser || c.AuthorizedUser == "" {
			continue
		}
		t := traffic{classroom.StationID(c.AuthorizedUser), now, c.InMsgs, c.InBytes}
		after[c.Cid] = t
		present[t.who] = true
		was, known := before[c.Cid]
		if !known {
			h.host.Here(t.who)
			was = traffic{at: c.Start}
		}
		// Over a second at least, so that what was kept back by a stalled network
		// and comes at once is no flood.
		seconds := max(1, now.Sub(was.at).Seconds())
		if m, b := float64(t.msgs-was.msgs)/seconds, float64(t.bytes-was.bytes)/seconds; m > float64(h.o.Flood) || b > floodBytes {
			h.host.Misbehaved(t.who, fmt.Sprintf("flooded the class: %.0f messages and %.0f kB in a second", m, b/1000), true)
			_ = h.server.DisconnectClientByID(c.Cid) // whatever the host thinks of it
		}
	}
	for cid, t := range before {
		if _, still := after[cid]; !still && !present[t.who] {
			h.host.Gone(t.who)
		}
	}
	h.mu.Lock()
	for cid := range h.callers {
		if _, still := after[cid]; !still && conns.Total < 4096 {
			// One that connected a moment ago is put back at its first message.
			if _, was := before[cid]; was {
				delete(h.callers, cid)
			}
		}
	}
	h.mu.Unlock()
	return after
}

// ears hears what the server logs: that is the only place where it tells of a
// station that writes or listens where it may not.
type ears served

var connectionID = regexp.MustCompile(`cid:(\d+)`)

// Errorf implements server.Logger.
func (e *ears) Errorf(format string, v ...any) {
	text := fmt.Sprintf(format, v...)
	what := ""
	switch {
	case strings.Contains(text, "Publish Violation"):
		what = "tried to send where it may not"
	case strings.Contains(text, "Subscription Violation"):
		what = "tried to read what is not for it"
	case strings.Contains(text, server.ErrMaxPayload.Error()), strings.Contains(text, "Bad or Missing Size"):
		what = "sent a message that is too large"
	case strings.Contains(strings.ToLower(text), "parser error"), strings.Contains(text, server.ErrMaxControlLine.Error()), strings.Contains(text, "Bad or Missing"):
		what = "sent what is no message"
	default:
		return
	}
	m := connectionID.FindStringSubmatch(text)
	if m == nil {
		return
	}
	cid, _ := strconv.ParseUint(m[1], 10, 64) // digits by the pattern
	e.mu.Lock()
	who, known := e.callers[cid]
	e.mu.Unlock()
	if known {
		// The server calls this while it handles that connection.
		go e.host.Misbehaved(who, what, true)
	}
}

// Fatalf implements server.Logger. The server goes on after it.
func (e *ears) Fatalf(format string, v ...any) {
	e.mu.Lock()
	e.failed = fmt.Errorf(format, v...)
	e.mu.Unlock()
}

// Noticef implements server.Logger.
func (e *ears) Noticef(string, ...any) {}

// Warnf implements server.Logger.
func (e *ears) Warnf(string, ...any) {}

// Debugf implements server.Logger.
func (e *ears) Debugf(string, ...any) {}

// Tracef implements server.Logger.
func (e *ears) Tracef(string, ...any) {}
