package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"time"

	"kickover/procedure"
)

// A run leaves as JSON Lines: a line for the header, one for each event, and one
// for the summary if the run is over. Several runs may follow one another. Names
// that end in _ns are nanoseconds; the seed is in quotes, since many readers of
// JSON keep no more than 53 bits of a number.

type headerLine struct {
	Run           int        `json:"kickover_run"` // Header.Format
	ID            string     `json:"id"`
	Started       time.Time  `json:"started"`
	Events        int        `json:"events"` // lines of events that follow
	Program       string     `json:"program"`
	Aircraft      string     `json:"aircraft"`
	Flow          string     `json:"flow"`
	FlowHash      string     `json:"flow_sha256"`
	Phase         string     `json:"phase"`
	Panel         string     `json:"panel"`
	OATCelsius    exactFloat `json:"oat_degC"`
	PressureAltM  exactFloat `json:"pressure_altitude_m"`
	SinceShutdown int64      `json:"since_shutdown_ns"`
	BatteryCharge exactFloat `json:"battery_charge"`
	Hidden        bool       `json:"hidden"`
	Faults        []string   `json:"faults"`
	Seed          uint64     `json:"seed,string"`
	Step          int64      `json:"step_ns"`
	Person        string     `json:"person,omitempty"` // id of whose run it is; left out when it is nobody's
}

type eventLine struct {
	Seq     int        `json:"seq"`
	At      int64      `json:"at_ns"`
	Kind    string     `json:"kind"`
	Subject string     `json:"subject"`
	Value   exactFloat `json:"value"`
	Text    string     `json:"text,omitempty"`
}

type summaryLine struct {
	Outcome  *string `json:"outcome"`
	Prime    int64   `json:"prime_ns"`
	Attempts int     `json:"attempts"`
	Unsafe   int     `json:"unsafe"`
	Duration int64   `json:"duration_ns"`

	// Left out when it follows from the outcome: that the engine ran if it started.
	Running *bool      `json:"running,omitempty"`
	Steps   []stepLine `json:"steps,omitempty"`
}

type stepLine struct {
	ID          string   `json:"step"`
	Title       string   `json:"title"`
	Kind        string   `json:"kind"`
	Criticality int      `json:"criticality"`
	Verdict     string   `json:"verdict"`
	Window      [3]int64 `json:"window_ns"` // shortest, ideal and longest; all 0 for none
	Begin       int64    `json:"begin_ns"`
	Elapsed     int64    `json:"elapsed_ns"`
	Hesitation  int64    `json:"hesitation_ns"`
	TakenFor    string   `json:"taken_for,omitempty"`
}

func summaryLineOf(s Summary) summaryLine {
	outcome := string(s.Outcome)
	line := summaryLine{Outcome: &outcome, Prime: int64(s.Prime), Attempts: s.Attempts, Unsafe: s.Unsafe, Duration: int64(s.Duration)}
	if s.Running != (s.Outcome == procedure.Started) {
		line.Running = &s.Running
	}
	for _, t := range s.Steps {
		line.Steps = append(line.Steps, stepLine{
			string(t.ID), t.Title, string(t.Kind), t.Criticality, string(t.Verdict),
			[3]int64{int64(t.Window.Min), int64(t.Window.Ideal), int64(t.Window.Max)},
			int64(t.Begin), int64(t.Elapsed), int64(t.Hesitation), string(t.TakenFor),
		})
	}
	return line
}

func (line summaryLine) summary() Summary {
	s := Summary{
		Outcome: procedure.Outcome(*line.Outcome), Prime: time.Duration(line.Prime),
		Attempts: line.Attempts, Unsafe: line.Unsafe, Duration: time.Duration(line.Duration),
	}
	s.Running = s.Outcome == procedure.Started
	if line.Running != nil {
		s.Running = *line.Running
	}
	for _, t := range line.Steps {
		s.Steps = append(s.Steps, Step{
			ID: procedure.StepID(t.ID), Title: t.Title, Kind: procedure.StepKind(t.Kind), Criticality: t.Criticality,
			Verdict: procedure.Verdict(t.Verdict),
			Window:  procedure.Window{Min: time.Duration(t.Window[0]), Ideal: time.Duration(t.Window[1]), Max: time.Duration(t.Window[2])},
			Begin:   time.Duration(t.Begin), Elapsed: time.Duration(t.Elapsed), Hesitation: time.Duration(t.Hesitation),
			TakenFor: procedure.StepID(t.TakenFor),
		})
	}
	return s
}

// exactFloat is a number that comes back to the bit. JSON has no words for
// infinities and not-a-number: those are a string of their 64 bits in hex.
type exactFloat float64

func (v exactFloat) MarshalJSON() ([]byte, error) {
	if f := float64(v); math.IsNaN(f) || math.IsInf(f, 0) {
		return fmt.Appendf(nil, `"%016x"`, math.Float64bits(f)), nil
	}
	return json.Marshal(float64(v))
}

func (v *exactFloat) UnmarshalJSON(text []byte) error {
	if len(text) > 0 && text[0] == '"' {
		b, err := strconv.ParseUint(string(bytes.Trim(text, `"`)), 16, 64)
		if err != nil || len(text) != 18 {
			return fmt.Errorf("%s is not 16 hex digits of a number's bits", text)
		}
		*v = exactFloat(math.Float64frombits(b))
		return nil
	}
	return json.Unmarshal(text, (*float64)(v))
}
