package realstart_test

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
)

func example() realstart.Start {
	return realstart.Start{
		ID: "one", Registration: "BR-180", Aircraft: "brindle-180",
		At: time.Date(2026, 1, 31, 9, 5, 0, 250e6, time.UTC), Situation: "cold", OATCelsius: -4, AltitudeM: 120.5,
		SinceShutdown: 14 * time.Hour, ShutdownKnown: true, Prime: 4230 * time.Millisecond, Attempts: 2,
		Outcome: procedure.Started, Note: "slow, \"coughed\" once\nthen ran",
	}
}

// RFC 4180: lines end in CR LF; fields with commas, quotation marks or line
// breaks are quoted, and a quotation mark is doubled.
func TestCSVIsRFC4180(t *testing.T) {
	var b bytes.Buffer
	if err := realstart.Write(&b, []realstart.Start{example()}); err != nil {
		t.Fatal(err)
	}
	want := "id,registration,aircraft,time_utc,situation,oat_degC,altitude_m,since_shutdown_s,prime_s,attempts,outcome,note,caution\r\n" +
		"one,BR-180,brindle-180,2026-01-31T09:05:00.250Z,cold,-4,120.5,50400,4.23,2,started,\"slow, \"\"coughed\"\" once\r\nthen ran\",\"practice note, not a maintenance record\"\r\n"
	if b.String() != want {
		t.Errorf("got\n%q\nwant\n%q", b.String(), want)
	}
}

