package natslink_test

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/classroom/natslink"
	"kickover/procedure/classroom/simulated"
	"kickover/procedure/flowfile"
	"kickover/procedure/parttest"
	"kickover/procedure/rehearsal"
)

// What the test binary plays of the other programs.
var parts = map[string]func(string) error{"instructor": instruct, "cluster": serveCluster, "student": study}

func TestMain(m *testing.M) { parttest.Main(m, parts) }

var play = parttest.Play

// bell is rung by everything that may have changed.
type bell chan struct{}

func newBell() bell { return make(bell, 1) }

func (b bell) ring() {
	select {
	case b <- struct{}{}:
	default:
	}
}

// patience is how long anything may take on a machine that is busy.
const patience = 2 * time.Minute

// until waits until a condition holds, looking whenever the bell rings.
func (b bell) until(t testing.TB, what string, ok func() bool) {
	t.Helper()
	late := time.After(patience)
	for !ok() {
		select {
		case <-b:
		case <-late:
			t.Fatalf("still not: %s", what)
		}
	}
}

// shipped are the aeroplanes with their flows. A flow that is wrong is another
// package's to find.
func shipped() []*procedure.Library {
	libs, _ := flowfile.Load(assets.Library())
	if len(libs) == 0 {
		panic("no aeroplane is shipped")
	}
	return libs
}

var drill = classroom.Situation{Title: "flooded", Aircraft: "brindle-180", Flow: "cold", Phase: procedure.Evaluate,
	Conditions: rehearsal.Conditions{OATCelsius: 10}, Hidden: true}

// room is a class that is open on loopback.
type room struct {
	t      testing.TB
	i      *classroom.Instructor
	folder string
	bell   bell
	addr   string
}

func options(folder string, i *classroom.Instructor, port int) natslink.Options {
	c := i.Class()
	return natslink.Options{Class: c.ID, Certificate: c.Certificate(), Fingerprint: c.Fingerprint(),
		Host: "127.0.0.1", Port: port, Spool: classroom.Spool(folder, c.ID)}
}

func open(t testing.TB) *room {
	t.Helper()
	return openWith(t, classroom.InstructorOptions{})
}

