package procedure

import "time"

// Verdict is what became of a step.
type Verdict string

// The verdicts. The empty verdict is a step nothing has become of yet.
const (
	Pending    Verdict = ""
	OnTime     Verdict = "on time"
	Early      Verdict = "early"
	Late       Verdict = "late"
	Missed     Verdict = "missed"
	OutOfOrder Verdict = "out of order"
	Unsafe     Verdict = "unsafe"
)

// Priority orders what wants to be heard: a warning cuts in over a count, a
// count over a prompt.
type Priority int

// From what may wait to what may not.
const (
	PriorityPrompt Priority = iota
	PriorityCount
	PriorityCue // an event's own call-out: "it fires: mixture"
	PriorityWarning
)

// EffectKind says what the caller is asked to do.
type EffectKind string

// The effects.
const (
	EffectSay     EffectKind = "say"     // speak Line so that its beat falls at At
	EffectHush    EffectKind = "hush"    // drop what Step still had to say
	EffectBegin   EffectKind = "begin"   // Step became the present one
	EffectVerdict EffectKind = "verdict" // Verdict on Step
	EffectAlert   EffectKind = "alert"   // Breach: say and show it at once
	EffectAttempt EffectKind = "attempt" // an attempt began or ended
	EffectBranch  EffectKind = "branch"  // it did not start: the student must choose
	EffectDone    EffectKind = "done"    // the run is over
)

// Effect is what the engine asks of its caller: data, never a function.
type Effect struct {
	Kind     EffectKind
	At       time.Duration // when it is due: now, or later for a line that is scheduled ahead
	Step     StepID
	Verdict  Verdict
	Line     Line
	Priority Priority
	Breach   Breach
}

// Breach is an act that could hurt somebody or break something.
type Breach string

// The breaches.
const (
	BreachNoPropClear  Breach = "no valid propeller-area check"
	BreachAreaOccupied Breach = "somebody is in the propeller's area"
	BreachBrakesOff    Breach = "brakes not held"
	BreachCrankLimit   Breach = "starter past its limit"
	BreachRest         Breach = "starter not rested"
	BreachStarterIn    Breach = "starter held in a running engine"
	BreachNoOil        Breach = "running without oil pressure"
	BreachOverspeed    Breach = "engine raced after the start"
	BreachDanger       Breach = "danger left unanswered"
)

// Outcome is how a run ended.
type Outcome string

// The outcomes. The empty outcome is a run that has not ended.
const (
	Running    Outcome = ""
	Started    Outcome = "started"
	NotStarted Outcome = "not started"
	EndUnsafe  Outcome = "unsafe"  // it may have started; something was done that could hurt somebody
	Stopped    Outcome = "stopped" // rightly: for a fault that was there, or because the flow ends so
	Abandoned  Outcome = "abandoned"
	Read       Outcome = "read" // an Explain that was turned to its end
)

// Resumed is how a drill ends after which the flow goes on where it was; no run
// ends so.
const Resumed Outcome = "resumed"
