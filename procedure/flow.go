package procedure

import "time"

// Flow is an ordered list of steps for one aircraft in one situation.
type Flow struct {
	ID        FlowID // "cold"; unique within its aircraft
	Aircraft  AircraftID
	Title     string // "Cold start"
	Situation string // cold, warm, hot, flooded, again, …: a word the trade uses
	KnownBy   string // how a pilot tells that this is the situation
	Caution   string // that the aeroplane's own handbook rules; shown wherever the flow is
	Entry     bool   // offered to begin a run with; others are reached by a branch
	Steps     []Step
	NoStart   *NoStart // what to do when it does not fire; nil ends the run there

	// What makes a flow a drill: see drill.go.
	Signs   *Signs   // what calls for it; nil where only a choice does
	Answers []string // the faults that it is the right act for
	Ends    Outcome  // Stopped or Resumed; empty: with the engine running
	Choices []Choice // what it leads to when its steps are done; nil: nothing

	Hash string // SHA-256 of the file it was read from, hex
}

// NoStart is the branch taken when an attempt ends without a running engine:
// steps that always follow, then a choice that the student makes.
type NoStart struct {
	Steps   []Step
	Choices []Choice
}

// Choice is one way on after an attempt that failed.
type Choice struct {
	ID    string // "prime-again", "flooded-patience", "flooded-air"
	Title string
	Ask   string // the question that leads here: "Is there a smell of fuel?"
	Flow  FlowID // the flow whose steps follow
}

// StepKind says what finishes a step.
type StepKind string

// The kinds of step that the trade needs.
const (
	StepSet       StepKind = "set"        // controls to positions, perhaps a reading too
	StepCheck     StepKind = "check"      // the student calls an instrument that must hold
	StepHold      StepKind = "hold"       // a control leaves its rest and comes back: the prime
	StepBrief     StepKind = "brief"      // say what comes next; the student calls ready
	StepPropClear StepKind = "prop-clear" // left, ahead, right, CLEAR, wait for an answer
	StepCrank     StepKind = "crank"      // ignition to START until it fires
	StepCatch     StepKind = "catch"      // controls to positions promptly after it fires
	StepRelease   StepKind = "release"    // ignition out of START after it fires
	StepSettle    StepKind = "settle"     // an instrument held in a band
	StepRest      StepKind = "rest"       // let the starter cool for the ledger's rest
)

// Line is something spoken, with the caption that stands in for it.
type Line struct {
	Caption string // as shown
	Say     string // as spoken, when spelling and sound differ; else empty
}

// Spoken is the text the voice is given.
func (l Line) Spoken() string {
	if l.Say != "" {
		return l.Say
	}
	return l.Caption
}

// Empty reports whether there is nothing to say or to show.
func (l Line) Empty() bool { return l.Caption == "" && l.Say == "" }

// Window is the shortest and the longest acceptable time for a step with the
// ideal between. Both edges belong to the window.
type Window struct {
	Min, Ideal, Max time.Duration
}

// Zero reports whether there is no window: the step is not timed.
func (w Window) Zero() bool { return w == Window{} }

// Judge says how a duration stands to the window.
func (w Window) Judge(d time.Duration) Verdict {
	switch {
	case w.Zero():
		return OnTime
	case d < w.Min:
		return Early
	case d > w.Max:
		return Late
	default:
		return OnTime
	}
}

// Target is where a control must stand: At, give or take Tolerance. A target
// with a Mark was given by name in the file.
type Target struct {
	Control   ControlID
	At        Position
	Tolerance Position
	Mark      MarkID
}

// Met reports whether a position satisfies the target; both edges do.
func (t Target) Met(p Position) bool {
	return p >= t.At-t.Tolerance && p <= t.At+t.Tolerance
}

// HoldBy says what ends a hold.
type HoldBy string

// A hold is ended by the clock, by the cue (the instrument levels off), or by
// whichever of the two comes first.
const (
	ByClock HoldBy = "clock"
	ByCue   HoldBy = "cue"
	ByBoth  HoldBy = "both"
)

// Hold times a control from the moment it leaves Rest until it comes back.
type Hold struct {
	Control   ControlID
	Rest      Position
	Tolerance Position // how near Rest counts as back
	Full      Position // where it should be held
	By        HoldBy
	Cue       InstrumentID  // the instrument that levels off
	CueGrace  time.Duration // how long after the cue the hand may take
}

// Anchor says what a step's window or a call-out is counted from.
type Anchor string

// The anchors.
const (
	FromStep    Anchor = "step"   // the step became the present one; a hold: it began
	FromFires   Anchor = "fires"  // the engine fired
	BeforeIdeal Anchor = "ideal"  // call-outs only: so long before the ideal
	OnLimit     Anchor = "limit"  // call-outs only: so long before the longest time
	OnFires     Anchor = "firing" // call-outs only: the moment it fires
	OnDone      Anchor = "done"   // call-outs only: the step is done
)

// CallOut is a spoken line tied to a moment of a step.
type CallOut struct {
	Line   Line
	Anchor Anchor
	Offset time.Duration // after the anchor, or before it for BeforeIdeal and OnLimit
}

// ColdWindow replaces a step's window when the outside air is colder.
type ColdWindow struct {
	BelowCelsius float64
	Window       Window
}

// Step is one thing to do, check or confirm.
type Step struct {
	ID          StepID
	Title       string
	Kind        StepKind
	Hand        Hand
	Prompt      Line
	Why         string // what it is for, read in Explain
	Wrong       string // what goes wrong
	Window      Window
	WindowFrom  Anchor // FromStep unless said
	Cold        *ColdWindow
	Targets     []Target      // set, catch, release, settle
	Conditions  []Condition   // set and check: readings that must hold; settle: the band
	Hold        *Hold         // hold only
	AnswerWait  time.Duration // prop-clear: how long to wait for an answer after CLEAR
	ValidFor    time.Duration // prop-clear: how long a finished check stays good
	Dwell       time.Duration // settle: how long the band must be held
	Together    bool          // may be done before, with or after its neighbours that say so too
	Count       bool          // speak the seconds while it is timed
	CallOuts    []CallOut
	Criticality int // 1 to 3: how much its omission costs; 3 endangers people or engine
}

// Phase is the part of the demonstration-performance method (FAA Aviation
// Instructor's Handbook, FAA-H-8083-9) in which a flow is flown.
type Phase string

// The phases.
const (
	Explain     Phase = "explain"     // describes each step and why
	Demonstrate Phase = "demonstrate" // does it for the student
	Perform     Phase = "perform"     // prompts
	Evaluate    Phase = "evaluate"    // silent, and scores
)

// Library is what one aircraft has: itself and its flows.
type Library struct {
	Aircraft *Aircraft
	Flows    []*Flow
}

// Flow finds a flow by its id.
func (l *Library) Flow(id FlowID) (*Flow, bool) {
	for _, f := range l.Flows {
		if f.ID == id {
			return f, true
		}
	}
	return nil, false
}

// Drill reports whether the flow is one that a run goes over to, leaving what it
// was at: it has signs, ends in a way of its own or leads to a choice.
func (f *Flow) Drill() bool { return f.Signs != nil || f.Ends != "" || len(f.Choices) > 0 }

// Primes reports whether the flow has a hold: whether fuel is given before the
// crank.
func (f *Flow) Primes() bool { return hasKind(f, StepHold) }
