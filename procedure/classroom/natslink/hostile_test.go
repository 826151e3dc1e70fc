package natslink_test

import (
	"bufio"
	"bytes"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"net"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/simulated"
)

func dialTLS(addr string) error {
	c, err := tls.Dial("tcp", addr, &tls.Config{InsecureSkipVerify: true})
	if err == nil {
		c.Close()
	}
	return err
}

// raw is a connection of somebody who writes his own program: he has the code,
// and knows the protocol of NATS (docs.nats.io, "Client Protocol").
type raw struct {
	*tls.Conn
	t    testing.TB
	read *bufio.Reader
	id   string
}

func (r *room) intrude(id, secret, code string) *raw {
	r.t.Helper()
	c, err := tls.Dial("tcp", r.addr, &tls.Config{InsecureSkipVerify: true, MinVersion: tls.VersionTLS13})
	if err != nil {
		r.t.Fatal(err)
	}
	r.t.Cleanup(func() { c.Close() })
	c.SetDeadline(time.Now().Add(patience))
	x := &raw{Conn: c, t: r.t, read: bufio.NewReader(c), id: id}
	connect, _ := json.Marshal(map[string]any{"user": id, "pass": secret + "." + code, "tls_required": true, "protocol": 1, "verbose": false})
	fmt.Fprintf(x, "CONNECT %s\r\nPING\r\n", connect)
	for {
		l, err := x.read.ReadString('\n')
		if err != nil || strings.HasPrefix(l, "-ERR") {
			r.t.Fatalf("not let in: %q %v", l, err)
		}
		if strings.HasPrefix(l, "PONG") {
			return x
		}
	}
}

const intruder, intruderSecret = "INTRUDERINTRUDERINTRUDER", "a secret that is long enough"

// another is an intruder's id for each of several tries in one room.
func another(n int) string { return intruder + string(rune('A'+n)) }

// ended waits for the connection's end and gives all that came before.
func (x *raw) ended() string {
	x.t.Helper()
	var all bytes.Buffer
	if _, err := x.read.WriteTo(&all); err != nil {
		if ne, ok := err.(net.Error); ok && ne.Timeout() {
			x.t.Fatalf("it was not cut off; it heard %q", all.String())
		}
	}
	return all.String()
}

// cut waits until the intruder is cut off, and checks that it was logged and
// may not come back.
func (r *room) cut(x *raw, because string) {
	r.t.Helper()
	x.ended()
	var trouble string
	r.bell.until(r.t, "the intruder is cut off", func() bool {
		row, _ := r.i.Row(classroom.StationID(x.id))
		trouble = row.Trouble
		return trouble != ""
	})
	if !strings.Contains(trouble, because) {
		r.t.Errorf("it was cut off since it %q, not for %q", trouble, because)
	}
	log, err := r.i.Book().Log()
	if err != nil || !slices.ContainsFunc(log, func(l classroom.LogLine) bool {
		return string(l.Station) == x.id && strings.Contains(l.What, because)
	}) {
		r.t.Errorf("the log says %+v (%v)", log, err)
	}
	if err := r.i.Admit(classroom.Caller{Station: classroom.StationID(x.id), Secret: intruderSecret, Code: r.i.JoinCode().Digits, Address: "x"}); err != classroom.ErrCut {
		r.t.Errorf("it may come back: %v", err)
	}
}

// goesOn flies a drill with one honest station.
func (r *room) goesOn() {
	r.t.Helper()
	s, _ := r.sit(&simulated.Seat{Events: 40}, r.addr)
	r.fly(1)
	r.bell.until(r.t, "an honest station delivers", func() bool {
		runs, err := r.i.Book().Runs("")
		return err == nil && len(runs) == 1 && runs[0].Ended && s.Status().Waiting == 0
	})
	whole(r.t, r.i.Book(), 1, 40)
}

func (r *room) subject(kind, station string) string {
	return "kickover." + r.i.Class().ID + "." + kind + "." + station
}

