package hands_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kickover/procedure"
	"kickover/procedure/hands"
)

// trainer is an aircraft with one of each kind of control.
var trainer = &procedure.Aircraft{
	Name: "trainer",
	Controls: []procedure.Control{
		{ID: "battery", Kind: procedure.Switch, Detents: []string{"off", "on"}},
		{ID: "ignition", Kind: procedure.Rotary, Detents: []string{"off", "right", "left", "both", "start"},
			Sprung: []procedure.Sprung{{From: "start", To: "both"}}},
		{ID: "throttle", Kind: procedure.Lever, Unit: "mm", Travel: 80, Low: "closed", High: "open",
			Marks: []procedure.Mark{{ID: "prime", At: 28, Tolerance: 2}}},
		{ID: "mixture", Kind: procedure.Lever, Travel: 1, Low: "cut-off", High: "full rich"},
	},
	Instruments: []procedure.Instrument{{ID: "bus_volts"}, {ID: "rpm"}},
}

func move(at time.Duration, control string, to float64) procedure.Event {
	return procedure.Event{At: at, Kind: procedure.EventMove, Subject: control, Value: to}
}

func TestParse(t *testing.T) {
	const text = "\ufeff" + `{"at":"1.2s","control":"battery","to":"on"}
{"at":"6.0s","control":"throttle","to":"28 mm"}
{"at":"8.00s","control":"mixture","to":1.0}

{"at":"12.05s","control":"mixture","to":0.0}
{"at":"15s","look":"left"}
{"at":"17s","call":"clear"}
{"at":"4.0s","report":"bus_volts"}
{"at":"21s","control":"ignition","to":"start"}` + "\r\n" + `{"at":"1m2.5s","choose":"prime-again"}
  { "to" : "both", "control" : "ignition", "at" : "22s" }
{"at":"30s","control":"throttle","to":"1.1 in"}
{"at":"31s","control":"throttle","to":"prime"}
{"at":"31s","control":"throttle","to":"closed"}
{"at":"32s","control":"mixture","to":"full rich"}
{"at":"33s","control":"mixture","to":0.25}`
	want := []procedure.Event{
		move(1200*time.Millisecond, "battery", 1),
		{At: 4 * time.Second, Kind: procedure.EventReport, Subject: "bus_volts"},
		move(6*time.Second, "throttle", 28),
		move(8*time.Second, "mixture", 1),
		move(12050*time.Millisecond, "mixture", 0),
		{At: 15 * time.Second, Kind: procedure.EventLook, Subject: "left"},
		{At: 17 * time.Second, Kind: procedure.EventCall, Subject: "clear"},
		move(21*time.Second, "ignition", 4),
		move(22*time.Second, "ignition", 3),
		// An inch is exactly 25.4 mm (ISO 80000-3; international yard and pound agreement, 1959).
		move(30*time.Second, "throttle", 1.1*25.4),
		move(31*time.Second, "throttle", 28),
		move(31*time.Second, "throttle", 0),
		move(32*time.Second, "mixture", 1),
		move(33*time.Second, "mixture", 0.25),
		{At: 62500 * time.Millisecond, Kind: procedure.EventChoose, Subject: "prime-again"},
	}
	got, err := hands.Parse(strings.NewReader(text), trainer)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got, want) {
		t.Errorf("\n got %v\nwant %v", got, want)
	}
}

