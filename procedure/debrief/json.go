package debrief

import (
	"encoding/json"
	"io"
	"math"
	"time"

	"kickover/procedure"
)

// Format names the JSON that [Report.WriteJSON] writes; it changes when a field
// changes its meaning.
const Format = "kickover/debrief/1"

// Heading is what stands above a report: what the run began with.
type Heading struct {
	Run           string   `json:"run,omitempty"`
	Aircraft      string   `json:"aircraft"`
	Flow          string   `json:"flow"`
	Phase         string   `json:"phase"`
	Panel         string   `json:"panel,omitempty"`
	OATCelsius    float64  `json:"oat_degC"`
	PressureAltM  float64  `json:"pressure_altitude_m"`
	SinceShutdown float64  `json:"since_shutdown_seconds"`
	BatteryCharge float64  `json:"battery_charge"`
	Faults        []string `json:"faults"`
	Seed          uint64   `json:"seed"`
}

type reportJSON struct {
	Format string `json:"format"`
	Heading
	Outcome   string        `json:"outcome"`
	Started   bool          `json:"started"`
	Unsafe    bool          `json:"unsafe"`
	Reason    string        `json:"reason"`
	Reasons   []reasonJSON  `json:"reasons"`
	Prime     float64       `json:"prime_seconds"`
	Levelled  *float64      `json:"flow_levelled_off_seconds"`
	Duration  float64       `json:"duration_seconds"`
	Steps     []stepJSON    `json:"steps"`
	Attempts  []attemptJSON `json:"attempts"`
	Breaches  []breachJSON  `json:"breaches"`
	Omissions int           `json:"omitted_after_interruption"`
}

type reasonJSON struct {
	Head string `json:"head"`
	Body string `json:"body"`
}

type stepJSON struct {
	ID      string      `json:"id"` // unique within the run
	Step    string      `json:"step"`
	Title   string      `json:"title"`
	Kind    string      `json:"kind"`
	Verdict string      `json:"verdict"` // "not reached" where the flow took another way
	Elapsed *float64    `json:"elapsed_seconds"`
	Window  *windowJSON `json:"window_seconds"`
	Value   *float64    `json:"value,omitempty"`
}

type windowJSON struct {
	Min   float64  `json:"min"`
	Ideal *float64 `json:"ideal,omitempty"`
	Max   float64  `json:"max"`
}

type attemptJSON struct {
	At     float64  `json:"at_seconds"`
	Crank  float64  `json:"crank_seconds"`
	Fired  bool     `json:"fired"`
	ToFire *float64 `json:"seconds_to_fire"`
	Ran    bool     `json:"ran"`
	Prime  float64  `json:"prime_seconds"`
	Vapour *float64 `json:"vapour_percent"`
	RPM    *float64 `json:"cranking_rpm"`
}

type breachJSON struct {
	At     float64 `json:"at_seconds"`
	Breach string  `json:"breach"`
	Step   string  `json:"step,omitempty"`
}

// WriteJSON writes the report as one JSON object. Times are in seconds, to the
// tenth of a millisecond; a null is a thing that did not happen.
func (r *Report) WriteJSON(w io.Writer, h Heading) error {
	out := reportJSON{
		Format: Format, Heading: h,
		Outcome: string(r.Outcome), Started: r.Started, Unsafe: r.Unsafe,
		Reason: r.Why, Reasons: []reasonJSON{}, Prime: inSeconds(r.Prime), Levelled: r.levelled(),
		Duration: inSeconds(r.Length), Steps: []stepJSON{}, Attempts: []attemptJSON{},
		Breaches: []breachJSON{}, Omissions: r.Omitted,
	}
	if out.Faults == nil {
		out.Faults = []string{}
	}
	for _, x := range r.Reasons {
		out.Reasons = append(out.Reasons, reasonJSON(x))
	}
	for _, s := range r.Steps {
		out.Steps = append(out.Steps, s.forJSON())
	}
	for _, a := range r.Attempts {
		out.Attempts = append(out.Attempts, a.forJSON())
	}
	for _, b := range r.Breaches {
		out.Breaches = append(out.Breaches, breachJSON{inSeconds(b.At), string(b.Breach), b.Step})
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(out)
}

func (s Step) forJSON() stepJSON {
	out := stepJSON{
		ID: s.Key, Step: string(s.Step.ID), Title: s.Step.Title, Kind: string(s.Step.Kind),
		Verdict: string(s.Verdict), Value: number(s.Value),
	}
	if !s.Reached {
		out.Verdict = "not reached"
	} else if s.Verdict != procedure.Missed {
		elapsed := inSeconds(s.Elapsed)
		out.Elapsed = &elapsed
	}
	if !s.Window.Zero() {
		out.Window = &windowJSON{Min: inSeconds(s.Window.Min), Max: inSeconds(s.Window.Max)}
		if s.Window.Ideal > 0 {
			ideal := inSeconds(s.Window.Ideal)
			out.Window.Ideal = &ideal
		}
	}
	return out
}

func (a Attempt) forJSON() attemptJSON {
	out := attemptJSON{
		At: inSeconds(a.Engaged), Crank: inSeconds(a.Crank()), Fired: a.Fired, Ran: a.Ran,
		Prime: inSeconds(a.Prime), Vapour: number(a.Vapour), RPM: number(a.RPM),
	}
	if a.Fired {
		toFire := inSeconds(a.ToFire())
		out.ToFire = &toFire
	}
	return out
}

// levelled is when the flow levelled off in the prime of the last attempt that
// had one, in seconds from the mixture's leaving cut-off.
func (r *Report) levelled() *float64 {
	for i := len(r.Primes) - 1; i >= 0; i-- {
		if p := r.Primes[i]; p.LevelledAt > 0 {
			s := inSeconds(p.LevelledAt - p.Begin)
			return &s
		}
	}
	return nil
}

func inSeconds(d time.Duration) float64 {
	return math.Round(d.Seconds()*1e4) / 1e4
}

// number drops what JSON cannot say.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = math.Round(v*1e4) / 1e4
	return &v
}