func TestAMessageOfAGigabyte(t *testing.T) {
	r := open(t)
	for n, size := range []string{"1073741824", "999999999", "70000", "99999999999999999999"} {
		x := r.intrude(another(n), intruderSecret, r.i.JoinCode().Digits)
		fmt.Fprintf(x, "PUB %s %s\r\n%s", r.subject("live", x.id), size, strings.Repeat("x", 100_000))
		r.cut(x, "too large")
	}
	r.goesOn()
}

func TestLyingAboutItsStation(t *testing.T) {
	r := open(t)
	for n, kind := range []string{"live", "events", "ask", "to"} {
		x := r.intrude(another(n), intruderSecret, r.i.JoinCode().Digits)
		fmt.Fprintf(x, "PUB %s 2\r\n{}\r\n", r.subject(kind, "SOMEBODYELSESOMEBODY"))
		r.cut(x, "send where it may not")
	}
	r.goesOn()
}

func TestReadingWhatIsNotForIt(t *testing.T) {
	r := open(t)
	for n, subject := range []string{">", "_INBOX.>", "$JS.>", "$SYS.>", "kickover.*.live.*", "kickover.*.to.>"} {
		x := r.intrude(another(n), intruderSecret, r.i.JoinCode().Digits)
		fmt.Fprintf(x, "SUB %s 1\r\n", subject)
		r.cut(x, "read what is not for it")
	}
	r.goesOn()
}

func TestUsingTheEngineItself(t *testing.T) {
	r := open(t)
	x := r.intrude(intruder, intruderSecret, r.i.JoinCode().Digits)
	fmt.Fprintf(x, "PUB $JS.API.STREAM.DELETE.EVENTS_%s 0\r\n\r\n", r.i.Class().ID)
	r.cut(x, "send where it may not")
	r.goesOn()
}

func TestMalformedData(t *testing.T) {
	r := open(t)
	for n, text := range []string{
		"live \x00\xff", `live {"step":-5,"steps":1}`, `ask {"kind":"everything"}`, "events {{{",
		`events {"run":"AAAAAAAAAAAAAAAAAAAA","header":{"drill":"x"},"from":1,"events":[{"n":2,"t":0,"k":"move"}]}`, // out of order
		`events {"run":"AAAAAAAAAAAAAAAAAAAA","header":{"drill":"x"},"from":1,"events":[{"n":1,"t":0,"k":"move"}]}`, // of no drill
	} {
		x := r.intrude(another(n), intruderSecret, r.i.JoinCode().Digits)
		kind, body, _ := strings.Cut(text, " ")
		for range 3 {
			fmt.Fprintf(x, "PUB %s _INBOX.%s.x %d\r\n%s\r\n", r.subject(kind, x.id), x.id, len(body), body)
		}
		r.cut(x, "no sense")
	}
	r.goesOn()
}

func TestNotEvenTheProtocol(t *testing.T) {
	r := open(t)
	for _, text := range []string{"GET / HTTP/1.1\r\n\r\n", strings.Repeat("A", 100_000), "CONNECT {}\r\nPING\r\n", "\x00\x00\x00\x00\r\n"} {
		c, err := tls.Dial("tcp", r.addr, &tls.Config{InsecureSkipVerify: true})
		if err != nil {
			t.Fatal(err)
		}
		c.SetDeadline(time.Now().Add(patience))
		x := &raw{Conn: c, t: t, read: bufio.NewReader(c)}
		fmt.Fprint(c, text)
		x.ended()
		c.Close()
	}
	// Nor TLS.
	c, err := net.Dial("tcp", r.addr)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprint(c, "CONNECT {}\r\n")
	c.Close()
	r.goesOn()
}

