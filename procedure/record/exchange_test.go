package record_test

import (
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"kickover/procedure"
	"kickover/procedure/record"
)

func exportKind(t testing.TB, s *record.Store, kind record.Kind, encoding record.Encoding) string {
	t.Helper()
	var out strings.Builder
	if err := s.ExportKind(&out, kind, encoding, record.Filter{}); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// Everything leaves one store and comes into the other kind of store, and leaves
// that one as the same text; the second time it changes nothing.
func TestEveryKindTravelsInBothEncodings(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		from := open(t, record.InMemory)
		school(t, from)
		for _, encoding := range []record.Encoding{record.JSONLines, record.CSV} {
			to := open(t, fresh())
			for _, kind := range record.Kinds() {
				text := exportKind(t, from, kind, encoding)
				first := importText(t, to, text)
				if len(first.Problems) > 0 || first.Added+first.People.Added+first.Registrations.Added+first.Starts.Added+first.SignOffs.Added == 0 {
					t.Errorf("%s %s: %+v, want it taken\n%s", encoding, kind, first, text)
				}
				again := importText(t, to, text)
				again.Known = 0
				for _, known := range []*record.Taken{&again.People, &again.Registrations, &again.Starts, &again.SignOffs} {
					known.Known = 0
				}
				if again.Added+again.Events+again.Refused != 0 || again.People != (record.Taken{}) || again.Registrations != (record.Taken{}) ||
					again.Starts != (record.Taken{}) || again.SignOffs != (record.Taken{}) {
					t.Errorf("%s %s again: %+v, want nothing changed", encoding, kind, again)
				}
				if back := exportKind(t, to, kind, encoding); back != text {
					t.Errorf("%s %s came back as\n%s\nwant\n%s", encoding, kind, back, text)
				}
			}
		}
	})
}

// RFC 4180, section 2: lines end in CRLF, all have as many fields, and fields with
// commas, quotes or line breaks are quoted. Names of columns are the documented
// ones.
func TestCSVIsByTheStandard(t *testing.T) {
	s := open(t, record.InMemory)
	school(t, s)
	for _, kind := range record.Kinds() {
		text := exportKind(t, s, kind, record.CSV)
		if !utf8.ValidString(text) || strings.Count(text, "\n") != strings.Count(text, "\r\n") {
			t.Errorf("%s: not UTF-8 with lines ended by CRLF", kind)
		}
		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll() // as many fields in each
		if err != nil || len(rows) < 2 {
			t.Fatalf("%s: %d rows, %v", kind, len(rows), err)
		}
		documented := record.Columns(kind)
		if len(documented) != len(rows[0]) {
			t.Errorf("%s: %d columns, %d documented", kind, len(rows[0]), len(documented))
		}
		for i, name := range rows[0] {
			if i < len(documented) && (documented[i].Name != name || documented[i].Meaning == "") {
				t.Errorf("%s: column %d is %q, documented is %+v", kind, i+1, name, documented[i])
			}
		}
	}
}

// Texts that readers of CSV would change, and numbers that have no word in it.
func TestOddValuesTravelAsCSV(t *testing.T) {
	from := open(t, record.InMemory)
	r, err := from.Begin(inventedHeader(0))
	if err != nil {
		t.Fatal(err)
	}
	texts := []string{"a\r\nb", "\"quoted\"", "comma, and \"quote\"", "\x00", " blank ", "=1+1", "ümläut\u2028", "\r"}
	events := []procedure.Event{}
	for i, text := range texts {
		events = append(events, procedure.Event{Seq: i + 1, Kind: procedure.EventReading, Text: text, Value: []float64{math.NaN(), math.Inf(-1)}[i%2]})
	}
	if err := r.Append(events...); err != nil {
		t.Fatal(err)
	}
	to := open(t, record.InMemory)
	importText(t, to, exportKind(t, from, record.KindRuns, record.CSV))
	_, got, err := to.Run(inventedHeader(0).ID)
	if err != nil || len(got) != len(events) {
		t.Fatalf("%d events, %v", len(got), err)
	}
	for i := range got {
		if got[i].Text != texts[i] || math.Float64bits(got[i].Value) != math.Float64bits(events[i].Value) {
			t.Errorf("%q, %v came as %q, %v", texts[i], events[i].Value, got[i].Text, got[i].Value)
		}
	}
}

