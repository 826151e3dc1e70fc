package flowfile_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
)

// Units against NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm exactly, 1 psi
// = 6.894757 kPa, 1 bar = 100 kPa exactly; B.1: t/degC = (t/degF - 32)/1.8.
func TestUnits(t *testing.T) {
	const template = `schema: kickover/aircraft/1
id: units
name: Units
summary: For the units
powerplant: injected-180
min_bus_volts: 24 V
starter: { crank: 250 ms, rest: 1.5 min, attempts: 5, long_rest: 0.5 h }
controls:
  - { id: brakes, name: Brakes, kind: switch, hand: feet, detents: [released, held], initial: held }
  - { id: ignition, name: Ignition, kind: rotary, hand: left, detents: [off, both, start], sprung: { start: both }, initial: off }
  - { id: throttle, name: Throttle, kind: lever, hand: right, travel: 3 in, low: closed, high: open, initial: 1 in }
instruments:
  - { id: oil_pressure, name: Oil, unit: kPa, scale: { from: 0 bar, to: 100 psi }, resolution: 5 kPa, decimals: 0 }
  - { id: oil_psi, name: Oil, unit: psi, scale: { from: 0 psi, to: 689.4757 kPa }, resolution: 1 psi, decimals: 0 }
  - { id: head, name: Head, unit: degC, scale: { from: 32 degF, to: 500 degF }, resolution: 9 degF, decimals: 0 }
panels:
  - { id: standard, name: Standard }
`
	a, err := flowfile.ParseAircraft("units.yaml", []byte(template))
	if err != nil {
		t.Fatal(err)
	}
	want := procedure.StarterLimits{Crank: 250 * time.Millisecond, Rest: 90 * time.Second, Attempts: 5, LongRest: 30 * time.Minute}
	if a.Starter != want {
		t.Errorf("starter %+v, want %+v", a.Starter, want)
	}
	throttle, _ := a.Control("throttle")
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	near("3 in in mm", float64(throttle.Travel), 76.2)
	near("1 in in mm", float64(throttle.Initial), 25.4)
	near("100 psi in kPa", a.Instruments[0].Max, 689.4757)
	near("689.4757 kPa in psi", a.Instruments[1].Max, 100)
	near("32 degF in degC", a.Instruments[2].Min, 0)
	near("500 degF in degC", a.Instruments[2].Max, 260)
	near("9 degF apart in degC", a.Instruments[2].Resolution, 5)
	if a.Instruments[2].Unit != "°C" {
		t.Errorf("the face says %q", a.Instruments[2].Unit)
	}
}

