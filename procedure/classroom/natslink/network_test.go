package natslink_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/classroom/simulated"
	"kickover/procedure/powerplant"
)

// proxy stands between stations and the class. Cut, it swallows everything and
// answers nothing, as a dead switch does.
type proxy struct {
	net.Listener
	to string

	mu    sync.Mutex
	conns []net.Conn
	dead  bool
}

func newProxy(t testing.TB, to string) *proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &proxy{Listener: l, to: to}
	go p.serve()
	t.Cleanup(func() { p.Close(); p.cut(true) })
	return p
}

func (p *proxy) serve() {
	for {
		c, err := p.Accept()
		if err != nil {
			return
		}
		p.mu.Lock()
		dead := p.dead
		p.conns = append(p.conns, c)
		p.mu.Unlock()
		if dead {
			continue // it hears nothing until the network is back
		}
		up, err := net.Dial("tcp", p.to)
		if err != nil {
			c.Close()
			continue
		}
		p.mu.Lock()
		p.conns = append(p.conns, up)
		p.mu.Unlock()
		go p.carry(up, c)
		go p.carry(c, up)
	}
}

func (p *proxy) carry(to, from net.Conn) {
	buffer := make([]byte, 32<<10)
	for {
		n, err := from.Read(buffer)
		p.mu.Lock()
		dead := p.dead
		p.mu.Unlock()
		if err != nil {
			to.Close()
			return
		}
		if dead {
			continue // swallowed
		}
		if _, err := to.Write(buffer[:n]); err != nil {
			from.Close()
			return
		}
	}
}

// cut makes the network dead, or mends it: connections of before do not come back.
func (p *proxy) cut(dead bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.dead = dead
	if !dead {
		for _, c := range p.conns {
			c.Close()
		}
		p.conns = nil
	}
}

// The network swallows everything in the middle of a run: the run goes on, and
// is delivered when the network is back, once and in order.
func TestACutNetwork(t *testing.T) {
	r := open(t)
	p := newProxy(t, r.addr)
	var stations []*classroom.Station
	var seats []*simulated.Seat
	rest := make(chan struct{})
	for range 5 {
		seat := &simulated.Seat{Events: 150, Every: 20 * time.Millisecond, Rest: rest}
		s, _ := r.sit(seat, p.Addr().String())
		stations, seats = append(stations, s), append(seats, seat)
	}
	r.fly(5)
	r.bell.until(t, "some has arrived", func() bool {
		runs, err := r.i.Book().Runs("")
		return err == nil && len(runs) > 0
	})
	p.cut(true)
	close(rest)
	for _, s := range seats {
		s.Wait() // the runs go on to their ends
	}
	for _, s := range stations {
		if w := s.Status().Waiting; w < 75 {
			t.Errorf("%d events wait, of the half of 150 that was flown after the network was cut", w)
		}
	}
	p.cut(false)
	r.bell.until(t, "everything is delivered", func() bool {
		for _, s := range stations {
			if s.Status().Waiting > 0 {
				return false
			}
		}
		return true
	})
	whole(t, r.i.Book(), 5, 150)
}

// instruct is the instructor's program as a process of its own. Its argument
// is "folder|class|port|stations": it opens or reopens the class, prints the
// address and the join code, and gives "go" when so many stations are ready. It
// goes on until it is killed.
func instruct(argument string) error {
	f := strings.Split(argument, "|")
	folder, id := f[0], f[1]
	port, err := strconv.Atoi(f[2])
	if err != nil {
		return err
	}
	ready, err := strconv.Atoi(f[3])
	if err != nil {
		return err
	}
	var c *classroom.Class
	var b *classroom.Book
	if id == "" {
		c, b, err = classroom.NewClass(folder, "Tuesday", nil, time.Now())
	} else {
		c, b, err = classroom.Reopen(folder, id)
	}
	if err != nil {
		return err
	}
	bell := newBell()
	i, err := classroom.NewInstructor(c, b, classroom.InstructorOptions{Libraries: shipped(), Changed: bell.ring})
	if err != nil {
		return err
	}
	hub, err := natslink.Open(options(folder, i, port), i)
	if err != nil {
		return err
	}
	i.Attach(hub)
	_, at, err := net.SplitHostPort(hub.Addresses()[0])
	if err != nil {
		return err
	}
	fmt.Printf("%s|%s|%s\n", c.ID, at, i.JoinCode())
	if _, ok := i.Drill(); !ok {
		if _, err := i.Announce(drill, classroom.Together); err != nil {
			return err
		}
		for i.Tally().Ready < ready {
			<-bell
		}
		if err := i.Go(time.Second); err != nil {
			return err
		}
	}
	for {
		<-bell
		_ = i.LetIn() // on a machine that is busy one may hear of "go" too late
	}
}

