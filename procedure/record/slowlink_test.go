package record_test

import (
	"errors"
	"io"
	"net"
	"net/url"
	"path/filepath"
	"sync/atomic"
	"testing"

	"kickover/procedure/record"
	"kickover/procedure/record/postgrestest"
)

// link passes connections on to a server. While it stands, what the server sends
// arrives no more, and the connections on which it was to arrive stay so.
type link struct{ stands atomic.Bool }

// through gives the way to a database over the link.
func (l *link) through(t *testing.T, dsn string) string {
	t.Helper()
	address, err := url.Parse(dsn)
	if err != nil {
		t.Fatal(err)
	}
	// The socket's name is that of libpq-connect's "host" for a folder.
	const socket = ".s.PGSQL.5432"
	query, folder := address.Query(), t.TempDir()
	server := filepath.Join(query.Get("host"), socket)
	door, err := net.Listen("unix", filepath.Join(folder, socket))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { door.Close() })
	go func() {
		for {
			near, err := door.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("unix", server)
			if err != nil {
				near.Close()
				continue
			}
			go func() {
				io.Copy(far, near)
				far.Close()
				near.Close()
			}()
			go l.carry(near, far)
		}
	}()
	query.Set("host", folder)
	address.RawQuery = query.Encode()
	return address.String()
}

// carry passes on what the server sends for as long as the link does not stand.
func (l *link) carry(near, far net.Conn) {
	for buf := make([]byte, 8192); ; {
		n, err := far.Read(buf)
		if l.stands.Load() {
			return
		}
		if n > 0 {
			if _, err := near.Write(buf[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

// Somebody has seen enough of a long reading over a link that brings nothing more:
// the rest is not waited for, and the store is of use again.
func TestAReadingThatIsCalledOffWaitsForNothing(t *testing.T) {
	dsn := postgrestest.DSN(t)
	if err := store(t, dsn, 10, 3).Close(); err != nil {
		t.Fatal(err)
	}
	// A megabyte: much more than lies on its way between two ends of a socket.
	execSQL(t, dsn, "UPDATE "+schemaOf(dsn)+".runs SET program = repeat('k', 100000)")
	l := &link{}
	s := open(t, l.through(t, dsn))
	off := errors.New("called off")
	list, err := s.HistoryAsRead("", record.Filter{}, func(runs int) error {
		if runs < 4 {
			return nil
		}
		l.stands.Store(true)
		return off
	})
	if !errors.Is(err, off) || len(list) != 4 {
		t.Errorf("%d runs, %v; want 4 and the reader's own error", len(list), err)
	}
	l.stands.Store(false)
	if flown, err := s.Flown(""); err != nil || len(flown) != 3 {
		t.Errorf("afterwards: %d flows, %v; want the 3 that were flown", len(flown), err)
	}
}