// The numbers of the Brindle 180's cold start are this project's own; oil
// pressure within thirty seconds, and about 1,000 rpm, are from the FAA
// Airplane Flying Handbook (FAA-H-8083-3), chapter on ground operations.
func TestBrindle180Cold(t *testing.T) {
	lib := shipped(t)["brindle-180"]
	cold, _ := lib.Flow("cold")
	steps := map[procedure.StepKind]procedure.Step{}
	byID := map[procedure.StepID]procedure.Step{}
	for _, s := range cold.Steps {
		steps[s.Kind], byID[s.ID] = s, s
	}
	s := func(v float64) time.Duration { return time.Duration(math.Round(v * 1e9)) }
	if got, want := steps[procedure.StepHold].Window, (procedure.Window{Min: s(3.5), Ideal: s(4.2), Max: s(5)}); got != want {
		t.Errorf("prime %v, want %v", got, want)
	}
	if got, want := *steps[procedure.StepHold].Hold, (procedure.Hold{Control: "mixture", Rest: 0, Tolerance: 0.04, Full: 1, By: procedure.ByBoth, Cue: "fuel_flow", CueGrace: s(1)}); got != want {
		t.Errorf("hold %+v, want %+v", got, want)
	}
	if got, want := byID["throttle-prime"].Targets, []procedure.Target{{Control: "throttle", At: 28, Tolerance: 2, Mark: "prime"}}; !slices.Equal(got, want) {
		t.Errorf("prime mark %+v, want %+v", got, want)
	}
	if got, want := byID["throttle-start"].Targets, []procedure.Target{{Control: "throttle", At: 9, Tolerance: 1.5, Mark: "start"}}; !slices.Equal(got, want) {
		t.Errorf("start mark %+v, want %+v", got, want)
	}
	if got, want := byID["settle"].Conditions, []procedure.Condition{{Instrument: "rpm", Min: 950, Max: 1050}}; !slices.Equal(got, want) {
		t.Errorf("settle %+v, want %+v", got, want)
	}
	if got := byID["volts"].Conditions[0]; got.Min != 24.2 || !math.IsInf(got.Max, 1) {
		t.Errorf("volts %+v", got)
	}
	oil := byID["oil"]
	if oil.Window.Max != s(30) || oil.Cold == nil || oil.Cold.BelowCelsius != -10 || oil.Cold.Window.Max != s(60) || oil.WindowFrom != procedure.FromFires {
		t.Errorf("oil pressure %+v, cold %+v", oil.Window, oil.Cold)
	}
	clear := steps[procedure.StepPropClear]
	if clear.AnswerWait != s(3) || clear.ValidFor != s(30) {
		t.Errorf("propeller area: wait %v, valid %v", clear.AnswerWait, clear.ValidFor)
	}
	var counts []string
	for _, c := range steps[procedure.StepCrank].CallOuts {
		counts = append(counts, c.Offset.String()+" "+c.Line.Spoken())
	}
	if got := strings.Join(counts, ", "); got != "3s three, 4s four, 5s release" {
		t.Errorf("crank call-outs: %s", got)
	}
	back := steps[procedure.StepHold].CallOuts[0]
	if back.Anchor != procedure.BeforeIdeal || back.Offset != s(0.5) || back.Line.Spoken() != "mixture, back" || back.Line.Caption != "mixture… back" {
		t.Errorf("the call-out of the prime: %+v", back)
	}
	if !steps[procedure.StepHold].Count || !steps[procedure.StepCatch].Together || !steps[procedure.StepRelease].Together {
		t.Error("the prime is counted; catch and release go together")
	}
	want := procedure.StarterLimits{Crank: s(6), Rest: s(45), Attempts: 5, LongRest: 20 * time.Minute}
	if lib.Aircraft.Starter != want {
		t.Errorf("starter %+v, want %+v", lib.Aircraft.Starter, want)
	}
	if p, ok := lib.Aircraft.Panel("no-flow"); !ok || p.Shows("fuel_flow") || !p.Shows("rpm") {
		t.Errorf("panel without the fuel-flow gauge: %v %+v", ok, p)
	}
}

// common practice, no source: at least 24 V, a cold prime of 3 to 5 s, a warm
// one of 1 to 2 s, 5 s of cranking, a minute between attempts, thirty after six.
func TestCommonPractice(t *testing.T) {
	libraries, err := flowfile.Load(os.DirFS(commonPractice))
	if err != nil {
		t.Fatal(err)
	}
	a := libraries[0].Aircraft
	want := procedure.StarterLimits{Crank: 5 * time.Second, Rest: time.Minute, Attempts: 6, LongRest: 30 * time.Minute}
	if a.Starter != want || a.MinBusVolts != 24 {
		t.Errorf("starter %+v, volts %v", a.Starter, a.MinBusVolts)
	}
	for id, want := range map[procedure.FlowID][2]time.Duration{"cold": {3 * time.Second, 5 * time.Second}, "warm": {time.Second, 2 * time.Second}} {
		f, _ := libraries[0].Flow(id)
		i := slices.IndexFunc(f.Steps, func(s procedure.Step) bool { return s.Kind == procedure.StepHold })
		if w := f.Steps[i].Window; w.Min != want[0] || w.Max != want[1] {
			t.Errorf("%s prime %v", id, w)
		}
	}
}

func TestEveryShippedFlow(t *testing.T) {
	for _, lib := range shipped(t) {
		for _, f := range lib.Flows {
			name := string(lib.Aircraft.ID) + "/" + string(f.ID)
			if !strings.Contains(f.Caution, "handbook") {
				t.Errorf("%s: the caution does not defer to the aeroplane's handbook: %q", name, f.Caution)
			}
			data, err := fs.ReadFile(assets.Library(), "flows/"+name+".yaml")
			if err != nil {
				t.Errorf("%s: the file is not named after the flow: %v", name, err)
				continue
			}
			sum := sha256.Sum256(data)
			if f.Hash != hex.EncodeToString(sum[:]) {
				t.Errorf("%s: hash %s", name, f.Hash)
			}
			for _, s := range f.Steps {
				if s.Wrong == "" {
					t.Errorf("%s: step %s does not say what goes wrong", name, s.ID)
				}
			}
		}
	}
}