func TestOtherNonsenseIsRefusedRowByRow(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"no columns of ours", "a,b\n1,2\n", "line 1: the first line must name the columns"},
		{"a role", "name,role\nImke,student\nOtto,owner\nAnna,instructor\n", `line 3: this cannot be stored: the role is "owner"`},
		{"a value too many", "name,role\nImke,student,7\nOtto,student\n", "line 2: 3 values, and the first line names 2 columns"},
		{"a quote left open", "name,role\nImke,student\n\"Otto,student\n", "line 3: extraneous or missing \" in quoted-field"},
		{"a start", "registration,time_utc,outcome,prime_s\nZZ-TST,2026-01-01T09:00:00Z,started,4\nZZ-TST,yesterday,started,999\n",
			`line 3: this start cannot be read: time_utc is "yesterday"; write the time as 2026-01-31T09:05:00Z; prime_s is "999"; write seconds from 0 to 600`},
		{"a sign-off of nobody", `{"kickover_sign_off":1,"id":"x","student":"","instructor":"i","signed":"2026-01-01T00:00:00Z","aircraft":"a","flow":"f","remarks":""}`,
			"line 1: this cannot be stored: a sign-off needs"},
		{"another version", `{"kickover_person":2,"name":"Imke","role":"student"}`, "line 1: kickover_person is 2, this version reads 1"},
		{"unknown key", `{"kickover_person":1,"name":"Imke","rank":"student"}`, `line 1: this person cannot be read: json: unknown field "rank"`},
		{"unknown key of a start", `{"kickover_start":1,"registration":"ZZ","wings":2}`, `line 1: this start cannot be read: unknown field "wings"`},
		{"a row of no kind", "row,kickover_run\nwalk,1\n", `line 2: row is "walk"; it must be run, event or summary`},
		{"a number that is none", "row,kickover_run\nrun,x1\n", `line 2: kickover_run is "x1", which is no value of this column`},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := open(t, record.InMemory)
			got := importText(t, s, c.text)
			if len(got.Problems) != 1 || !strings.HasPrefix(got.Problems[0].String(), c.want) || got.Refused != 1 {
				t.Errorf("%+v\nwant %q", got, c.want)
			}
			rows := strings.Count(strings.TrimSpace(c.text), "\n")
			if kept := got.People.Added + got.Starts.Added; strings.HasPrefix(c.text, "name") || strings.HasPrefix(c.text, "reg") {
				if kept != rows-1 {
					t.Errorf("%d rows were kept, want the %d that make sense", kept, rows-1)
				}
			}
		})
	}
}

// A list that somebody typed has no ids; the same people are not stored twice.
func TestAListOfNamesIsTakenOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, fresh func() string) {
		s := open(t, fresh())
		const list = "\ufeffName of column,role,name\r\n,student,Imke\r\n,instructor,Otto\r\n"
		if got := importText(t, s, list); got.People != (record.Taken{Added: 2}) {
			t.Errorf("%+v, want 2 people", got)
		}
		if got := importText(t, s, list); got.People != (record.Taken{Known: 2}) {
			t.Errorf("again: %+v, want 2 known", got)
		}
	})
}

// wantTakenBack imports a text, exports what came of it, and wants another store
// to take that and give the same.
func wantTakenBack(t *testing.T, text string) {
	t.Helper()
	a, b := open(t, record.InMemory), open(t, record.InMemory)
	if _, err := a.Import(strings.NewReader(text)); err != nil && !strings.Contains(err.Error(), "token too long") {
		t.Fatal(err)
	}
	for _, kind := range record.Kinds() {
		first := exportKind(t, a, kind, record.CSV)
		if got := importText(t, b, first); len(got.Problems) > 0 {
			t.Fatalf("%s\nis not taken: %+v", first, got)
		}
		if second := exportKind(t, b, kind, record.CSV); second != first {
			t.Fatalf("%s\nbecame\n%s", first, second)
		}
	}
	if err := errors.Join(a.Close(), b.Close()); err != nil {
		t.Fatal(err)
	}
}

// Whatever is done to a file, what is taken of it makes sense.
func TestFilesOfCSVWithScrambledBytes(t *testing.T) {
	from := open(t, record.InMemory)
	school(t, from)
	random := rand.New(rand.NewPCG(4180, 1))
	for range 60 {
		for _, kind := range record.Kinds() {
			text := []byte(exportKind(t, from, kind, record.CSV))
			for range 1 + random.IntN(6) {
				at := random.IntN(max(1, len(text)))
				if at < len(text) && random.IntN(2) == 0 {
					text[at] = ",\"\r\n 0-x\x00\xff"[random.IntN(10)]
				} else {
					text = slices.Delete(text, min(at, len(text)), min(len(text), at+random.IntN(30)))
				}
			}
			wantTakenBack(t, string(text))
		}
	}
}

func FuzzImportCSV(f *testing.F) {
	f.Add("name,role\nImke,student\n")
	f.Add("registration,time_utc,outcome\nZZ-TST,2026-01-01T09:00:00Z,started\n")
	f.Add("id,student,instructor,signed,aircraft,flow\nx,a,b,2026-01-01T09:00:00Z,c,d\n")
	f.Add("row,kickover_run,id,started,events,aircraft,flow,seed,seq,kind,outcome\n" +
		"run,1,0123456789abcdef,2026-01-01T09:00:00Z,1,a,f,1,,,\nevent,,,,,,,,1,move,\nsummary,,,,,,,,,,started\n")
	f.Fuzz(wantTakenBack)
}