// The instructor's program is killed again and again while stations burst, and
// started again: nothing is lost, nothing is there twice, all is in order.
func TestTheInstructorIsKilled(t *testing.T) {
	folder := t.TempDir()
	const many, events, kills = 10, 600, 4
	id, port := "", "0"
	start := func() (kill func(), code string) {
		c := play("instructor", strings.Join([]string{folder, id, port, strconv.Itoa(many)}, "|"))
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		said, err := bufio.NewReader(out).ReadString('\n')
		f := strings.Split(strings.TrimSpace(said), "|")
		if err != nil || len(f) != 3 {
			c.Process.Kill()
			t.Fatalf("it said %q (%v)", said, err)
		}
		id, port = f[0], f[1]
		return func() { c.Process.Kill(); c.Wait() }, f[2]
	}
	kill, text := start()
	defer func() { kill() }()
	code, err := classroom.ParseJoinCode(text)
	if err != nil {
		t.Fatal(err)
	}
	bell := newBell()
	began := make(chan classroom.RunID, many)
	var stations []*classroom.Station
	for range many {
		seat := &simulated.Seat{Events: events, Every: 10 * time.Millisecond, Began: func(_ classroom.Assignment, run classroom.RunID) { began <- run }}
		s, _ := sit(t, seat, "127.0.0.1:"+port, code, bell)
		stations = append(stations, s)
	}
	for range many {
		<-began
	}
	waiting := func() (n int) {
		for _, s := range stations {
			n += s.Status().Waiting
		}
		return n
	}
	for n := range kills {
		// In the middle: some is confirmed, and some is not.
		before := waiting()
		bell.until(t, "something has been confirmed since the last kill", func() bool { return waiting() < before || waiting() == 0 || n == 0 })
		kill()
		kill, _ = start()
	}
	bell.until(t, "everything is delivered", func() bool { return waiting() == 0 })
	kill()
	kill = func() {}
	_, b, err := classroom.Reopen(folder, id)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	whole(t, b, many, events)
}

// eavesdrop is a proxy with the class's own key: it reads the protocol in the
// clear, as the student's machine does.
type eavesdrop struct {
	mu   sync.Mutex
	read bytes.Buffer
}

func (e *eavesdrop) serve(t testing.TB, c classroom.Class, to string) string {
	t.Helper()
	l, err := tls.Listen("tcp", "127.0.0.1:0", &tls.Config{Certificates: []tls.Certificate{c.Certificate()}, MinVersion: tls.VersionTLS13})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			down, err := l.Accept()
			if err != nil {
				return
			}
			up, err := tls.Dial("tcp", to, &tls.Config{InsecureSkipVerify: true, MinVersion: tls.VersionTLS13})
			if err != nil {
				down.Close()
				continue
			}
			go func() { io.Copy(up, down); up.Close() }()
			go func() { io.Copy(down, io.TeeReader(up, e)); down.Close() }()
		}
	}()
	return l.Addr().String()
}

func (e *eavesdrop) Write(p []byte) (int, error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.read.Write(p)
}

// Everything that comes to a station over the wire is read in the clear, and
// everything it keeps: there is no fault in it, nor what students may not see.
func TestNothingOnTheWireTellsOfFaults(t *testing.T) {
	r := open(t)
	e := &eavesdrop{}
	addr := e.serve(t, r.i.Class(), r.addr)
	ctx, stop := context.WithCancel(t.Context())
	carried := make(chan classroom.Order, 64)
	seat := &simulated.Seat{Events: 40, Lives: time.Hour, Stop: ctx, Carried: func(o classroom.Order) { carried <- o }}
	code := r.i.JoinCode()
	id, err := classroom.IdentityFor(t.TempDir(), code, addr, "", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	seat.Told = r.bell.ring
	s, err := classroom.Join(id, classroom.StationOptions{Libraries: shipped(), Seat: seat}, func(id classroom.Identity, ear classroom.Ear) (classroom.Link, error) {
		return natslink.Dial(id, natslink.Calling{Digits: code.Digits}, ear)
	})
	if err != nil {
		t.Fatal(err)
	}
	seat.Sit(s)
	hidden := drill
	hidden.Title, hidden.Faults, hidden.Conditions.OATCelsius = "Nobody may read this", []powerplant.Fault{powerplant.FaultVapourInLines}, -17.25
	if _, err := r.i.Announce(hidden, classroom.Together); err != nil {
		t.Fatal(err)
	}
	r.bell.until(t, "it is ready", func() bool { return r.i.Tally().Ready == 1 })
	if err := r.i.Go(time.Second); err != nil {
		t.Fatal(err)
	}
	r.bell.until(t, "it flies", func() bool { return r.i.Tally().Flying == 1 })
	orders := []classroom.Order{{Kind: classroom.OrderWalk, Sector: procedure.LookAhead, Text: "somebody unseen"}}
	for _, f := range powerplant.Faults() {
		orders = append(orders, classroom.Order{Kind: classroom.OrderFault, Fault: f.Fault})
	}
	for _, o := range orders {
		if err := r.i.Order(o); err != nil {
			t.Fatal(err)
		}
		if got := <-carried; got.Fault != o.Fault || got.Kind != o.Kind {
			t.Fatalf("it carried out %+v, not %+v", got, o)
		}
	}
	stop()
	seat.Wait()
	s.Close()
	e.mu.Lock()
	wire := e.read.String()
	e.mu.Unlock()
	if n := strings.Count(wire, "MSG "); n < len(orders) || !strings.HasPrefix(wire, "INFO ") {
		t.Fatalf("%d messages were read: not everything", n)
	}
	secrets := []string{hidden.Title, "-17.25", "unseen", `"walk`, `"fault`}
	for _, f := range powerplant.Faults() {
		secrets = append(secrets, string(f.Fault), f.Name, f.Signs, f.WayOut)
	}
	for _, secret := range secrets {
		if strings.Contains(strings.ToLower(wire), strings.ToLower(secret)) {
			t.Errorf("the wire tells of %q", secret)
		}
	}
}

// What a station keeps on its disk while it is away can be read by nobody else.
func TestFilesAreTheOwnersOnly(t *testing.T) {
	r := open(t)
	folder := t.TempDir()
	if _, err := classroom.IdentityFor(folder, r.i.JoinCode(), r.addr, "x", time.Now()); err != nil {
		t.Fatal(err)
	}
	names, _ := filepath.Glob(filepath.Join(folder, "*", "*.json"))
	if len(names) != 1 {
		t.Fatal(names)
	}
	info, err := os.Stat(names[0])
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v %v", info.Mode(), err)
	}
}
