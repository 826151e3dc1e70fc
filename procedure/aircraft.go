package procedure

import (
	"math"
	"time"
)

// Identifiers used in aircraft and flow files, in stored events and on the
// command line. They are lower case with underscores or hyphens.
type (
	AircraftID   string
	ControlID    string
	InstrumentID string
	FlowID       string
	StepID       string
	MarkID       string
)

// Controls and instruments that the program knows by name, whatever the
// aircraft: the ones that safety rules speak about and the simulated engine drives.
const (
	ControlBrakes     ControlID = "brakes"
	ControlIgnition   ControlID = "ignition"
	ControlMixture    ControlID = "mixture"
	ControlThrottle   ControlID = "throttle"
	ControlPump       ControlID = "boost_pump"
	ControlBattery    ControlID = "battery"
	ControlAlternator ControlID = "alternator"
	ControlPrimer     ControlID = "primer"
	ControlPrimerLock ControlID = "primer_lock"
	ControlSelector   ControlID = "fuel_selector"
	ControlExternal   ControlID = "external_power"

	InstrumentRPM          InstrumentID = "rpm"
	InstrumentFuelFlow     InstrumentID = "fuel_flow"
	InstrumentFuelPressure InstrumentID = "fuel_pressure"
	InstrumentOilPressure  InstrumentID = "oil_pressure"
	InstrumentBusVolts     InstrumentID = "bus_volts"
	InstrumentAmperes      InstrumentID = "amperes"
	InstrumentCylinderHead InstrumentID = "cylinder_head"

	// Lamps, and what whoever looks and smells notices, as lamps.
	InstrumentStarterLight InstrumentID = "starter_light"
	InstrumentSmoke        InstrumentID = "smoke"
	InstrumentDrips        InstrumentID = "drips"
	InstrumentFuelSmell    InstrumentID = "fuel_smell"

	// Detents of the ignition switch, the brakes and the hand primer's lock.
	DetentOff      = "off"
	DetentRight    = "right"
	DetentLeft     = "left"
	DetentBoth     = "both"
	DetentStart    = "start"
	DetentHeld     = "held"
	DetentReleased = "released"
	DetentUnlocked = "unlocked"
)

// Aircraft describes what the hands and eyes find in one aeroplane: its levers
// and switches, its instruments, and what its starter may be asked to do.
type Aircraft struct {
	ID          AircraftID
	Name        string // "Brindle 180"
	Summary     string // one line: seats, power, fuel system, volts
	Powerplant  string // which simulated engine it has, a name of package powerplant
	Controls    []Control
	Instruments []Instrument
	Panels      []Panel // variants of the panel; the first is the standard one
	Starter     StarterLimits
	// MinBusVolts is the least bus voltage before a start, in volts.
	MinBusVolts float64
}

// Panel is a variant of an aircraft's instrument panel.
type Panel struct {
	ID    string
	Name  string
	Hides []InstrumentID // instruments that this variant does not have
}

// StarterLimits is what the aircraft's file says the starter may be asked to do.
type StarterLimits struct {
	Crank    time.Duration // longest single engagement
	Rest     time.Duration // least rest between attempts
	Attempts int           // attempts before the long rest
	LongRest time.Duration // rest after that many attempts
}

// Hand says which hand, or the feet or eyes, a control or a step belongs to.
type Hand string

// The hands, and what else a step may ask of a person.
const (
	Left  Hand = "left"
	Right Hand = "right"
	Feet  Hand = "feet"
	Eyes  Hand = "eyes"
	Voice Hand = "voice"
)

// Position is where a control stands: millimetres from the stop for a lever
// whose Unit is "mm", a fraction 0..1 of its travel for a lever without a unit,
// the index of its detent for anything else.
type Position float64

// ControlKind says how a control moves.
type ControlKind string

// The kinds of control.
const (
	Lever  ControlKind = "lever"  // slides; Travel and Unit apply
	Switch ControlKind = "switch" // Detents, it stays where it is put
	Rotary ControlKind = "rotary" // Detents in a ring; one may be sprung
)

// Control is one lever or switch.
type Control struct {
	ID      ControlID
	Name    string
	Kind    ControlKind
	Hand    Hand
	Unit    string   // "mm", or "" for a fraction or detents
	Travel  Position // far end of a lever's travel
	Low     string   // what a lever's near end is called: "cut-off", "closed"
	High    string   // what its far end is called: "full rich", "open"
	Edge    string   // which edge of the lever lines up with a mark: "aft"
	Marks   []Mark   // marks along a lever
	Detents []string // names of a switch's positions, in order
	Sprung  []Sprung // detents that spring back when the hand lets go
	Initial Position // where it stands before the flow
}

