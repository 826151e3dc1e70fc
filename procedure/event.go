package procedure

import "time"

// EventKind says what happened.
type EventKind string

// What can happen in a run. The comment says what Subject, Value and Text hold.
const (
	// The hands, eyes and voice of the student.
	EventMove   EventKind = "move"   // Subject: control; Value: its new position
	EventLook   EventKind = "look"   // Subject: left, ahead or right
	EventCall   EventKind = "call"   // Subject: a Call constant
	EventReport EventKind = "report" // Subject: instrument; Value: what it showed then
	EventChoose EventKind = "choose" // Subject: a choice's id

	// What the aeroplane did.
	EventReading EventKind = "reading" // Subject: instrument; Value: what it shows now
	EventSignal  EventKind = "signal"  // Subject: a Signal constant

	// What the world did.
	EventArea      EventKind = "area"      // Subject: sector; Value: 1 somebody is in it, 0 nobody; Text: who
	EventFault     EventKind = "fault"     // Subject: fault; kept from the student
	EventInterrupt EventKind = "interrupt" // Subject: what; Text: what was said

	// What the run itself did.
	EventTick  EventKind = "tick"  // time passes; never stored
	EventSkip  EventKind = "skip"  // Value: seconds of rest that were skipped over
	EventPause EventKind = "pause" // Value: seconds that did not count
	EventEnd   EventKind = "end"   // Text: why: complete, abandoned, hands-ended
)

// Stored reports whether events of this kind are part of a stored run: all but
// ticks, and none that this version does not know.
func (k EventKind) Stored() bool {
	switch k {
	case EventMove, EventLook, EventCall, EventReport, EventChoose, EventReading, EventSignal, EventArea,
		EventFault, EventInterrupt, EventSkip, EventPause, EventEnd:
		return true
	}
	return false
}

// Signals: moments of the engine's life that a person in the seat would notice.
const (
	SignalFires     = "fires"      // it fires on its own while cranked
	SignalRuns      = "runs"       // it runs without the starter
	SignalDies      = "dies"       // it fired or ran, and stopped
	SignalLevelsOff = "levels_off" // the fuel flow stopped rising
	SignalStops     = "stops"      // the propeller stands still
)

// Sectors of the propeller's area, and the calls.
const (
	LookLeft  = "left"
	LookAhead = "ahead"
	LookRight = "right"
	CallClear = "clear"
	CallReady = "ready"
	// CallAnswered closes an interruption that was answered, CallIgnored one that was not.
	CallAnswered = "answered"
	CallIgnored  = "ignored"
	// CallNext and CallBack turn the pages of Explain.
	CallNext = "next"
	CallBack = "back"
)

// Event is one thing that happened, at an offset from the run's beginning.
type Event struct {
	Seq     int           // 1, 2, 3, …; 0 for a tick
	At      time.Duration // since the run began, on the monotonic clock
	Kind    EventKind
	Subject string
	Value   float64
	Text    string
}
