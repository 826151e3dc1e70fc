package record_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/procedure/record"
)

// school puts invented people into a store, and two runs, a real start and a
// sign-off that are the student's.
func school(t testing.TB, s *record.Store) (student, instructor record.Person) {
	t.Helper()
	add := func(name string, role record.Role) record.Person {
		p, err := s.AddPerson(record.Person{Name: name, Role: role, Added: time.Date(2026, 2, 1, 0, 0, 0, 5, time.UTC)})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	student, instructor = add("Imke Vandersloot", record.Student), add("Otto Fährmann", record.Instructor)
	add("Other Student", record.Student)
	for n := range 3 {
		h := inventedHeader(n)
		if n < 2 {
			h.Person = student.ID
		}
		r, err := s.Begin(h)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(r.Append(inventedEvents(n, 20)...), r.Finish(inventedSummary)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.Sign(record.SignOff{
		ID: "SIGNOFF0000000000000000001", Student: student.ID, Instructor: instructor.ID, Run: inventedHeader(1).ID,
		Signed: time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC), Remarks: "steady hand",
	}); err != nil {
		t.Fatal(err)
	}
	start := record.RealStart{Start: inventedStart, Person: student.ID}
	if _, err := s.KeepStarts(start); err != nil {
		t.Fatal(err)
	}
	return student, instructor
}

var inventedStart = realstart.Start{
	ID: "ZZ-TST@2026-03-03T08:00:00.000Z", Registration: "ZZ-TST", Aircraft: "brindle-180", At: time.Date(2026, 3, 3, 8, 0, 0, 0, time.UTC),
	Situation: "cold", OATCelsius: 4.5, AltitudeM: math.NaN(), SinceShutdown: 9 * time.Hour, ShutdownKnown: true,
	Prime: 4200 * time.Millisecond, Attempts: 1, Outcome: procedure.Started, Note: "frost on the wings, \"really\"",
}

func TestHistoryIsOnePersonsRunsWithTheirSteps(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		student, _ := school(t, s)
		history, err := s.History(student.ID, record.Filter{})
		if err != nil || len(history) != 2 {
			t.Fatalf("%d runs, %v; want the student's two", len(history), err)
		}
		for n, l := range history {
			if l.Header.ID != inventedHeader(n).ID || l.Header.Person != student.ID || !reflect.DeepEqual(l.Summary, inventedSummary) {
				t.Errorf("place %d: %+v, want run %d with its steps: oldest first", n, l, n)
			}
		}
		if some, err := s.History(student.ID, record.Filter{Flow: inventedHeader(1).Flow}); err != nil || len(some) != 1 {
			t.Errorf("one flow: %d runs, %v; want 1", len(some), err)
		}
		if nobodys, err := s.History("", record.Filter{}); err != nil || len(nobodys) != 1 || nobodys[0].Header.ID != inventedHeader(2).ID {
			t.Errorf("nobody's: %d runs, %v; want the third", len(nobodys), err)
		}
		if err := s.Assign(inventedHeader(2).ID, student.ID); err != nil {
			t.Fatal(err)
		}
		if list, err := s.Runs(record.Filter{Person: student.ID}, record.Page{}); err != nil || len(list) != 3 {
			t.Errorf("after the third was assigned: %d runs, %v", len(list), err)
		}
		if err := s.Assign(inventedHeader(2).ID, "nobody known"); !errors.Is(err, record.ErrNoPerson) {
			t.Errorf("to somebody unknown: %v, want ErrNoPerson", err)
		}
	})
}

func TestErasedPeopleAreGone(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		student, instructor := school(t, s)
		want := record.Traces{Runs: 2, RealStarts: 1, SignOffs: 1}
		if traces, err := s.Traces(student.ID); err != nil || traces != want {
			t.Errorf("traces %+v, %v; want %+v", traces, err, want)
		}
		if erased, err := s.Erase(student.ID); err != nil || erased != want {
			t.Errorf("erased %+v, %v; want %+v", erased, err, want)
		}
		if _, err := s.Person(student.ID); !errors.Is(err, record.ErrNoPerson) {
			t.Errorf("the person: %v, want ErrNoPerson", err)
		}
		list, err := s.Runs(record.Filter{}, record.Page{})
		starts, err2 := s.RealStarts(record.StartFilter{})
		signed, err3 := s.SignOffs("")
		if err := errors.Join(err, err2, err3); err != nil || len(list) != 1 || len(starts) != 0 || len(signed) != 0 {
			t.Errorf("left: %d runs, %d starts, %d sign-offs, %v; want the other's run", len(list), len(starts), len(signed), err)
		}
		if people, err := s.People(); err != nil || len(people) != 2 || people[1].ID != instructor.ID {
			t.Errorf("left: %v, %v", people, err)
		}
		if _, err := s.Erase(student.ID); !errors.Is(err, record.ErrNoPerson) {
			t.Errorf("twice: %v, want ErrNoPerson", err)
		}
	})
}

// What leaves with a person can be taken in elsewhere, and holds nobody else's runs.
func TestAPersonLeavesWithAllThatNamesThem(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		student, _ := school(t, s)
		var file bytes.Buffer
		if err := s.ExportPerson(&file, student.ID); err != nil {
			t.Fatal(err)
		}
		other := open(t, fresh())
		in, err := other.Import(&file)
		if err != nil || len(in.Problems) > 0 {
			t.Fatalf("taken in: %+v, %v", in, err)
		}
		want, err := s.Traces(student.ID)
		if got, err2 := other.Traces(student.ID); err != nil || err2 != nil || got != want {
			t.Errorf("elsewhere there are %v, %v, %v; want %v", got, err, err2, want)
		}
		if list, err := other.Runs(record.Filter{}, record.Page{}); err != nil || len(list) != want.Runs {
			t.Errorf("%d runs went along, %v; want the person's %d", len(list), err, want.Runs)
		}
		if err := s.ExportPerson(io.Discard, "nobody-here"); !errors.Is(err, record.ErrNoPerson) {
			t.Errorf("somebody unknown: %v, want ErrNoPerson", err)
		}
	})
}

