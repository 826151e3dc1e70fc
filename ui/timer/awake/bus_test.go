//go:build !windows && !darwin

package awake

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/godbus/dbus/v5"
)

// alone is a bus that starts nothing by itself: the system's own session bus would
// start the desktop's services, where there are some, for whoever asks for one (its
// elements are those of dbus-daemon(1), "CONFIGURATION FILE").
const alone = `<busconfig><type>session</type><listen>unix:dir=%s</listen><policy context="default">
<allow send_destination="*"/><allow receive_sender="*"/><allow own="*"/></policy></busconfig>`

// sessionBus runs a bus of the test's own and gives how to reach it. It needs
// dbus-daemon, of the Debian package of that name.
func sessionBus(t *testing.T) func(...dbus.ConnOption) (*dbus.Conn, error) {
	t.Helper()
	folder := t.TempDir()
	config := filepath.Join(folder, "bus.conf")
	if err := os.WriteFile(config, fmt.Appendf(nil, alone, folder), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("dbus-daemon", "--config-file="+config, "--nofork", "--print-address")
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatalf("%v: install dbus", err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	address, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	return func(o ...dbus.ConnOption) (*dbus.Conn, error) { return dbus.Connect(strings.TrimSpace(address), o...) }
}

// desktop is a desktop that notes what it is asked.
type desktop struct {
	heard chan string
	refus bool
}

func (d *desktop) Inhibit(app, reason string) (uint32, *dbus.Error) {
	if d.refus {
		return 0, dbus.MakeFailedError(errors.New("not today"))
	}
	d.heard <- "saver on: " + app + ", " + reason
	return 42, nil
}

func (d *desktop) UnInhibit(cookie uint32) *dbus.Error {
	d.heard <- fmt.Sprint("saver off: ", cookie)
	return nil
}

// gate is the portal of such a desktop.
type gate struct{ heard chan string }

func (g *gate) Inhibit(window string, flags uint32, options map[string]dbus.Variant) (dbus.ObjectPath, *dbus.Error) {
	g.heard <- fmt.Sprintf("portal on: %d, %v", flags, options["reason"].Value())
	return "/org/freedesktop/portal/desktop/request/1", nil
}

func (g *gate) Close() *dbus.Error {
	g.heard <- "portal off"
	return nil
}

func serve(t *testing.T, dial func(...dbus.ConnOption) (*dbus.Conn, error), name string, exports func(*dbus.Conn) error) {
	t.Helper()
	conn, err := dial()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	if err := exports(conn); err != nil {
		t.Fatal(err)
	}
	if reply, err := conn.RequestName(name, dbus.NameFlagDoNotQueue); err != nil || reply != dbus.RequestNameReplyPrimaryOwner {
		t.Fatal(reply, err)
	}
}

func serveSaver(t *testing.T, dial func(...dbus.ConnOption) (*dbus.Conn, error), d *desktop) {
	const name = "org.freedesktop.ScreenSaver"
	serve(t, dial, name, func(c *dbus.Conn) error { return c.Export(d, "/org/freedesktop/ScreenSaver", name) })
}

func TestTheScreenSaverIsAsked(t *testing.T) {
	dial := sessionBus(t)
	d := &desktop{heard: make(chan string, 10)}
	serveSaver(t, dial, d)
	display := New("Kickover", "an engine start is timed")
	display.by = &bus{dial: dial}
	for _, on := range []bool{true, true, false, false, true} {
		if err := display.Set(on); err != nil {
			t.Fatalf("set %v: %v", on, err)
		}
	}
	if err := display.Close(); err != nil {
		t.Fatal(err)
	}
	var got []string
	for range 4 {
		got = append(got, <-d.heard)
	}
	for len(d.heard) > 0 { // each was heard before it was answered
		got = append(got, <-d.heard)
	}
	const on, off = "saver on: Kickover, an engine start is timed", "saver off: 42"
	if want := []string{on, off, on, off}; !reflect.DeepEqual(got, want) {
		t.Errorf("heard %q, want %q", got, want)
	}
}

func TestThePortalIsAskedNext(t *testing.T) {
	dial := sessionBus(t)
	d := &desktop{refus: true}
	serveSaver(t, dial, d)
	g := &gate{heard: make(chan string, 10)}
	serve(t, dial, "org.freedesktop.portal.Desktop", func(c *dbus.Conn) error {
		return errors.Join(
			c.Export(g, "/org/freedesktop/portal/desktop", "org.freedesktop.portal.Inhibit"),
			c.Export(g, "/org/freedesktop/portal/desktop/request/1", "org.freedesktop.portal.Request"),
		)
	})
	display := New("Kickover", "why")
	display.by = &bus{dial: dial}
	if err := errors.Join(display.Set(true), display.Set(false)); err != nil {
		t.Fatal(err)
	}
	if on, off := <-g.heard, <-g.heard; on != "portal on: 8, why" || off != "portal off" {
		t.Errorf("heard %q, %q", on, off)
	}
}

// The bus takes a request back when its owner is gone, so the connection is what
// holds it: it is there while the display is held, and gone after.
func TestTheConnectionHolds(t *testing.T) {
	dial := sessionBus(t)
	serveSaver(t, dial, &desktop{heard: make(chan string, 10)})
	b := &bus{dial: dial}
	display := New("Kickover", "why")
	display.by = b
	if err := display.Set(true); err != nil {
		t.Fatal(err)
	}
	conn := b.conn
	if !conn.Connected() {
		t.Error("not connected while held")
	}
	if err := display.Set(false); err != nil {
		t.Fatal(err)
	}
	if conn.Connected() {
		t.Error("still connected after")
	}
}

func TestADesktopThatCannotBeAsked(t *testing.T) {
	dial := sessionBus(t)
	display := New("Kickover", "why")
	display.by = &bus{dial: dial}
	if err := display.Set(true); err == nil || !strings.Contains(err.Error(), "cannot be asked") {
		t.Errorf("got %v", err)
	}
	if err := display.Set(false); err != nil {
		t.Errorf("letting go of what is not held: %v", err)
	}
	display.by = &bus{dial: func(...dbus.ConnOption) (*dbus.Conn, error) { return nil, errors.New("nobody home") }}
	if err := display.Set(true); err == nil || !strings.Contains(err.Error(), "no session bus") {
		t.Errorf("got %v", err)
	}
}