func openWith(t testing.TB, o classroom.InstructorOptions) *room {
	t.Helper()
	r := &room{t: t, folder: t.TempDir(), bell: newBell()}
	c, b, err := classroom.NewClass(r.folder, "Tuesday", nil, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	o.Libraries, o.Changed = shipped(), r.bell.ring
	r.i, err = classroom.NewInstructor(c, b, o)
	if err != nil {
		t.Fatal(err)
	}
	hub, err := natslink.Open(options(r.folder, r.i, 0), r.i)
	if err != nil {
		t.Fatal(err)
	}
	r.i.Attach(hub)
	r.addr = hub.Addresses()[0]
	t.Cleanup(func() {
		if err := r.i.Close(); err != nil {
			t.Error(err)
		}
	})
	return r
}

// sit joins a simulated station.
func (r *room) sit(seat *simulated.Seat, address string) (*classroom.Station, classroom.Identity) {
	r.t.Helper()
	return sit(r.t, seat, address, r.i.JoinCode(), r.bell)
}

func sit(t testing.TB, seat *simulated.Seat, address string, code classroom.JoinCode, b bell) (*classroom.Station, classroom.Identity) {
	t.Helper()
	if seat.Stop == nil {
		ctx, stop := context.WithCancel(context.Background())
		seat.Stop = ctx
		t.Cleanup(stop)
	}
	seat.Told = b.ring
	id, err := classroom.IdentityFor(t.TempDir(), code, address, "", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	s, err := classroom.Join(id, classroom.StationOptions{Libraries: shipped(), Seat: seat}, func(id classroom.Identity, e classroom.Ear) (classroom.Link, error) {
		return natslink.Dial(id, natslink.Calling{Digits: code.Digits, Wait: 50 * time.Millisecond}, e)
	})
	if err != nil {
		t.Fatal(err)
	}
	seat.Sit(s)
	t.Cleanup(s.Close)
	return s, id
}

// fly announces the drill, gives "go" when so many stations are ready, and returns
// when they have begun. On a machine that is busy one may hear of "go" too late.
func (r *room) fly(ready int) classroom.Drill {
	r.t.Helper()
	d, err := r.i.Announce(drill, classroom.Together)
	if err != nil {
		r.t.Fatal(err)
	}
	r.bell.until(r.t, fmt.Sprintf("%d stations are ready", ready), func() bool { return r.i.Tally().Ready >= ready })
	if err := r.i.Go(time.Second); err != nil {
		r.t.Fatal(err)
	}
	r.bell.until(r.t, fmt.Sprintf("%d stations have begun", ready), func() bool {
		_ = r.i.LetIn() // mostly there is nobody
		tally := r.i.Tally()
		return tally.Flying+tally.Finished >= ready
	})
	return d
}

// whole checks that the runs of a book are what was flown, to the bit.
func whole(t testing.TB, b *classroom.Book, runs, events int) {
	t.Helper()
	stored, err := b.Runs("")
	if err != nil || len(stored) != runs {
		t.Errorf("%d runs are stored, want %d (%v)", len(stored), runs, err)
	}
	for _, r := range stored {
		got, err := b.Events(r.Run)
		if err != nil || !r.Ended || !simulated.Same(got, simulated.Events(r.Run, events)) {
			t.Errorf("a run has %d of %d events, ended %v (%v)", len(got), events, r.Ended, err)
		}
	}
}

func TestStationsJoinFlyAndDeliver(t *testing.T) {
	r := open(t)
	var stations []*classroom.Station
	for range 5 {
		s, _ := r.sit(&simulated.Seat{Events: 120}, r.addr)
		stations = append(stations, s)
	}
	r.fly(5)
	r.bell.until(t, "all runs are delivered", func() bool {
		for _, s := range stations {
			if s.Status().Drill == "" || s.Status().Waiting > 0 {
				return false
			}
		}
		runs, err := r.i.Book().Runs("")
		return err == nil && len(runs) == 5
	})
	whole(t, r.i.Book(), 5, 120)
}

func TestAWrongCodeIsRefused(t *testing.T) {
	r := open(t)
	code := r.i.JoinCode()
	wrong := code
	wrong.Digits = "000000"
	if wrong.Digits == code.Digits {
		wrong.Digits = "000001"
	}
	s, _ := sit(t, &simulated.Seat{}, r.addr, wrong, r.bell)
	r.bell.until(t, "it is refused", func() bool { return s.Status().Refused })
	if n := s.Status().Notice; n != classroom.ErrRefused.Error() {
		t.Errorf("it says %q", n)
	}
	if n := len(r.i.Rows(false)); n != 0 {
		t.Errorf("%d stations are on the board", n)
	}
}

// Whoever types a code that was on the projector and is no longer valid is told just
// that, is never in the class, and can do nothing there meanwhile.
func TestAnOldCodeIsToldApart(t *testing.T) {
	clock := &later{}
	r := openWith(t, classroom.InstructorOptions{Clock: clock})
	code := r.i.JoinCode()
	clock.by.Add(int64(16 * time.Minute))
	s, id := sit(t, &simulated.Seat{}, r.addr, code, r.bell)
	r.bell.until(t, "it is refused", func() bool { return s.Status().Refused })
	if n := s.Status().Notice; n != classroom.ErrOldCode.Error() {
		t.Errorf("it says %q", n)
	}
	if n := len(r.i.Rows(false)); n != 0 || s.Status().Number != 0 {
		t.Errorf("%d stations are on the board", n)
	}
	// As somebody would who stays as long as he can: he is put out, and hears nothing.
	out, heard := make(chan struct{}), make(chan *nats.Msg, 16)
	nc, err := nats.Connect("tls://"+r.addr, nats.UserInfo(string(id.Station), id.Secret+"."+code.Digits), nats.NoReconnect(),
		nats.Timeout(patience), nats.Secure(&tls.Config{InsecureSkipVerify: true}), nats.TLSHandshakeFirst(), nats.ClosedHandler(func(*nats.Conn) { close(out) }),
		nats.ErrorHandler(func(*nats.Conn, *nats.Subscription, error) {}))
	if err != nil {
		return // it was put out before it was in
	}
	_, _ = nc.ChanSubscribe(">", heard) // whatever comes of it
	<-out
	if len(heard) > 0 {
		t.Errorf("it heard %q", (<-heard).Subject)
	}
}

// A machine that answers with another certificate, as somebody between would,
// is sent nothing: not even the code.
func TestAnotherCertificateIsNotTrusted(t *testing.T) {
	r, between := open(t), open(t)
	s, _ := sit(t, &simulated.Seat{}, between.addr, r.i.JoinCode(), r.bell)
	r.bell.until(t, "it says so", func() bool { return s.Status().Notice == classroom.ErrUntrusted.Error() })
	if n := len(between.i.Rows(false)); n != 0 {
		t.Errorf("the machine between has %d stations", n)
	}
}

// The class is taken up by another program on the same folder and port, and
// stations come back without a code.
func TestTheClassIsReopened(t *testing.T) {
	r := open(t)
	id := r.i.Class().ID
	_, port, _ := strings.Cut(r.addr, ":")
	s, _ := r.sit(&simulated.Seat{}, r.addr)
	r.bell.until(t, "it is here", func() bool { return s.Status().Connected && r.i.Tally().Here == 1 })
	if err := r.i.Close(); err != nil {
		t.Fatal(err)
	}
	r.bell.until(t, "it knows that the class is closed", func() bool { return !s.Status().Connected })
	c, b, err := classroom.Reopen(r.folder, id)
	if err != nil {
		t.Fatal(err)
	}
	r.i, err = classroom.NewInstructor(c, b, classroom.InstructorOptions{Libraries: shipped(), Changed: r.bell.ring})
	if err != nil {
		t.Fatal(err)
	}
	var number int
	fmt.Sscan(port, &number)
	r.i.Shut(true)
	hub, err := natslink.Open(options(r.folder, r.i, number), r.i)
	if err != nil {
		t.Fatal(err)
	}
	r.i.Attach(hub)
	r.bell.until(t, "it is back", func() bool { return s.Status().Connected && r.i.Tally().Here == 1 })
}

// A port that somebody has is told, in a sentence.
func TestATakenPort(t *testing.T) {
	r := open(t)
	_, port, _ := strings.Cut(r.addr, ":")
	var number int
	fmt.Sscan(port, &number)
	o := options(t.TempDir(), r.i, number)
	hub, err := natslink.Open(o, r.i)
	if err == nil {
		hub.Close()
		t.Fatal("two classes listen on one port")
	}
	var taken *classroom.PortError
	if !errors.As(err, &taken) || !taken.Taken || taken.Free == number || !strings.Contains(err.Error(), "another program has port "+port) {
		t.Errorf("it says %q, and offers %+v", err, taken)
	}
	// An address for documentation (RFC 5737), which no machine of ours has.
	o.Host = "192.0.2.213"
	if hub, err := natslink.Open(o, r.i); err == nil {
		hub.Close()
		t.Fatal("it listens on a network that is not there")
	} else if !errors.As(err, &taken) || taken.Taken || !strings.Contains(err.Error(), "may have left that network") {
		t.Errorf("on a network that is not there it says %q", err)
	}
}

// Nothing listens but what was chosen, and nothing after the class is closed.
func TestListensOnlyWhileOpen(t *testing.T) {
	o := natslink.Options{Spool: t.TempDir()}
	if hub, err := natslink.Open(o, nil); err == nil {
		hub.Close()
		t.Error("a class opened without a network having been chosen")
	}
	r := open(t)
	if err := dialTLS(r.addr); err != nil {
		t.Fatalf("while it is open: %v", err)
	}
	addr := r.addr
	r.i.Close()
	if err := dialTLS(addr); err == nil {
		t.Error("it listens after it was closed")
	}
}