func TestWrongLines(t *testing.T) {
	for _, c := range []struct{ line, want string }{
		{`hello`, "line 1: not a JSON object; write for example"},
		{`[1]`, "line 1: not a JSON object"},
		{`{"at":"1s"`, "line 1: the object does not end"},
		{`{"at":"1s","look":"left"} {}`, "line 1: something follows the object"},
		{`{"at":"1s","at":"2s","look":"left"}`, `line 1: "at" stands there twice`},
		{`{"at":"1s"}`, "line 1: no act; say one of control, look, call, report, choose"},
		{`{"at":"1s","look":"left","call":"clear"}`, "line 1: two acts on one line; give each a line of its own"},
		{`{"at":"1s","look":"left","speed":2}`, `line 1: "speed":2: unknown key; a line has at, one of`},
		{`{"look":"left"}`, `line 1: no time; write the time since the run began, as "1.2s"`},
		{`{"at":1.2,"look":"left"}`, `line 1: 1.2: not a time; write`},
		{`{"at":"soon","look":"left"}`, `line 1: "soon": not a time; write`},
		{`{"at":"-1s","look":"left"}`, `line 1: "-1s": before the run begins`},
		{`{"at":"168h0.000000001s","look":"left"}`, `line 1: "168h0.000000001s": more than a week after the run begins; write`},
		{`{"at":"2562047h","look":"left"}`, `line 1: "2562047h": more than a week after the run begins`},
		{`{"at":"2562048h","look":"left"}`, `line 1: "2562048h": not a time`}, // more nanoseconds than can be counted
		{`{"at":"1s","look":"behind"}`, `line 1: "behind": nowhere to look; write one of left, ahead, right`},
		{`{"at":"1s","call":"contact"}`, `line 1: "contact": not a call; write one of clear, ready,`},
		{`{"at":"1s","report":"altimeter"}`, `line 1: "altimeter": not an instrument of the trainer; write one of bus_volts, rpm`},
		{`{"at":"1s","report":7}`, `line 1: 7: report wants a name in quotes`},
		{`{"at":"1s","choose":""}`, `line 1: "": choose wants a name in quotes`},
		{`{"at":"1s","control":"flaps","to":"up"}`, `line 1: "flaps": not a control of the trainer; write one of battery, ignition, throttle, mixture`},
		{`{"at":"1s","control":"battery"}`, "line 1: a control and to belong together"},
		{`{"at":"1s","look":"left","to":"on"}`, "line 1: a control and to belong together"},
		{`{"at":"1s","control":"battery","to":"up"}`, `line 1: "up": not a position of battery; write one of off, on`},
		{`{"at":"1s","control":"battery","to":1}`, `line 1: 1: battery is a switch; write one of off, on`},
		{`{"at":"1s","control":"throttle","to":28}`, `line 1: 28: throttle cannot go there; write a distance from its stop, "0 mm" to "80 mm", or "0 in" to "3.15 in", or "closed", or "open", or "prime"`},
		{`{"at":"1s","control":"throttle","to":"28"}`, `line 1: "28": throttle cannot go there`},
		{`{"at":"1s","control":"throttle","to":"28 cm"}`, `line 1: "28 cm": throttle cannot go there`},
		{`{"at":"1s","control":"throttle","to":"81 mm"}`, `line 1: "81 mm": beyond the travel of throttle`},
		{`{"at":"1s","control":"throttle","to":"NaN mm"}`, `line 1: "NaN mm": beyond the travel of throttle`},
		{`{"at":"1s","control":"throttle","to":null}`, `line 1: null: throttle cannot go there`},
		{`{"at":"1s","control":"mixture","to":1.01}`, `line 1: 1.01: beyond the travel of mixture; write a number from 0 to 1, or "cut-off", or "full rich"`},
		{`{"at":"1s","control":"mixture","to":"0.5"}`, `line 1: "0.5": mixture cannot go there`},
		{`{"at":"1s","control":"mixture","to":"1 mm"}`, `line 1: "1 mm": mixture cannot go there`},
		{strings.Repeat("x", 1<<17), "line 1: longer than 65536 bytes"},
	} {
		events, err := hands.Parse(strings.NewReader(c.line), trainer)
		var wrong *hands.LineError
		if err == nil || !errors.As(err, &wrong) || !strings.HasPrefix(err.Error(), c.want) || events != nil {
			t.Errorf("%.60s\n got %v\nwant %s", c.line, err, c.want)
		}
	}
}

func TestAllWrongLinesAreToldAtOnce(t *testing.T) {
	_, err := hands.Parse(strings.NewReader("{\"at\":\"1s\",\"look\":\"left\"}\n\nnonsense\n{\"at\":\"2s\",\"look\":\"up\"}\n"), trainer)
	if err == nil || !strings.Contains(err.Error(), "line 3: ") || !strings.Contains(err.Error(), "line 4: ") || strings.Contains(err.Error(), "line 1: ") {
		t.Errorf("%v, want lines 3 and 4", err)
	}
}

// endless is a file that never ends.
type endless struct{ line string }

func (e endless) Read(p []byte) (n int, err error) {
	for n+len(e.line) <= len(p) {
		n += copy(p[n:], e.line)
	}
	return n, nil
}