// Erased is erased: in the file and in its log.
func TestErasedPeopleLeaveNoTraceInTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "runs.db")
	s := open(t, path)
	student, _ := school(t, s)
	if _, err := s.Erase(student.ID); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{path, path + "-wal"} {
		content, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, trace := range []string{"Vandersloot", student.ID, "steady hand", "frost on the wings", inventedHeader(0).ID} {
			if bytes.Contains(content, []byte(trace)) {
				t.Errorf("%s still holds %q", filepath.Base(name), trace)
			}
		}
	}
}

func TestSigning(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		student, instructor := school(t, s)
		signed, err := s.SignOffs(student.ID)
		if err != nil || len(signed) != 1 || signed[0].Flow != inventedHeader(1).Flow || signed[0].Aircraft != "brindle-180" {
			t.Errorf("%+v, %v; want the run's aircraft and flow", signed, err)
		}
		if other, err := s.SignOffs(instructor.ID); err != nil || !reflect.DeepEqual(other, signed) {
			t.Errorf("the instructor's: %+v, %v; want the same", other, err)
		}
		for _, c := range []struct {
			name string
			sign record.SignOff
			want error
		}{
			{"for oneself", record.SignOff{Student: instructor.ID, Instructor: instructor.ID, Aircraft: "a", Flow: "f"}, record.ErrInvalid},
			{"by a student", record.SignOff{Student: instructor.ID, Instructor: student.ID, Aircraft: "a", Flow: "f"}, record.ErrInvalid},
			{"for somebody unknown", record.SignOff{Student: "unknown", Instructor: instructor.ID, Aircraft: "a", Flow: "f"}, record.ErrNoPerson},
			{"of no run there is", record.SignOff{Student: student.ID, Instructor: instructor.ID, Run: "none"}, record.ErrNoRun},
			{"of nothing", record.SignOff{Student: student.ID, Instructor: instructor.ID}, record.ErrInvalid},
			{"again", signed[0], record.ErrExists},
		} {
			if _, err := s.Sign(c.sign); !errors.Is(err, c.want) {
				t.Errorf("%s: %v, want %v", c.name, err, c.want)
			}
		}
		if err := s.Withdraw(signed[0].ID); err != nil {
			t.Error(err)
		}
		if err := s.Withdraw(signed[0].ID); !errors.Is(err, record.ErrNoSignOff) {
			t.Errorf("withdrawn twice: %v, want ErrNoSignOff", err)
		}
	})
}

func TestPeopleThatMakeNoSense(t *testing.T) {
	s := open(t, record.InMemory)
	for name, p := range map[string]record.Person{
		"no name":             {Role: record.Student},
		"two lines":           {Name: "a\nb", Role: record.Student},
		"no role":             {Name: "Imke"},
		"other role":          {Name: "Imke", Role: "owner"},
		"the word for nobody": {ID: record.Nobody, Name: "Imke", Role: record.Student},
		"too long":            {Name: strings.Repeat("x", 201), Role: record.Student},
		"zero byte":           {Name: "a\x00b", Role: record.Student},
		"long ago":            {Name: "Imke", Role: record.Student, Added: time.Date(1, 1, 2, 0, 0, 0, 0, time.UTC)},
	} {
		if _, err := s.AddPerson(p); !errors.Is(err, record.ErrInvalid) {
			t.Errorf("%s: %v, want ErrInvalid", name, err)
		}
	}
}

func TestRealStartsAreKeptOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		start := record.RealStart{Start: inventedStart}
		later := start
		later.Note = "and a note"
		for i, c := range []struct {
			start record.RealStart
			want  record.Taken
		}{
			{start, record.Taken{Added: 1}}, {start, record.Taken{Known: 1}}, {later, record.Taken{Changed: 1}}, {later, record.Taken{Known: 1}},
		} {
			if taken, err := s.KeepStarts(c.start); err != nil || taken != c.want {
				t.Errorf("step %d: %+v, %v; want %+v", i, taken, err, c.want)
			}
		}
		list, err := s.RealStarts(record.StartFilter{Registration: "ZZ-TST"})
		if err != nil || len(list) != 1 || !math.IsNaN(list[0].AltitudeM) {
			t.Fatalf("%+v, %v", list, err)
		}
		list[0].AltitudeM, later.AltitudeM = 0, 0 // NaN is compared above
		if list[0] != later {
			t.Errorf("got %+v\nwant %+v", list[0], later)
		}
		if aircraft, err := s.Registrations(); err != nil || len(aircraft) != 1 || aircraft[0].Aircraft != "brindle-180" {
			t.Errorf("registrations %+v, %v; want the start's", aircraft, err)
		}
		if err := errors.Join(s.Register(record.Registration{Registration: "ZZ-TST", Aircraft: "brindle-100"}), s.Unregister("ZZ-TST"), s.DeleteStart(start.ID)); err != nil {
			t.Error(err)
		}
		if err := s.DeleteStart(start.ID); !errors.Is(err, record.ErrNoStart) {
			t.Errorf("deleted twice: %v, want ErrNoStart", err)
		}
	})
}
