package paper

import (
	"bytes"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/hands"
	"kickover/procedure/practice"
	"kickover/procedure/proficiency"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
)

// flown flies a stored run on the simulated engine and debriefs it.
func flown(t testing.TB, name string) *debrief.Report {
	t.Helper()
	f, err := os.Open("../../testdata/paper/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lib := brindle180(t)
	acts, err := hands.Parse(f, lib.Aircraft)
	if err != nil {
		t.Fatal(err)
	}
	r, err := rehearsal.New(rehearsal.Options{
		Library: lib, Flow: "cold", Phase: procedure.Evaluate, Seed: 1, Conditions: rehearsal.Conditions{OATCelsius: 10},
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range acts {
		r.Input(e)
	}
	r.Advance(r.Now() + 5*time.Second)
	r.End(procedure.EndHands)
	report, err := debrief.Of(debrief.Subject{
		Library: lib, Flow: "cold", Phase: procedure.Evaluate, OATCelsius: 10, Events: r.Events(),
	})
	if err != nil {
		t.Fatal(err)
	}
	return report
}

// manyRuns are fifty invented runs of the cold start: times that fall, a prime
// that comes right, a lapse from run 36 to 39.
func manyRuns(t testing.TB) []proficiency.Run {
	t.Helper()
	cold, _ := brindle180(t).Flow("cold")
	rng := rand.New(rand.NewPCG(3, 3))
	var out []proficiency.Run
	for n := 1; n <= 50; n++ {
		run := proficiency.Run{
			At: printed.Add(time.Duration(n-52) * 20 * time.Hour), Aircraft: cold.Aircraft, Flow: cold.ID,
			FlowTitle: cold.Title, Phase: procedure.Evaluate, Attempts: 1, Started: n%7 != 2,
		}
		for _, s := range cold.Steps {
			seconds := (.25 + .5*math.Exp(-.1*float64(n))) * s.Window.Max.Seconds() * math.Exp(.25*rng.NormFloat64())
			switch {
			case s.Kind == procedure.StepHold:
				seconds = (4.2 + .6*math.Exp(-float64(n)/9)) * (1 + .07*rng.NormFloat64())
			case n >= 36 && n <= 39:
				seconds *= 2.5
			}
			step := proficiency.Step{
				ID: s.ID, Title: s.Title, Kind: s.Kind, Criticality: s.Criticality, Window: s.Window,
				Elapsed: time.Duration(seconds * 1e9), Hesitation: time.Duration(seconds * .6e9),
			}
			step.Verdict = s.Window.Judge(step.Elapsed)
			run.Steps = append(run.Steps, step)
		}
		out = append(out, run)
	}
	return out
}

func filled(t testing.TB, s Sheet) Record {
	t.Helper()
	runs := manyRuns(t)
	return Record{
		School: "Saltmarsh Flying School", Student: "A. Student", Instructor: "",
		Aircraft: "Brindle 180", Flow: "Cold start", Phase: procedure.Evaluate,
		When:       time.Date(2026, 3, 13, 17, 40, 0, 0, time.UTC),
		Conditions: []string{"outside air 10 °C", "pressure altitude 200 m", "battery fully charged", "no faults"},
		Run:        flown(t, "slow-throttle-long-prime.jsonl"), Progress: proficiency.Of(runs),
		Next: practice.Next(runs, printed, practice.Options{}), Sheet: s, Printed: printed,
	}
}

// Who, what, when, in which conditions, what became of it, the trends, and where
// to sign: on both sheets.
func TestRecordSaysItAll(t *testing.T) {
	for _, s := range []Sheet{A4, Letter} {
		text := words(t, document(t, filled(t, s).Write))
		for _, want := range []string{
			"Saltmarsh Flying School", "A. Student", "Brindle 180, simulated", "Cold start, evaluate",
			"13 March 2026, 17:40", "outside air 10 °C", "printed 14 March 2026",
			"7.4 s, late by 2.4 s", "You held the prime 7.4 s, 2.4 s too long.", "out of order",
			"Over 50 runs of this flow", "as it should be", "A prime falls inside 3.5 to 5.0 s in",
			"Much slower than expected in run", "What to practise next", "Remarks", "student's signature: A. Student", "instructor's signature", "own handbook rules",
		} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the record does not say %q", s.Name, want)
			}
		}
	}
}

// What the program says is in the units that are chosen; what people wrote, their
// names and remarks, stays as they wrote it. 10 °C are 50 °F and −10 °C 14 °F; 200 m
// are 656 ft, to the nearest ten (NIST SP 811, appendix B.8).
func TestPaperIsInTheUnitsThatAreChosen(t *testing.T) {
	u := units.Units{Lever: "in", Temperature: "degF", Altitude: "ft", Pressure: "psi", FuelFlow: "gal/h"}
	r := filled(t, A4)
	r.Units, r.School, r.Remarks, r.Signed = u, "Hangar 20 m", "Right at 28 mm.", printed
	text := words(t, document(t, r.Write))
	for _, want := range []string{"outside air 50 °F", "pressure altitude 660 ft", "Hangar 20 m", "Right at 28 mm."} {
		if !strings.Contains(text, want) {
			t.Errorf("the record does not say %q", want)
		}
	}
	if strings.Contains(text, "°C") || strings.Contains(text, "g/s") {
		t.Errorf("the record has units that were not chosen: %s", text)
	}
	lib := brindle180(t)
	cold, _ := lib.Flow("cold")
	text = words(t, document(t, Card{Aircraft: lib.Aircraft, Flow: cold, Units: u, Sheet: A5, Date: printed}.Write))
	if !strings.Contains(text, "≤ 30 s; below 14 °F ≤ 60 s") || strings.Contains(text, "°C") {
		t.Errorf("the card is not in the units that were chosen: %s", text)
	}
}

func TestRecordWithoutTrendsIsOnePage(t *testing.T) {
	r := filled(t, A4)
	r.Progress, r.Next = nil, nil
	if text := words(t, document(t, r.Write)); strings.Contains(text, "Over ") || !strings.Contains(text, "signature") {
		t.Errorf("a record of one run: %s", text)
	}
}

// A run of many attempts has many steps: none may fall off the page.
func TestRecordOfALongRun(t *testing.T) {
	r := filled(t, Letter)
	once := r.Run.Steps
	for range 6 {
		r.Run.Steps = append(r.Run.Steps, once...)
	}
	text := words(t, document(t, r.Write))
	if n := strings.Count(text, "Amperes: starter is out"); n != 7+1 {
		t.Errorf("the last step stands %d times on the pages, want 7 and once in the trends", n)
	}
	for _, want := range []string{"page 1 of", "Why", "Remarks"} {
		if !strings.Contains(text, want) {
			t.Errorf("the record does not say %q", want)
		}
	}
}

func TestRecordRefusesWhatCannotBePrinted(t *testing.T) {
	r := filled(t, A5)
	if err := r.Write(io.Discard); err == nil || !strings.Contains(err.Error(), "A4 or letter") {
		t.Errorf("a record on A5: %v", err)
	}
	if err := (Record{Sheet: A4}).Write(io.Discard); err == nil || !strings.Contains(err.Error(), "needs a run") {
		t.Errorf("a record of nothing: %v", err)
	}
}

// Every flow that is shipped makes a card on both sheets: its steps, windows and
// cautions, the authority, the date, and room for the reader's own aircraft.
func TestCards(t *testing.T) {
	lib := brindle180(t)
	for _, s := range []Sheet{A5, HalfLetter} {
		for _, f := range lib.Flows {
			text := words(t, document(t, Card{Aircraft: lib.Aircraft, Flow: f, Sheet: s, Date: printed}.Write))
			want := []string{
				f.Title, "Brindle 180", "my aircraft's type", "registration", "own handbook rules", "14 March 2026",
				"6 s at most, then rest 45 s. After 5 attempts rest 20 min.", "call CLEAR, wait for an answer",
			}
			for _, step := range f.Steps {
				want = append(want, step.Title)
			}
			if f.NoStart != nil {
				for _, c := range f.NoStart.Choices {
					want = append(want, c.Title)
				}
			}
			for _, w := range want {
				if !strings.Contains(text, strings.Join(strings.Fields(w), " ")) {
					t.Errorf("%s, %s: the card does not say %q", s.Name, f.ID, w)
				}
			}
		}
	}
}

func TestCardWindows(t *testing.T) {
	lib := brindle180(t)
	cold, _ := lib.Flow("cold")
	frost, mild := -15.0, 10.0
	for _, c := range []struct {
		oat  *float64
		says string
		not  string
	}{
		{nil, "≤ 30 s; below −10 °C ≤ 60 s", ""}, {&frost, "≤ 60 s", "≤ 30 s"}, {&mild, "≤ 30 s", "≤ 60 s"},
	} {
		text := words(t, document(t, Card{Aircraft: lib.Aircraft, Flow: cold, OATCelsius: c.oat, Sheet: A5, Date: printed}.Write))
		if !strings.Contains(text, c.says) || c.not != "" && strings.Contains(text, c.not) {
			t.Errorf("the card does not say %q, or says %q: %s", c.says, c.not, text)
		}
		if !strings.Contains(text, "3.5–5 s, ideal 4.2") {
			t.Errorf("the window of the prime is missing: %s", text)
		}
	}
	if err := (Card{Sheet: A5}).Write(io.Discard); err == nil {
		t.Error("a card of nothing was printed")
	}
}

func TestSameInputSameBytes(t *testing.T) {
	lib := brindle180(t)
	cold, _ := lib.Flow("cold")
	marks, err := MarksOf(lib.Aircraft, "", "", A4, printed)
	if err != nil {
		t.Fatal(err)
	}
	record := filled(t, A4)
	for name, write := range map[string]func(io.Writer) error{
		"record": record.Write, "marks": marks.Write,
		"card": Card{Aircraft: lib.Aircraft, Flow: cold, Sheet: A5, Date: printed}.Write,
	} {
		var first bytes.Buffer
		if err := write(&first); err != nil {
			t.Fatal(err)
		}
		for range 5 {
			var again bytes.Buffer
			if err := write(&again); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(first.Bytes(), again.Bytes()) {
				t.Errorf("%s: the same input gave two different files", name)
				break
			}
		}
	}
}

func TestSheetNames(t *testing.T) {
	for name, want := range map[string]Sheet{"A4": A4, "a4": A4, "Letter": Letter, "a5": A5, "half-letter": HalfLetter} {
		if got, err := SheetNamed(name); err != nil || got != want {
			t.Errorf("%q: %v, %v", name, got, err)
		}
	}
	if _, err := SheetNamed("foolscap"); err == nil || !strings.Contains(err.Error(), "A4, letter, A5 or half-letter") {
		t.Errorf("an unknown sheet: %v", err)
	}
}

// TestLettersAreEmbedded asks poppler whether each font travels with the file: a
// print shop has no Inter.
func TestLettersAreEmbedded(t *testing.T) {
	fonts := run(t, "pdffonts", document(t, filled(t, A4).Write))
	lines := strings.Split(strings.TrimSpace(fonts), "\n")[2:]
	if len(lines) == 0 {
		t.Fatal("no fonts in the record")
	}
	for _, l := range lines {
		if fields := strings.Fields(l); len(fields) < 5 || fields[len(fields)-5] != "yes" {
			t.Errorf("not embedded: %s", l)
		}
	}
}

// Names are what people typed: letters the typeface lacks, several lines, broken
// bytes, a great length. None may spoil the page.
func TestAnyNameCanBePrinted(t *testing.T) {
	for _, name := range []string{"Łucja Ångström", "李 小龙 🙂", "two\nlines\tand a tab", "broken \xff\xfe", strings.Repeat("long ", 80)} {
		r := filled(t, A4)
		r.School, r.Student, r.Instructor = name, name, name
		text := words(t, document(t, r.Write))
		if !strings.Contains(text, "Remarks") {
			t.Errorf("%q: the record is spoilt", name)
		}
		if name == "Łucja Ångström" && !strings.Contains(text, name) {
			t.Errorf("%q does not stand on the page", name)
		}
	}
}

// A flow of many steps goes over to the other side of its card.
func TestCardOfALongFlow(t *testing.T) {
	lib := brindle180(t)
	cold, _ := lib.Flow("cold")
	long := *cold
	for range 3 {
		long.Steps = append(long.Steps, cold.Steps...)
	}
	file := document(t, Card{Aircraft: lib.Aircraft, Flow: &long, Sheet: A5, Date: printed}.Write)
	if n := strings.Count(words(t, file), "Amperes: starter is out"); n != 4 {
		t.Errorf("the last step stands %d times on the card, want 4", n)
	}
	if info := strings.Join(strings.Fields(run(t, "pdfinfo", file)), " "); !strings.Contains(info, "Pages: 4 ") {
		t.Errorf("a card of 72 steps of 6.6 mm does not take four sides: %s", info)
	}
}