func TestLines(t *testing.T) {
	lines := flowfile.Lines(shipped(t)["brindle-180"])
	for _, want := range []string{"Brakes: held", "mixture, back", "It fires: mixture", "three", "Half the prime again"} {
		if !slices.Contains(lines, want) {
			t.Errorf("%q is missing", want)
		}
	}
	if !slices.IsSorted(lines) || len(slices.Compact(slices.Clone(lines))) != len(lines) {
		t.Error("lines must be sorted, each once")
	}
	for _, l := range lines {
		if strings.ContainsAny(l, "…%°±") {
			t.Errorf("no voice can say %q", l)
		}
	}
}

// A person's folder: what is right in it is used, what is wrong is explained,
// and the shipped libraries stay as they were.
func TestLoadUser(t *testing.T) {
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	before, _ := procedureLibrary(libraries, "brindle-180")
	n := len(before.Flows)
	warm, err := fs.ReadFile(assets.Library(), "flows/brindle-180/warm.yaml")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		p := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(p), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	mine := strings.Replace(string(warm), "id: warm", "id: mine", 1)
	write("flows/brindle-180/mine.yaml", mine)
	write("flows/brindle-180/taken.yaml", string(warm))
	write("flows/brindle-180/lost.yaml", strings.NewReplacer("id: warm", "id: lost", "flow: flooded-air", "flow: nowhere").Replace(string(warm)))
	write("flows/brindle-180/to-lost.yaml", strings.NewReplacer("id: warm", "id: to-lost", "flow: flooded-air", "flow: lost").Replace(string(warm)))
	write("flows/nobody/warm.yaml", string(warm))

	got, err := flowfile.LoadUser(dir, libraries)
	var wrong *flowfile.Errors
	if !errors.As(err, &wrong) {
		t.Fatalf("no explanation: %v", err)
	}
	for _, want := range []string{"has a flow \"warm\" already", "\"nowhere\"", "a flow \"lost\"", "\"nobody\""} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%s is missing in:\n%v", want, err)
		}
	}
	after, _ := procedureLibrary(got, "brindle-180")
	if _, ok := after.Flow("mine"); !ok || len(after.Flows) != n+1 {
		t.Errorf("%d flows, want the shipped %d and mine", len(after.Flows), n)
	}
	if len(before.Flows) != n {
		t.Error("the shipped library was changed")
	}
	if same, err := flowfile.LoadUser(filepath.Join(dir, "absent"), libraries); err != nil || len(same) != len(libraries) {
		t.Errorf("a folder that is not there: %v", err)
	}
}

func procedureLibrary(libraries []*procedure.Library, id procedure.AircraftID) (*procedure.Library, bool) {
	for _, l := range libraries {
		if l.Aircraft.ID == id {
			return l, true
		}
	}
	return nil, false
}

// A flow that checks an instrument which no panel shows can never be flown.
func TestInstrumentOnNoPanel(t *testing.T) {
	lib := shipped(t)["brindle-180"]
	a := *lib.Aircraft
	a.Panels = []procedure.Panel{{ID: "only", Name: "Only", Hides: []procedure.InstrumentID{"bus_volts", "fuel_flow"}}}
	data, err := fs.ReadFile(assets.Library(), "flows/brindle-180/cold.yaml")
	if err != nil {
		t.Fatal(err)
	}
	_, err = flowfile.ParseFlow("cold.yaml", data, &a)
	if err == nil || strings.Count(err.Error(), "no panel of the Brindle 180 shows the") != 3 {
		t.Errorf("volts twice and the fuel flow of the prime should be refused: %v", err)
	}
}

func TestFilesThatAreTooLarge(t *testing.T) {
	big := "# " + strings.Repeat("x", 300<<10)
	for name, data := range map[string]string{"bytes": big, "line": "schema: " + strings.Repeat("x", 501)} {
		_, err := flowfile.ParseAircraft(name, []byte(data))
		if err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	tree := fstest.MapFS{"aircraft/big.yaml": {Data: []byte(big)}, "aircraft/text.yaml": {Data: []byte("\xff\xfe")}}
	_, err := flowfile.Load(tree)
	if err == nil || !strings.Contains(err.Error(), "bytes") || !strings.Contains(err.Error(), "UTF-8") {
		t.Errorf("both should be refused: %v", err)
	}
}
