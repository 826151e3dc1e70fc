package rehearsal

import (
	"time"

	"kickover/procedure"
)

// Snapshot is everything a screen needs to show one moment of a run. It is
// never changed after it was published; a screen may keep it.
type Snapshot struct {
	At         time.Duration // since the run began
	Aircraft   *procedure.Aircraft
	Panel      procedure.Panel
	FlowTitle  string
	Phase      procedure.Phase
	Conditions Conditions

	Positions []procedure.Position // as Aircraft.Controls
	Readings  []float64            // as Aircraft.Instruments; NaN where an instrument is dead
	FlowTrace []TracePoint         // indicated fuel flow over the last ten seconds, oldest first
	FlowState FlowState

	Steps   []StepView
	Present int // index of the present step, or len(Steps) when there is none
	Clock   ClockView
	Starter StarterView
	Area    AreaView
	Caption Caption
	Alerts  []Alert // newest last
	Choices []procedure.Choice
	Asked   *Interruption // an interruption that waits for the student, else nil

	Paused  bool // the run's time stands still
	Done    bool
	Outcome procedure.Outcome
	Notice  string // a plain sentence about something that is not working, as sound or disk
}

// TracePoint is one sample of a trace.
type TracePoint struct {
	At    time.Duration
	Value float64
}

// FlowState is what the fuel-flow gauge is doing, in the word shown beside it.
type FlowState string

// The states.
const (
	FlowNone    FlowState = ""
	FlowRising  FlowState = "rising"
	FlowLevel   FlowState = "level"
	FlowFalling FlowState = "falling"
)

// StepStatus is where a step stands in the strip.
type StepStatus string

// The statuses: next, present, open (passed over and still to do), done, and
// not reached, where the flow took another way.
const (
	StepNext    StepStatus = "next"
	StepPresent StepStatus = "present"
	StepOpen    StepStatus = "open"
	StepDone    StepStatus = "done"

	StepNotReached StepStatus = "not reached"
)

// StepView is one line of the step strip.
type StepView struct {
	Key     string // unique within the run: the step's id, with "#2" and so on when a branch repeats it
	Step    *procedure.Step
	Status  StepStatus
	Verdict procedure.Verdict
	Elapsed time.Duration
	Window  procedure.Window // the one in force: the cold one where it applies
	Overdue bool             // present, and past its window
	Detail  string           // "25.1 V", "28 mm", "4.1 s"
}

// ClockView is the large stopwatch.
type ClockView struct {
	Label   string // PRIME, CRANK, REST, STEP
	Sub     string // "mixture is forward"
	Running bool
	Elapsed time.Duration
	Window  procedure.Window // zero when there is none to draw
	Scale   time.Duration    // a whole turn of the hand
	Down    bool             // Elapsed counts down to zero (a rest)
}

// StarterView is the ledger as shown.
type StarterView struct {
	Limits   procedure.StarterLimits
	Used     int // attempts in this set
	Cranking bool
	RestLeft time.Duration // zero when the starter may be used
	Long     bool          // the rest is the long one
}

// SectorView is one third of the propeller's area.
type SectorView struct {
	Looked   bool   // looked at, and nothing has entered it since
	Occupied bool   // somebody or something is in it
	Seen     bool   // the student can see what is in it
	Who      string // "a refueller walks in"
}

// AreaView is the propeller-area check as shown: left, ahead, right.
type AreaView struct {
	Active     bool // the check is the present step: show the picture
	Sectors    [3]SectorView
	BrakesHeld bool
	Called     bool
	AnswerLeft time.Duration // of the wait after CLEAR
	Valid      bool
}

// Caption is a line as shown while it is spoken.
type Caption struct {
	Text     string
	Priority procedure.Priority
	At       time.Duration
	Hint     string // a quiet second line: "watch the flow: it is still rising"
	By       string // whose words they are, where they are not the voice's: "Instructor"
}

// Alert is a breach as shown.
type Alert struct {
	At     time.Duration
	Breach procedure.Breach
	Text   string
}

// Interruption is something that happens in the middle of a flow.
type Interruption struct {
	At   time.Duration
	Text string // what was said
	Who  string
}

// Conditions are what a run begins with.
type Conditions struct {
	OATCelsius      float64
	PressureAltM    float64
	SinceShutdown   time.Duration
	BatteryCharge   float64       // 0 to 1; zero is the battery's usual charge
	Preheat         time.Duration // how long the engine was heated before
	SurpriseOffered bool          // the student was not shown them
}