// A file without an end is given up, whether its lines are right or wrong.
func TestAFileThatNeverEndsIsGivenUp(t *testing.T) {
	for line, want := range map[string]string{
		"{\"at\":\"1s\",\"look\":\"left\"}\n": "line 200001: more than 200000 acts; write the acts of one run",
		"nonsense\n":                          "line 100: not a JSON object",
	} {
		if events, err := hands.Parse(endless{line}, trainer); events != nil || err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%d events, error %.200v; want %q", len(events), err, want)
		}
	}
}

func TestWriteRefusesWhatTheAircraftDoesNotHave(t *testing.T) {
	for _, e := range []procedure.Event{
		move(0, "flaps", 1), move(0, "battery", 2), move(0, "battery", 0.5), move(0, "throttle", 81), move(0, "mixture", -0.1),
	} {
		if err := hands.Write(&strings.Builder{}, []procedure.Event{e}, trainer); err == nil || !strings.Contains(err.Error(), e.Subject) {
			t.Errorf("%v: %v, want an error that names the control", e, err)
		}
	}
}

// anyAct draws one act that the trainer allows.
func anyAct(t *rapid.T) procedure.Event {
	e := procedure.Event{At: time.Duration(rapid.Int64Range(0, int64(3*time.Hour)).Draw(t, "at"))}
	pick := func(kind procedure.EventKind, subjects ...string) {
		e.Kind, e.Subject = kind, rapid.SampledFrom(subjects).Draw(t, "subject")
	}
	switch rapid.IntRange(0, 5).Draw(t, "act") {
	case 0:
		pick(procedure.EventLook, "left", "ahead", "right")
	case 1:
		pick(procedure.EventCall, "clear", "ready")
	case 2:
		pick(procedure.EventReport, "bus_volts", "rpm")
	case 3:
		pick(procedure.EventChoose, "prime-again", "ask a <mechanic> & \"wait\"")
	default:
		c := rapid.SampledFrom(trainer.Controls).Draw(t, "control")
		e.Kind, e.Subject = procedure.EventMove, string(c.ID)
		if c.Kind == procedure.Lever {
			e.Value = rapid.Float64Range(0, float64(c.Travel)).Draw(t, "to")
		} else {
			e.Value = float64(rapid.IntRange(0, len(c.Detents)-1).Draw(t, "detent"))
		}
	}
	return e
}

func TestActsComeBackAsTheyWereWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := rapid.SliceOf(rapid.Custom(anyAct)).Draw(t, "acts")
		var text strings.Builder
		if err := hands.Write(&text, events, trainer); err != nil {
			t.Fatal(err)
		}
		got, err := hands.Parse(strings.NewReader(text.String()), trainer)
		if err != nil {
			t.Fatal(err)
		}
		want := slices.Clone(events)
		slices.SortStableFunc(want, func(a, b procedure.Event) int { return int(a.At - b.At) })
		if !slices.Equal(got, want) {
			t.Fatalf("%s\n got %v\nwant %v", &text, got, want)
		}
	})
}

// Whatever is read without an error is written, and read again the same.
func FuzzParse(f *testing.F) {
	f.Add("{\"at\":\"1.2s\",\"control\":\"battery\",\"to\":\"on\"}\n{\"at\":\"6.0s\",\"control\":\"throttle\",\"to\":\"1.1 in\"}")
	f.Add(`{"at":"8.00s","control":"mixture","to":1e-9}`)
	f.Add(`{"at":"15s","look":"left"}` + "\n" + `{"at":"1h","choose":"\u0000"}`)
	f.Add(`{"at":"0","call":"clear","at":"1s"}`)
	f.Fuzz(func(t *testing.T, text string) {
		events, err := hands.Parse(strings.NewReader(text), trainer)
		if err != nil {
			return
		}
		var out strings.Builder
		if err := hands.Write(&out, events, trainer); err != nil {
			t.Fatalf("read but not written: %v", err)
		}
		again, err := hands.Parse(strings.NewReader(out.String()), trainer)
		if err != nil || !slices.Equal(again, events) {
			t.Fatalf("%q\nread %v\nthen %v, %v", text, events, again, err)
		}
	})
}
