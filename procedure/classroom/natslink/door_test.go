package natslink_test

import (
	"bytes"
	"context"
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/classroom/simulated"
	"kickover/procedure/record"
)

// later is the machine's clock, which can be put forward.
type later struct{ by atomic.Int64 }

func (c *later) Now() time.Duration {
	return time.Since(testsBegan) + time.Duration(c.by.Load())
}

// Tick implements rehearsal.Clock; nobody flies here.
func (c *later) Tick(context.Context, time.Duration) <-chan struct{} { return nil }

var testsBegan = time.Now()

// knock is a newcomer, or many of them, at the door.
func (r *room) knock(n int, digits string) error {
	id := fmt.Sprintf("NEWCOMERNEWCOMER%c%c", 'A'+n/26, 'A'+n%26)
	nc, err := nats.Connect("tls://"+r.addr, nats.UserInfo(id, intruderSecret+"."+digits), nats.NoReconnect(), nats.Timeout(patience),
		nats.Secure(&tls.Config{InsecureSkipVerify: true}), nats.TLSHandshakeFirst())
	if err == nil {
		nc.Close()
	}
	return err
}

func TestTheCodeIsShortLived(t *testing.T) {
	clock := &later{}
	r := openWith(t, classroom.InstructorOptions{Clock: clock})
	code := r.i.JoinCode().Digits
	if err := r.knock(0, code); err != nil {
		t.Fatal(err)
	}
	clock.by.Add(int64(14 * time.Minute))
	if err := r.knock(1, code); err != nil {
		t.Errorf("after 14 minutes: %v", err)
	}
	clock.by.Add(int64(2 * time.Minute))
	_ = r.knock(2, code) // that it is put out at once is TestAnOldCodeIsToldApart's
	if n := len(r.i.Rows(false)); n != 2 || r.i.JoinCode().Digits == code {
		t.Errorf("it is good after 16 minutes: %d stations are in the class", n)
	}
	if err := r.knock(0, ""); err != nil {
		t.Errorf("one that was here before needs a code to come back: %v", err)
	}
}

func TestGuessesAreLimited(t *testing.T) {
	clock := &later{}
	r := openWith(t, classroom.InstructorOptions{Clock: clock})
	wrong := func() string {
		if d := r.i.JoinCode().Digits; d != "123456" {
			return "123456"
		}
		return "654321"
	}
	for n := range 6 {
		if r.knock(n, wrong()) == nil {
			t.Fatal("a wrong code is let in")
		}
	}
	if r.knock(6, r.i.JoinCode().Digits) == nil {
		t.Error("whoever guesses is let in at last")
	}
	clock.by.Add(int64(61 * time.Second))
	if err := r.knock(7, r.i.JoinCode().Digits); err != nil {
		t.Errorf("a minute later: %v", err)
	}
}

// filed keeps what would go into the records.
type filed struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (f *filed) Import(r io.Reader) (record.Imported, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	_, err := f.text.ReadFrom(r)
	return record.Imported{}, err
}

