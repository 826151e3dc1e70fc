package timer

import (
	"time"

	"kickover/procedure"
)

// EventKind says what happened.
type EventKind string

// What can happen.
const (
	Press   EventKind = "press"   // the button went down
	Release EventKind = "release" // the button came up
	Lost    EventKind = "lost"    // the window lost the button: a hold has ended, a tap was none
	Undo    EventKind = "undo"    // the last act was a mistake
	Choose  EventKind = "choose"  // Flow: the situation, while nothing runs
	PrimeBy EventKind = "prime"   // Latch: press and press instead of hold
	Air     EventKind = "air"     // Celsius: the outside air temperature, or NaN when not known
	Height  EventKind = "height"  // Metres: the pressure altitude, or NaN when not known
	Since   EventKind = "since"   // For: how long ago the last shutdown was, negative when not known
	Note    EventKind = "note"    // Text: a note for the start's record
	Tick    EventKind = "tick"    // time passes
)

// Event is one thing that happened, At after the origin.
type Event struct {
	Kind    EventKind
	At      time.Duration
	Flow    procedure.FlowID
	Latch   bool
	Celsius float64
	Metres  float64
	For     time.Duration
	Text    string
}

// EffectKind says what the caller is asked to do.
type EffectKind string

// The effects.
const (
	Say  EffectKind = "say"  // speak Line so that its beat falls at At
	Hush EffectKind = "hush" // drop what was asked for under Tag and has not begun
	Warn EffectKind = "warn" // say Line at once; the screen shows it without being told

	// For the ledger on disk: what the machine's own ledger was told.
	Engaged  EffectKind = "engaged"
	Released EffectKind = "released" // and must Rest from then on
	Resumed  EffectKind = "resumed"  // the release was a slip
	Struck   EffectKind = "struck"   // the engagement was a mistake
	Rested   EffectKind = "rested"   // the pilot says that the starter has rested
	Runs     EffectKind = "runs"     // the engine runs
	Stopped  EffectKind = "stopped"  // the engine was shut down

	Keep  EffectKind = "keep"  // Start is to be kept, in place of the one with its Serial
	Awake EffectKind = "awake" // On: the display must, or need no longer, stay on
)

// Effect is what the machine asks of its caller: data, never a function.
type Effect struct {
	Kind     EffectKind
	At       time.Duration
	Line     procedure.Line
	Priority procedure.Priority
	Tag      string
	On       bool
	Rest     time.Duration
	Start    Start
}

// The tags under which lines are said.
const (
	TagStep = "step" // what belongs to what the button does now
	TagRest = "rest" // the rest of the starter
)

// Start is a real start as far as the machine knows it.
type Start struct {
	Serial        int           // 1, 2, … since the machine began
	Began         time.Duration // the first prime or attempt
	Flow          procedure.FlowID
	SinceShutdown time.Duration // when Began
	ShutdownKnown bool
	Celsius       float64       // NaN when not known
	AltitudeM     float64       // pressure altitude; NaN when not known
	Prime         time.Duration // in all
	Attempts      int
	Outcome       procedure.Outcome // Started or NotStarted
	Note          string
}