func TestCSVComesBack(t *testing.T) {
	unknown := example()
	unknown.ID, unknown.OATCelsius, unknown.AltitudeM, unknown.ShutdownKnown, unknown.SinceShutdown = "two", math.NaN(), math.NaN(), false, 0
	var b bytes.Buffer
	if err := realstart.Write(&b, []realstart.Start{example(), unknown}); err != nil {
		t.Fatal(err)
	}
	got, err := realstart.Read(&b, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 2 || got[0] != example() {
		t.Errorf("got %+v", got)
	}
	if got[1].ShutdownKnown || !math.IsNaN(got[1].OATCelsius) || !math.IsNaN(got[1].AltitudeM) {
		t.Errorf("what was not known is now known: %+v", got[1])
	}
}

func TestReadFromASpreadsheet(t *testing.T) {
	got, err := realstart.Read(strings.NewReader("\ufeffoutcome,mood,time_utc,registration\nnot started,fine,2026-01-31T10:05:00+01:00, BR-180 \n"), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 1 || got[0].Registration != "BR-180" || got[0].Outcome != procedure.NotStarted ||
		!got[0].At.Equal(time.Date(2026, 1, 31, 9, 5, 0, 0, time.UTC)) || got[0].ID != "BR-180@2026-01-31T09:05:00.000Z" {
		t.Errorf("got %+v", got)
	}
}

func TestMistakesAreAllSaid(t *testing.T) {
	const head = "registration,time_utc,outcome,oat_degC,attempts\n"
	for _, c := range []struct {
		name, in string
		want     []string
	}{
		{"empty", "", []string{"the file is empty"}},
		{"no header", "BR-180,2026-01-31T09:05:00Z,started\n", []string{`no column "registration"`, `no column "time_utc"`, `no column "outcome"`}},
		{"a spreadsheet's semicolons", "registration;time_utc;outcome\n", []string{"line 1: the values are not separated by commas"}},
		{"a column twice", "registration,registration,time_utc,outcome\n", []string{"twice"}},
		{"values", head + ",yesterday,maybe,cold,-1\nBR-180,2026-01-31T09:05:00Z,started,99,1\n", []string{
			`line 2, registration: "": write the aircraft's registration`, `line 2, time_utc: "yesterday"`, `line 2, outcome: "maybe"`,
			`line 2, oat_degC: "cold"`, `line 2, attempts: "-1"`, `line 3, oat_degC: "99"`,
		}},
		{"too few values", head + "BR-180\n", []string{"line 2: 1 values, and the header names 5 columns"}},
		{"a quotation mark too many", head + "BR-180,\"2026,started,1,1\n", []string{"quotation marks"}},
		{"not a number", head + "BR-180,2026-01-31T09:05:00Z,started,NaN,1\n", []string{`oat_degC: "NaN"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := realstart.Read(strings.NewReader(c.in), time.Time{})
			var mistakes realstart.Mistakes
			if !errors.As(err, &mistakes) || got != nil {
				t.Fatalf("got %v, %v; want mistakes and nothing else", got, err)
			}
			for _, want := range c.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("%q is not said in\n%v", want, err)
				}
			}
		})
	}
}

// What cannot have been is refused, each row with its line: a start that is still to
// come, and one that nothing cranked. A clock that is hours off makes no mistake.
func TestWhatCannotHaveBeen(t *testing.T) {
	now := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	const head = "registration,time_utc,outcome,attempts\n"
	_, err := realstart.Read(strings.NewReader(head+
		"BR-180,2026-02-28T09:05:00Z,started,1\n"+
		"BR-180,2099-01-31T09:05:00Z,started,1\n"+
		"BR-180,2026-02-28T09:05:00Z,started,0\n"+
		"BR-180,2026-03-02T12:00:01Z,not started,0\n"), now)
	var wrong realstart.Mistakes
	if !errors.As(err, &wrong) || len(wrong) != 3 || wrong[0].Line != 3 || wrong[0].Column != "time_utc" || wrong[1].Line != 4 || wrong[1].Column != "attempts" || wrong[2].Line != 5 {
		t.Fatalf("refused are: %v", err)
	}
	if !strings.Contains(err.Error(), `line 3, time_utc: "2099-01-31T09:05:00Z": this is still to come`) || !strings.Contains(err.Error(), "2026-03-01T12:00:00Z") {
		t.Errorf("it says %v", err)
	}
	got, err := realstart.Read(strings.NewReader(head+"BR-180,2026-03-02T11:59:00Z,started,\nBR-100,2026-02-28T09:05:00Z,not started,0\n"), now)
	if err != nil || len(got) != 2 {
		t.Fatalf("within a day, and with attempts that nobody knows: %v, %v", got, err)
	}
	var b bytes.Buffer
	if err := realstart.Write(&b, got); err != nil {
		t.Fatal(err)
	}
	if again, err := realstart.Read(&b, now); err != nil || len(again) != 2 {
		t.Errorf("what was written is not read again: %v, %v", again, err)
	}
	path := filepath.Join(t.TempDir(), "starts.csv")
	if err := os.WriteFile(path, []byte(head+"BR-180,2099-01-31T09:05:00Z,started,0\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if s := mustOpen(t, path); len(s.Starts()) != 1 || len(s.Notices()) > 0 {
		t.Errorf("of the cockpit's own file %d are left, and it says %q", len(s.Starts()), s.Notices())
	}
}

func TestStoreKeeps(t *testing.T) {
	path := filepath.Join(t.TempDir(), "starts", "starts.csv")
	s := mustOpen(t, path)
	first := example()
	first.Note = ""
	for _, r := range []realstart.Start{first, {Registration: "BR-100", At: first.At.Add(-time.Hour), Outcome: procedure.NotStarted, OATCelsius: math.NaN(), AltitudeM: math.NaN()}, example()} {
		if err := s.Keep(r); err != nil {
			t.Fatal(err)
		}
	}
	for _, s := range []*realstart.Store{s, mustOpen(t, path)} {
		got := s.Starts()
		if len(got) != 2 || got[0].Registration != "BR-100" || got[1] != example() {
			t.Errorf("got %+v", got)
		}
	}
	if err := s.Keep(realstart.Start{}); err == nil {
		t.Error("a start without an aircraft is kept")
	}
}

func TestATornRowLosesNoOther(t *testing.T) {
	path := filepath.Join(t.TempDir(), "starts.csv")
	s := mustOpen(t, path)
	second := example()
	second.ID = "two"
	for _, r := range []realstart.Start{example(), second} {
		if err := s.Keep(r); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for cut := len(data) - 1; cut > len(data)-60; cut-- {
		if err := os.WriteFile(path, data[:cut], 0o644); err != nil {
			t.Fatal(err)
		}
		got := mustOpen(t, path)
		if n := len(got.Starts()); n == 0 || got.Starts()[0] != example() {
			t.Fatalf("cut at %d of %d: %d starts", cut, len(data), n)
		}
		if err := got.Keep(second); err != nil {
			t.Fatal(err)
		}
		if n := len(mustOpen(t, path).Starts()); n != 2 {
			t.Fatalf("cut at %d and kept again: %d starts", cut, n)
		}
	}
	if aside, _ := filepath.Glob(path + ".damaged-*"); len(aside) == 0 {
		t.Error("the damaged file is gone")
	}
}

// The file is taken away while the store is open, with its folder: what is kept
// afterwards can be read again.
func TestTheFileIsTakenAway(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "timer")
	path := filepath.Join(dir, "starts.csv")
	s, err := realstart.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	start := example()
	if err := s.Keep(start); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	start.ID, start.At = "two", start.At.Add(time.Hour)
	for range 2 { // the same start once more is in place of itself
		if err := s.Keep(start); err != nil {
			t.Fatal(err)
		}
	}
	again, err := realstart.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if got := again.Starts(); len(got) != 1 || !got[0].At.Equal(start.At) || len(again.Notices()) > 0 {
		t.Errorf("read again: %v, notices %q", got, again.Notices())
	}
}

func TestImport(t *testing.T) {
	s := mustOpen(t, filepath.Join(t.TempDir(), "starts.csv"))
	if err := s.Keep(example()); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := s.Export(&b); err != nil {
		t.Fatal(err)
	}
	edited := strings.Replace(b.String(), "\"slow, \"\"coughed\"\" once\r\nthen ran\"", "better now", 1) +
		"three,BR-180,,2026-02-01T09:00:00Z,warm,,,,1.8,1,started,,\r\n"
	for i, c := range []struct {
		in   string
		want realstart.Merged
	}{
		{b.String(), realstart.Merged{Same: 1}},
		{edited, realstart.Merged{Added: 1, Changed: 1}},
		{edited, realstart.Merged{Same: 2}},
	} {
		got, err := s.Import(strings.NewReader(c.in), time.Time{})
		if err != nil || got != c.want {
			t.Errorf("import %d: %+v, %v; want %+v", i+1, got, err, c.want)
		}
	}
	if got := s.Starts(); len(got) != 2 || got[0].Note != "better now" {
		t.Errorf("got %+v", got)
	}
	if _, err := s.Import(strings.NewReader(edited+"four\n"), time.Time{}); err == nil || len(s.Starts()) != 2 {
		t.Error("a file with a mistake was taken in part")
	}
}

func mustOpen(t *testing.T, path string) *realstart.Store {
	t.Helper()
	s, err := realstart.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// What was read can be written and read again, and is the same.
func FuzzCSV(f *testing.F) {
	f.Add("registration,time_utc,outcome,note\nBR,2026-01-31T09:05:00Z,started,\"a \"\"b\"\"\r\nc\"\n")
	f.Add("outcome,prime_s,time_utc,registration,oat_degC\nnot started,0.0004,2026-01-31T09:05:00.9999Z,x,-0\n")
	f.Fuzz(func(t *testing.T, in string) {
		starts, err := realstart.Read(strings.NewReader(in), time.Time{})
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := realstart.Write(&b, starts); err != nil {
			t.Fatal(err)
		}
		first := b.String()
		again, err := realstart.Read(&b, time.Time{})
		if err != nil {
			t.Fatalf("%v in\n%s", err, first)
		}
		b.Reset()
		if err := realstart.Write(&b, again); err != nil {
			t.Fatal(err)
		}
		if b.String() != first {
			t.Errorf("written again\n%s\nat first\n%s", b.String(), first)
		}
	})
}