// A student's name goes to the instructor's program and no further: no other
// station is sent it, and no record has it.
func TestNamesStayInTheClass(t *testing.T) {
	const name = "Wilhelmina Quist"
	records := &filed{}
	r := openWith(t, classroom.InstructorOptions{Records: records})
	e := &eavesdrop{}
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	join := func(name, address string) {
		seat := &simulated.Seat{Events: 40, Stop: ctx, Told: r.bell.ring}
		code := r.i.JoinCode()
		id, err := classroom.IdentityFor(t.TempDir(), code, address, name, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		s, err := classroom.Join(id, classroom.StationOptions{Libraries: shipped(), Seat: seat}, func(id classroom.Identity, ear classroom.Ear) (classroom.Link, error) {
			return natslink.Dial(id, natslink.Calling{Digits: code.Digits}, ear)
		})
		if err != nil {
			t.Fatal(err)
		}
		seat.Sit(s)
		t.Cleanup(s.Close)
	}
	join(name, r.addr)
	join("somebody", e.serve(t, r.i.Class(), r.addr))
	r.fly(2)
	r.delivered(2)
	if err := r.i.Order(classroom.Order{Kind: classroom.OrderSay, Text: "Well done."}); err != nil {
		t.Fatal(err)
	}
	known := false
	for _, row := range r.i.Rows(false) {
		known = known || row.Name == name
	}
	if err := r.i.Close(); err != nil { // everything is filed then
		t.Fatal(err)
	}
	e.mu.Lock()
	wire := e.read.String()
	e.mu.Unlock()
	records.mu.Lock()
	defer records.mu.Unlock()
	switch {
	case !known:
		t.Error("not even the instructor knows the name")
	case !strings.Contains(wire, "MSG ") || records.text.Len() == 0:
		t.Error("nothing was read, or nothing filed: the test shows nothing")
	case strings.Contains(wire, "Quist"):
		t.Error("another station is sent the name")
	case strings.Contains(records.text.String(), "Quist"):
		t.Error("the records have the name")
	}
}

// Nothing answers at another address of this machine, and no second door is open:
// the engine's diagnostic pages least of all.
func TestListensOnlyAtTheChosenAddress(t *testing.T) {
	r := open(t)
	_, port, err := net.SplitHostPort(r.addr)
	if err != nil {
		t.Fatal(err)
	}
	for _, other := range []string{"127.0.0.2", "::1"} {
		if c, err := net.Dial("tcp", net.JoinHostPort(other, port)); err == nil {
			c.Close()
			t.Errorf("it listens at %s too", other)
		}
	}
	c, err := tls.Dial("tcp", r.addr, &tls.Config{InsecureSkipVerify: true})
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	c.SetDeadline(time.Now().Add(patience))
	fmt.Fprint(c, "GET /debug/pprof/ HTTP/1.1\r\nHost: x\r\n\r\n")
	if said, _ := io.ReadAll(c); bytes.Contains(said, []byte("HTTP/")) || bytes.Contains(said, []byte("goroutine")) {
		t.Errorf("it answers %q", said)
	}
}

// studied is how many events a student's run has: more than it lives to see.
const studied = 100_000

// study is a student's program: its argument is "folder|address|code". It says
// when its run begins, and goes on until it is killed.
func study(argument string) error {
	f := strings.Split(argument, "|")
	code, err := classroom.ParseJoinCode(f[2])
	if err != nil {
		return err
	}
	id, err := classroom.IdentityFor(f[0], code, f[1], "", time.Now())
	if err != nil {
		return err
	}
	seat := &simulated.Seat{Events: studied, Burst: 100, Every: 5 * time.Millisecond, Stop: context.Background(),
		Began: func(classroom.Assignment, classroom.RunID) { fmt.Println("began") }}
	s, err := classroom.Join(id, classroom.StationOptions{Libraries: shipped(), Seat: seat}, func(id classroom.Identity, e classroom.Ear) (classroom.Link, error) {
		return natslink.Dial(id, natslink.Calling{Digits: code.Digits, Wait: 50 * time.Millisecond}, e)
	})
	if err != nil {
		return err
	}
	seat.Sit(s)
	select {}
}

// A student's program is killed in the middle of its run, behind a dead network,
// and started again: what was on its disk is delivered, once and in order, and
// it is the same station without a code.
func TestAStationIsKilled(t *testing.T) {
	r := open(t)
	p := newProxy(t, r.addr)
	folder := t.TempDir()
	begin := func() (c *exec.Cmd, said io.Reader) {
		c = play("student", strings.Join([]string{folder, p.Addr().String(), r.i.JoinCode().String()}, "|"))
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Process.Kill(); c.Wait() })
		return c, out
	}
	student, said := begin()
	r.fly(1)
	if _, err := io.ReadFull(said, make([]byte, len("began\n"))); err != nil {
		t.Fatal(err)
	}
	r.bell.until(t, "some has arrived", func() bool {
		runs, err := r.i.Book().Runs("")
		return err == nil && len(runs) == 1
	})
	p.cut(true)
	stored := func() int {
		runs, err := r.i.Book().Runs("")
		if err != nil || len(runs) != 1 {
			t.Fatalf("%d runs, %v", len(runs), err)
		}
		return runs[0].Events
	}
	before := stored()
	var kept int
	log := func() int {
		names, _ := filepath.Glob(filepath.Join(folder, "*", "runs", "*.run"))
		if len(names) != 1 {
			t.Fatalf("%d runs are on its disk", len(names))
		}
		text, err := os.ReadFile(names[0])
		if err != nil {
			t.Fatal(err)
		}
		return bytes.Count(text, []byte("\n")) - 1 // the first line is the header
	}
	look := time.NewTicker(10 * time.Millisecond)
	defer look.Stop()
	for kept = log(); kept <= before+50; kept = log() {
		<-look.C
	}
	student.Process.Kill()
	student.Wait()
	kept = log()
	r.i.Shut(true)
	if err := r.i.End(); err != nil { // or it would begin another run
		t.Fatal(err)
	}
	p.cut(false)
	begin()
	r.delivered(1)
	runs, err := r.i.Book().Runs("")
	if err != nil {
		t.Fatal(err)
	}
	got, err := r.i.Book().Events(runs[0].Run)
	if err != nil || len(got) != kept || !simulated.Same(got, simulated.Events(runs[0].Run, studied)[:kept]) {
		t.Errorf("%d events are stored of %d that were on its disk, or others (%v)", len(got), kept, err)
	}
	if n := len(r.i.Rows(false)); n != 1 {
		t.Errorf("%d stations are on the board", n)
	}
}