func TestAFlood(t *testing.T) {
	r := open(t)
	x := r.intrude(intruder, intruderSecret, r.i.JoinCode().Digits)
	text := strings.Repeat(fmt.Sprintf("PUB %s 11\r\n{\"steps\":10}\r\n", r.subject("live", intruder)), 100)
	text = strings.ReplaceAll(text, " 11\r\n", " 12\r\n")
	go func() {
		for {
			if _, err := x.Write([]byte(text)); err != nil {
				return
			}
		}
	}()
	r.cut(x, "flooded")
	r.goesOn()
}

// A replay changes nothing, and neither does a run that belongs to another
// station under one's own name: that is cut off.
func TestReplayAndAnothersRun(t *testing.T) {
	r := open(t)
	began := make(chan classroom.RunID, 1)
	s, id := r.sit(&simulated.Seat{Events: 40, Began: func(_ classroom.Assignment, run classroom.RunID) { began <- run }}, r.addr)
	d := r.fly(1)
	run := <-began
	r.bell.until(t, "it is delivered", func() bool {
		runs, err := r.i.Book().Runs("")
		return err == nil && len(runs) == 1 && runs[0].Ended && s.Status().Waiting == 0
	})
	again := fmt.Sprintf(`{"run":%q,"header":{"drill":%q,"aircraft":"brindle-180","flow":"cold","phase":"evaluate"},"from":1,"events":[{"n":1,"t":5,"k":"move","s":"throttle"}],"ended":true}`, run, d.ID)

	// The station itself, by a second connection: the same numbers with another content.
	nc := connect(t, r.addr, string(id.Station), id.Secret)
	for range 5 {
		reply, err := nc.Request(r.subject("events", string(id.Station)), []byte(again), patience)
		if err != nil || !strings.Contains(string(reply.Data), `"stream"`) {
			t.Fatalf("%s, %v", reply.Data, err)
		}
	}
	x := r.intrude(intruder, intruderSecret, r.i.JoinCode().Digits)
	fmt.Fprintf(x, "PUB %s %d\r\n%s\r\n", r.subject("events", intruder), len(again), again)
	x.ended()
	r.bell.until(t, "the other is cut off", func() bool {
		row, _ := r.i.Row(intruder)
		return strings.Contains(row.Trouble, "another station's run")
	})
	if row, _ := r.i.Row(id.Station); row.Trouble != "" {
		t.Errorf("the honest station %s", row.Trouble)
	}
	whole(t, r.i.Book(), 1, 40)
}

// A duplicate's id is a station's own: another that guesses it cannot make an
// event vanish, since nothing rests on it.
func TestIdsOfDuplicatesDoNotMatter(t *testing.T) {
	r := open(t)
	x := r.intrude(intruder, intruderSecret, r.i.JoinCode().Digits)
	header := "NATS/1.0\r\nNats-Msg-Id: 1\r\n\r\n"
	fmt.Fprintf(x, "HPUB %s %d %d\r\n%s{}\r\n", r.subject("events", intruder), len(header), len(header)+2, header)
	r.goesOn()
}

func TestTakingAnothersStation(t *testing.T) {
	r := open(t)
	s, id := r.sit(&simulated.Seat{}, r.addr)
	r.bell.until(t, "it is here", func() bool { return s.Status().Connected })
	for n := range 10 {
		err := r.i.Admit(classroom.Caller{Station: id.Station, Secret: fmt.Sprintf("not its secret, try %012d", n), Code: r.i.JoinCode().Digits, Address: "10.0.0.9"})
		if err == nil {
			t.Fatal("somebody took another's place")
		}
		if n >= 6 && err != classroom.ErrTooMany {
			t.Errorf("try %d: %v", n, err)
		}
	}
}

func connect(t testing.TB, addr, user, secret string) *nats.Conn {
	t.Helper()
	nc, err := nats.Connect("tls://"+addr, nats.UserInfo(user, secret+"."), nats.Timeout(patience), nats.Secure(&tls.Config{InsecureSkipVerify: true}),
		nats.TLSHandshakeFirst(), nats.CustomInboxPrefix("_INBOX."+user))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(nc.Close)
	return nc
}
