package record_test

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"kickover/procedure/record"
)

// Lists as other programs write them: spreadsheets put a byte order mark first, a
// semicolon or a tab between values, and lines that end as RFC 4180 has it or not.
func TestPeopleFromASpreadsheet(t *testing.T) {
	for name, file := range map[string]string{
		"as RFC 4180 has it": "name,role\r\nImke Vandersloot,student\r\n\"Fährmann, Otto\",instructor\r\n",
		"byte order mark":    "\ufeffname,role\r\nImke Vandersloot,student\r\n\"Fährmann, Otto\",instructor\r\n",
		"semicolons":         "name;role\r\nImke Vandersloot;student\r\nFährmann, Otto;instructor\r\n",
		"mark, semicolons":   "\ufeffname;role\nImke Vandersloot;student\nFährmann, Otto;instructor\n",
		"tabs":               "name\trole\nImke Vandersloot\tstudent\nFährmann, Otto\tinstructor",
		"more columns":       "nr,role,telephone,name\n1,student,,Imke Vandersloot\n2,instructor,555,\"Fährmann, Otto\"\n",
	} {
		s := open(t, filepath.Join(t.TempDir(), "runs.db"))
		in, err := s.Import(strings.NewReader(file))
		people, _ := s.People()
		if err != nil || len(in.Problems) > 0 || len(people) != 2 || people[0].Name != "Fährmann, Otto" || people[0].Role != record.Instructor || people[1].Name != "Imke Vandersloot" {
			t.Errorf("%s: %+v, %v, %+v", name, in, err, people)
		}
	}
}

// endless gives the same byte for ever, and fails the test when much of it is read.
type endless struct {
	t    *testing.T
	read int
}

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = 'a'
	}
	if e.read += len(p); e.read > 16<<20 {
		e.t.Error("16 MB of one row were read")
		return 0, io.EOF
	}
	return len(p), nil
}

// What is wrong with a file is said with the line and the mend, and nothing of it
// is stored otherwise than it was meant.
func TestFilesThatAreNoneOfOurs(t *testing.T) {
	const begun = "name,role\nImke Vandersloot,student\n"
	for name, c := range map[string]struct {
		file io.Reader
		said string
		kept int
	}{
		"Latin-1":             {strings.NewReader(begun + "Otto F\xe4hrmann,instructor\n"), "line 3: this is not UTF-8; save the file again", 1},
		"UTF-16":              {strings.NewReader("\xff\xfen\x00a\x00m\x00e\x00,\x00"), "line 1: this file is UTF-16, and only UTF-8 is read", 0},
		"a program":           {strings.NewReader("\x7fELF\x02\x01\x01\x00"), "line 1: this file is no text", 0},
		"nothing":             {strings.NewReader("\ufeff\r\n"), "", 0},
		"a quote without end": {io.MultiReader(strings.NewReader(begun+"\""), &endless{t: t}), "line 3: a row does not end within a megabyte", 1},
		"a line without end":  {io.MultiReader(strings.NewReader("{"), &endless{t: t}), "line 1: this line does not end within a megabyte", 0},
		"JSON in Latin-1":     {strings.NewReader("{\"kickover_person\":1,\"name\":\"F\xe4hrmann\",\"role\":\"student\"}\n"), "line 1: this is not UTF-8", 0},
		"other columns":       {strings.NewReader("a,b\n1,2\n"), "line 1: the first line must name the columns", 0},
	} {
		s := open(t, filepath.Join(t.TempDir(), "runs.db"))
		in, err := s.Import(c.file)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if c.said == "" && len(in.Problems) > 0 || c.said != "" && (len(in.Problems) != 1 || !strings.HasPrefix(in.Problems[0].String(), c.said)) {
			t.Errorf("%s: problems %v, want %q", name, in.Problems, c.said)
		}
		if people, err := s.People(); err != nil || len(people) != c.kept {
			t.Errorf("%s: %d people are kept, %v; want %d", name, len(people), err, c.kept)
		}
	}
}

// A file that somebody brings holds nothing that cannot have been: each row of it is
// refused and named, and the others are taken. What the program wrote is not doubted.
func TestWhatIsStillToCome(t *testing.T) {
	now := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	run := func(id, started string, attempts int) string {
		return fmt.Sprintf(`{"kickover_run":1,"id":%q,"started":%q,"events":0,"program":"test","aircraft":"brindle-180","flow":"cold","flow_sha256":"","phase":"evaluate","panel":"","oat_degC":10,"pressure_altitude_m":0,"since_shutdown_ns":0,"battery_charge":0.9,"hidden":false,"faults":[],"seed":"1","step_ns":2000000}
{"outcome":"started","prime_ns":0,"attempts":%d,"unsafe":0,"duration_ns":1}
`, id, started, attempts)
	}
	file := run("one-0123456789abcdef", "2026-02-28T09:00:00Z", 1) + run("two-0123456789abcdef", "2099-02-28T09:00:00Z", 1) + run("three-0123456789abcdef", "2026-02-28T09:00:00Z", 0) + run("four-0123456789abcdef", "2026-03-02T09:00:00Z", 1) +
		`{"kickover_start":1,"registration":"BR-180","time_utc":"2099-01-31T09:05:00Z","outcome":"started","attempts":1}
{"kickover_start":1,"registration":"BR-180","time_utc":"2026-01-31T09:05:00Z","outcome":"started","attempts":0}
{"kickover_start":1,"registration":"BR-180","time_utc":"2026-01-31T09:05:00Z","outcome":"started","attempts":1}
`
	in, err := open(t, filepath.Join(t.TempDir(), "runs.db")).ImportAt(strings.NewReader(file), now)
	if err != nil || in.Added != 2 || in.Starts.Added != 1 || in.Refused != 4 {
		t.Errorf("%+v, %v", in, err)
	}
	for i, want := range []string{"line 3: started is 2099-02-28T09:00:00Z, which is still to come", "line 6: outcome is started and attempts is 0",
		"line 9: this start cannot be read: time_utc is", "line 10: this start cannot be read: attempts is \"0\""} {
		if i >= len(in.Problems) || !strings.HasPrefix(in.Problems[i].String(), want) {
			t.Errorf("problem %d of %v is not %q", i, in.Problems, want)
		}
	}
	if in, err := open(t, filepath.Join(t.TempDir(), "runs.db")).Import(strings.NewReader(run("two-0123456789abcdef", "2099-02-28T09:00:00Z", 0))); err != nil || in.Added != 1 {
		t.Errorf("of what the program wrote: %+v, %v", in, err)
	}
}

func TestWhatIsNoFileIsNoStore(t *testing.T) {
	for path, said := range map[string]string{t.TempDir(): "it is a folder", "/dev/null": "it is a device"} {
		if _, err := record.Open(path); err == nil || !strings.Contains(err.Error(), said) || !strings.Contains(err.Error(), "name another file") {
			t.Errorf("%s: %v, want %q and what to do", path, err, said)
		}
	}
}
