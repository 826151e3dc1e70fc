package record_test

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib"

	"kickover/procedure/record"
)

// The tests that hold for any store run on a file and on a PostgreSQL of their
// own, started from the system's package in a temporary folder, reached by a
// socket there, and gone when they are over.

// onBoth runs a test once for each kind of database. fresh names a store that
// does not exist yet.
func onBoth(t *testing.T, test func(t *testing.T, fresh func() string)) {
	t.Run("SQLite", func(t *testing.T) {
		test(t, func() string { return filepath.Join(t.TempDir(), "a folder with ? and % in it", "runs.db") })
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		test(t, func() string { return freshPostgres(t) })
	})
}

var schemas atomic.Int64

func freshPostgres(t testing.TB) string {
	t.Helper()
	folder, err := server()
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("postgres://kickover@/postgres?host=%s&search_path=test_%d_%d", folder, os.Getpid(), schemas.Add(1))
}

// server starts the server once and gives the folder of its socket.
var server = sync.OnceValues(func() (string, error) {
	bin, err := postgresPrograms()
	if err != nil {
		return "", err
	}
	folder, err := os.MkdirTemp("", "kickover-postgres")
	if err != nil {
		return "", err
	}
	atEnd = append(atEnd, func() { os.RemoveAll(folder) })
	as, err := stepDown(folder)
	if err != nil {
		return "", err
	}
	data := filepath.Join(folder, "data")
	initialise := exec.Command(filepath.Join(bin, "initdb"), "-D", data, "-U", "kickover", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
	initialise.SysProcAttr, initialise.Dir = as, folder
	if out, err := initialise.CombinedOutput(); err != nil {
		return "", fmt.Errorf("initdb: %w\n%s", err, out)
	}
	// The shell ends the server when this program closes its input or dies.
	serve := exec.Command("sh", "-c", `"$@" & server=$!; read _; kill -INT $server; wait $server`, "sh",
		filepath.Join(bin, "postgres"), "-D", data, "-k", folder, "-c", "listen_addresses=", "-c", "fsync="+fsync)
	serve.SysProcAttr, serve.Dir = as, folder
	input, err := serve.StdinPipe()
	if err != nil {
		return "", err
	}
	log, err := serve.StderrPipe()
	if err != nil {
		return "", err
	}
	if err := serve.Start(); err != nil {
		return "", err
	}
	atEnd = append(atEnd, func() { input.Close(); serve.Wait() })
	lines := bufio.NewReader(log)
	var said strings.Builder
	for {
		line, err := lines.ReadString('\n')
		said.WriteString(line)
		if strings.Contains(line, "ready to accept connections") {
			break
		}
		if err != nil {
			return "", fmt.Errorf("the server does not start: %w\n%s", err, said.String())
		}
	}
	go io.Copy(io.Discard, lines)
	return folder, nil
})

// fsync is off in tests, which kill programs and not the machine.
var fsync = "off"

// atEnd is called after all tests, the last first.
var atEnd []func()

func runAtEnd() {
	for _, end := range slices.Backward(atEnd) {
		end()
	}
}

// postgresPrograms is where the server's programs are: Debian keeps them off the
// path, by version.
func postgresPrograms() (string, error) {
	if found, err := exec.LookPath("initdb"); err == nil {
		return filepath.Dir(found), nil
	}
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil || len(found) == 0 {
		return "", errors.New("PostgreSQL is not installed, and these tests run on it; install the package postgresql (.ci/setup test does)")
	}
	return filepath.Dir(found[len(found)-1]), nil
}

// stepDown gives a process the rights of somebody else if this one is root's,
// since the server refuses root.
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
	uid, err := strconv.Atoi(somebody.Uid)
	if err != nil {
		return nil, err
	}
	gid, err := strconv.Atoi(somebody.Gid)
	if err != nil {
		return nil, err
	}
	as := &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
	return as, os.Chown(folder, uid, gid)
}

func TestPostgresThatIsNotThere(t *testing.T) {
	_, err := record.Open("postgres://somebody:secret@/school?host=" + t.TempDir())
	if !errors.Is(err, record.ErrUnreachable) || !strings.Contains(err.Error(), "look at the network") {
		t.Errorf("%v, want ErrUnreachable and what to do", err)
	}
	if strings.Contains(fmt.Sprint(err), "secret") {
		t.Errorf("the password is told: %v", err)
	}
}

func TestPostgresTablesThatAreNotOursAreLeftAlone(t *testing.T) {
	dsn := freshPostgres(t)
	execSQL(t, dsn, "CREATE SCHEMA IF NOT EXISTS "+schemaOf(dsn), "CREATE TABLE "+schemaOf(dsn)+".runs (miles INTEGER)")
	if _, err := record.Open(dsn); !errors.Is(err, record.ErrForeign) {
		t.Errorf("%v, want ErrForeign", err)
	}
}

func TestPostgresOfANewerVersionIsLeftAlone(t *testing.T) {
	dsn := freshPostgres(t)
	if err := open(t, dsn).Close(); err != nil {
		t.Fatal(err)
	}
	execSQL(t, dsn, "UPDATE "+schemaOf(dsn)+".kickover_schema SET version = 99")
	if _, err := record.Open(dsn); !errors.Is(err, record.ErrNewer) {
		t.Errorf("%v, want ErrNewer", err)
	}
}

// The server ends every connection in the middle of a run, as when it is
// started anew.
func TestJournalOutlivesItsConnections(t *testing.T) {
	dsn := freshPostgres(t)
	s := open(t, dsn)
	j := watch(s, inventedHeader(0))
	events := inventedEvents(0, 200)
	if err := j.Append(events[:100]...); err != nil {
		t.Fatal(err)
	}
	j.untilDurable(100)
	execSQL(t, dsn, "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE application_name = 'kickover' AND pid <> pg_backend_pid()")
	if err := j.Append(events[100:]...); err != nil {
		t.Fatal(err)
	}
	for {
		status := <-j.statuses
		if status.Durable == 200 {
			break
		}
		if status.Err != nil {
			if !errors.Is(status.Err, record.ErrUnreachable) || !strings.Contains(status.Notice, "kept in memory") {
				t.Errorf("%+v, want ErrUnreachable and a notice", status)
			}
			j.retry <- time.Time{}
		}
	}
	if err := j.Close(context.Background()); err != nil {
		t.Fatal(err)
	}
	wantRun(t, s, 0, 200)
}

// execSQL runs statements as another program would.
func execSQL(t testing.TB, dsn string, statements ...string) {
	t.Helper()
	db, err := sql.Open("pgx", dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, statement := range statements {
		if _, err := db.Exec(statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
}

func schemaOf(dsn string) string {
	u, err := url.Parse(dsn)
	if err != nil {
		panic(err)
	}
	return u.Query().Get("search_path")
}