// Sprung is a detent that returns to another when let go, as START to BOTH.
type Sprung struct {
	From, To string
}

// Mark is a place along a lever, as a line of paint would be.
type Mark struct {
	ID        MarkID
	Name      string
	At        Position
	Tolerance Position
}

// RangeKind is the meaning of a marked part of a scale, after 14 CFR 23.1549
// (as it stood before amendment 23-64): a red radial for a limit, a green arc
// for the normal range, a yellow arc for a caution range.
type RangeKind string

// The meanings.
const (
	Normal  RangeKind = "normal"  // green arc
	Caution RangeKind = "caution" // yellow arc
	Limit   RangeKind = "limit"   // red radial: From equals To
)

// Range is a marked part of an instrument's scale, in the instrument's unit.
type Range struct {
	Kind     RangeKind
	From, To float64
}

// Instrument is one gauge.
type Instrument struct {
	ID         InstrumentID
	Name       string
	Unit       string  // as printed on its face: "rpm", "kPa", "g/s"; UnitLamp for a lamp
	Min, Max   float64 // ends of the scale
	Resolution float64 // least change worth recording
	Decimals   int     // digits after the point when read aloud or printed
	Ranges     []Range
}

// UnitLamp is the unit of an instrument that is a lamp, or is seen as one: it
// shows 0 when it is dark and 1 when it is lit.
const UnitLamp = "lamp"

// Lamp reports whether the instrument is a lamp and has no scale to be read.
func (i *Instrument) Lamp() bool { return i.Unit == UnitLamp }

// Condition is what an instrument must show: at least Min and at most Max.
// Use math.Inf for an open end.
type Condition struct {
	Instrument InstrumentID
	Min, Max   float64
}

// Holds reports whether a reading meets the condition. A reading that is not a
// number never does.
func (c Condition) Holds(reading float64) bool {
	return !math.IsNaN(reading) && reading >= c.Min && reading <= c.Max
}

// Control finds a control by its id.
func (a *Aircraft) Control(id ControlID) (*Control, bool) {
	for i := range a.Controls {
		if a.Controls[i].ID == id {
			return &a.Controls[i], true
		}
	}
	return nil, false
}

// Instrument finds an instrument by its id.
func (a *Aircraft) Instrument(id InstrumentID) (*Instrument, bool) {
	for i := range a.Instruments {
		if a.Instruments[i].ID == id {
			return &a.Instruments[i], true
		}
	}
	return nil, false
}

// Panel finds a variant of the panel by its id; the empty id is the standard one.
func (a *Aircraft) Panel(id string) (Panel, bool) {
	if id == "" && len(a.Panels) > 0 {
		return a.Panels[0], true
	}
	for _, p := range a.Panels {
		if p.ID == id {
			return p, true
		}
	}
	return Panel{}, id == ""
}

// Shows reports whether the variant has the instrument.
func (p Panel) Shows(id InstrumentID) bool {
	for _, hidden := range p.Hides {
		if hidden == id {
			return false
		}
	}
	return true
}

// Detent gives the position of a named detent.
func (c *Control) Detent(name string) (Position, bool) {
	for i, d := range c.Detents {
		if d == name {
			return Position(i), true
		}
	}
	return 0, false
}

// Mark finds a mark by its id.
func (c *Control) Mark(id MarkID) (Mark, bool) {
	for _, m := range c.Marks {
		if m.ID == id {
			return m, true
		}
	}
	return Mark{}, false
}

// Rest is where a control goes when the hand lets go of it at p: a sprung
// detent's own return, else p itself.
func (c *Control) Rest(p Position) Position {
	for _, s := range c.Sprung {
		if from, ok := c.Detent(s.From); ok && from == p {
			if to, ok := c.Detent(s.To); ok {
				return to
			}
		}
	}
	return p
}

// Clamp keeps p inside the control's travel; a switch goes to its nearest detent.
func (c *Control) Clamp(p Position) Position {
	if math.IsNaN(float64(p)) {
		return c.Initial
	}
	if c.Kind == Lever {
		return min(max(p, 0), c.Travel)
	}
	return Position(math.Round(float64(min(max(p, 0), Position(len(c.Detents)-1)))))
}
