// Package postgrestest gives tests a PostgreSQL of their own, from the system's
// package: in a temporary folder, reached by a socket there, and gone with the
// test's process. Call [DSN].
package postgrestest

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
)

var (
	places atomic.Int64
	//lint:ignore U1000 it is held and never read
	held io.Closer // the server's input, open until this process ends
)

// Durable has the server flush what it commits, as a school's does: for a bench.
// Set it before the first DSN. Tests kill programs, not the machine, and go without.
var Durable bool

// DSN is a place of its own on the server, which is started when first asked for.
func DSN(t testing.TB) string {
	t.Helper()
	dsn, err := Place()
	if err != nil {
		t.Fatal(err)
	}
	return dsn
}

// Place is DSN for a program that is no test.
func Place() (dsn string, err error) {
	folder, err := server()
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("postgres://kickover@/postgres?host=%s&search_path=test%d", folder, places.Add(1)), nil
}

// serve makes and runs the server, and removes everything when its input is
// closed, as by this process's end.
const serve = `set -e
"$1/initdb" -D "$2/data" -U kickover -A trust -E UTF8 --locale=C --no-sync >&2
"$1/postgres" -D "$2/data" -k "$2" -c listen_addresses= -c "fsync=$3" &
server=$!
read _ || true
kill -INT $server
wait $server || true
cd / && rm -rf "$2"`

var server = sync.OnceValues(func() (folder string, err error) {
	programs, err := programs()
	if err != nil {
		return "", err
	}
	if folder, err = os.MkdirTemp("", "kickover-postgres"); err != nil {
		return "", err
	}
	fsync := "off"
	if Durable {
		fsync = "on"
	}
	c := exec.Command("sh", "-c", serve, "sh", programs, folder, fsync)
	c.Dir = folder
	if c.SysProcAttr, err = stepDown(folder); err != nil {
		return "", err
	}
	if held, err = c.StdinPipe(); err != nil {
		return "", err
	}
	log, err := c.StderrPipe()
	if err != nil {
		return "", err
	}
	if err := c.Start(); err != nil {
		return "", err
	}
	var said strings.Builder
	for lines := bufio.NewReader(log); ; {
		line, err := lines.ReadString('\n')
		said.WriteString(line)
		if strings.Contains(line, "ready to accept connections") {
			go io.Copy(io.Discard, lines)
			return folder, nil
		}
		if err != nil {
			return "", fmt.Errorf("PostgreSQL does not start: %w\n%s", err, said.String())
		}
	}
})

// programs is where the server's programs are: Debian keeps them off the path,
// by version.
func programs() (string, error) {
	if found, err := exec.LookPath("initdb"); err == nil {
		return filepath.Dir(found), nil
	}
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil || len(found) == 0 {
		return "", errors.New("PostgreSQL is not installed, and these tests run on it; install the package postgresql (.ci/setup test does)")
	}
	return filepath.Dir(found[len(found)-1]), nil
}

// stepDown gives a process somebody else's rights if this one is root's, since
// the server refuses root.
func stepDown(folder string) (*syscall.SysProcAttr, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	somebody, err := user.Lookup("postgres")
	if err != nil {
		if somebody, err = user.Lookup("nobody"); err != nil {
			return nil, err
		}
	}
	uid, e1 := strconv.Atoi(somebody.Uid)
	gid, e2 := strconv.Atoi(somebody.Gid)
	if err := errors.Join(e1, e2); err != nil {
		return nil, err
	}
	return &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}, os.Chown(folder, uid, gid)
}
