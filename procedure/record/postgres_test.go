package record_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib"

	"kickover/procedure/record"
	"kickover/procedure/record/postgrestest"
)

// onBoth runs a test that holds for any store, once for each kind of database.
// fresh names a store that does not exist yet.
func onBoth(t *testing.T, test func(t *testing.T, fresh func() string)) {
	t.Run("SQLite", func(t *testing.T) {
		test(t, func() string { return filepath.Join(t.TempDir(), "a folder with ? and % in it", "runs.db") })
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		test(t, func() string { return postgrestest.DSN(t) })
	})
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
	dsn := postgrestest.DSN(t)
	execSQL(t, dsn, "CREATE SCHEMA IF NOT EXISTS "+schemaOf(dsn), "CREATE TABLE "+schemaOf(dsn)+".runs (miles INTEGER)")
	if _, err := record.Open(dsn); !errors.Is(err, record.ErrForeign) {
		t.Errorf("%v, want ErrForeign", err)
	}
}

func TestPostgresOfANewerVersionIsLeftAlone(t *testing.T) {
	dsn := postgrestest.DSN(t)
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
	dsn := postgrestest.DSN(t)
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

// isGone waits until nothing of a program that was killed is left in its store: a
// server may still be at the last of what it was asked for, and commit that while a
// test looks.
func isGone(t testing.TB, path string) {
	t.Helper()
	if !strings.HasPrefix(path, "postgres:") {
		return // the file is nobody's any more
	}
	// A connection that is ended is waited for (pg_terminate_backend with a time limit,
	// postgresql.org/docs/current/functions-admin.html); it has no transaction then.
	execSQL(t, path, "SELECT pg_terminate_backend(pid, 60000) FROM pg_stat_activity WHERE application_name = 'kickover' AND pid <> pg_backend_pid()")
}

func schemaOf(dsn string) string {
	u, err := url.Parse(dsn)
	if err != nil {
		panic(err)
	}
	return u.Query().Get("search_path")
}

// fullDisk has the server say of every new event what it says when its disk is
// full: class 53, "disk_full" (postgresql.org/docs/current/errcodes-appendix.html).
// A real disk is filled by postgrestest/fulldisk.
func fullDisk(t *testing.T, dsn string, full bool) {
	t.Helper()
	schema := schemaOf(dsn)
	if !full {
		execSQL(t, dsn, "DROP TRIGGER full_disk ON "+schema+".events")
		return
	}
	execSQL(t, dsn,
		"CREATE FUNCTION "+schema+".full_disk() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE 'could not extend file: No space left on device' USING ERRCODE = '53100'; END $$",
		"CREATE TRIGGER full_disk BEFORE INSERT ON "+schema+".events FOR EACH ROW EXECUTE FUNCTION "+schema+".full_disk()")
}

func TestJournalOutlivesAServersFullDisk(t *testing.T) {
	dsn := postgrestest.DSN(t)
	s := open(t, dsn)
	j := watch(s, inventedHeader(0))
	events := inventedEvents(0, 300)
	if err := j.Append(events[:100]...); err != nil {
		t.Fatal(err)
	}
	j.untilDurable(100)

	fullDisk(t, dsn, true)
	if err := j.Append(events[100:]...); err != nil {
		t.Fatal(err)
	}
	for try := range 3 {
		if try > 0 {
			j.retry <- time.Time{}
		}
		status := j.untilFailed()
		if !errors.Is(status.Err, record.ErrFull) || status.Durable != 100 || status.Waiting != 200 {
			t.Fatalf("on a full disk: %+v", status)
		}
		for _, said := range []string{"disk is full", "kept in memory", "the database postgres", "free some space"} {
			if !strings.Contains(status.Notice, said) {
				t.Errorf("notice %q does not say %q", status.Notice, said)
			}
		}
	}
	wantRun(t, s, 0, 100)
	if in, err := s.Import(strings.NewReader(exportKind(t, store(t, filepath.Join(t.TempDir(), "runs.db"), 3, 10), record.KindRuns, record.JSONLines))); !errors.Is(err, record.ErrFull) || in.Added > 0 {
		t.Errorf("import: %+v, %v; want ErrFull", in, err)
	}

	fullDisk(t, dsn, false)
	j.retry <- time.Time{}
	if status := j.untilDurable(300); status.Notice != "" {
		t.Errorf("there is room again, but the notice is %q", status.Notice)
	}
	if err := j.Close(context.Background()); err != nil {
		t.Fatal(err)
	}
	wantRun(t, s, 0, 300)
}
