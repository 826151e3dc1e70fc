package classroom

import (
	"fmt"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// Mode is how a drill is flown.
type Mode string

// The modes: all stations from one "go", each when it likes and as often as it
// likes, or the whole class aloud at one machine.
const (
	Together   Mode = "together"
	OwnPace    Mode = "own pace"
	OneMachine Mode = "one machine"
)

// Situation is one thing to drill: what students see of it, and what they do not.
type Situation struct {
	Title      string // for the instructor only
	Aircraft   procedure.AircraftID
	Flow       procedure.FlowID
	Phase      procedure.Phase
	Panel      string
	Conditions rehearsal.Conditions
	Hidden     bool // students are not shown the conditions
	Faults     []powerplant.Fault
}

// DrillState is how far a drill is.
type DrillState string

// The states, in their order.
const (
	Announced DrillState = "announced" // stations make ready
	Going     DrillState = "going"
	Over      DrillState = "over"
)

// LeastLead is how long ahead "go" is announced at the least, so that the
// message has come everywhere and every voice has its line on the sample clock.
const LeastLead = time.Second

// Drill is one situation being flown by the class. It is a value: each method
// gives the drill as it stands afterwards.
type Drill struct {
	ID        DrillID
	Situation Situation
	Mode      Mode
	Seed      uint64 // of every station's simulation: all meet the same engine
	State     DrillState
	Go        time.Duration // class time; zero until it was given
	Paused    bool
}

// Announce begins a drill.
func Announce(id DrillID, s Situation, m Mode, seed uint64) Drill {
	return Drill{ID: id, Situation: s, Mode: m, Seed: seed, State: Announced}
}

// GoAt gives "go" for a moment of class time.
func (d Drill) GoAt(now, at time.Duration) (Drill, error) {
	if d.State != Announced {
		return d, fmt.Errorf("this drill is %s already: announce another one", d.State)
	}
	if at < now+LeastLead && d.Mode == Together {
		return d, fmt.Errorf("go must be given %v ahead, so that it is heard everywhere at once", LeastLead)
	}
	d.State, d.Go, d.Paused = Going, at, false
	return d, nil
}

// Pause stops everybody's time, or lets it go on.
func (d Drill) Pause(on bool) (Drill, error) {
	if d.State != Going {
		return d, fmt.Errorf("nothing can be paused: the drill is %s", d.State)
	}
	d.Paused = on
	return d, nil
}

// End closes the drill.
func (d Drill) End() Drill {
	d.State, d.Paused = Over, false
	return d
}

// opening is what students may know of the drill.
func (d Drill) opening(flowHash string) *opening {
	s := d.Situation
	return &opening{Mode: d.Mode, Aircraft: s.Aircraft, Flow: s.Flow, FlowHash: flowHash, Phase: s.Phase, Panel: s.Panel, Hidden: s.Hidden}
}

// OrderKind is what an instructor can make happen at a station.
type OrderKind string

// The orders.
const (
	OrderFault OrderKind = "fault" // from now on something is wrong
	OrderWalk  OrderKind = "walk"  // somebody walks into, or out of, the propeller's area
	OrderSay   OrderKind = "say"   // a line is spoken
	OrderPause OrderKind = "pause" // time stands still at this station
	OrderGo    OrderKind = "on"    // and goes on
	OrderEnd   OrderKind = "end"   // the run is over
	OrderBegin OrderKind = "begin" // a station that waits, since all began without it, is let in
)

// Order is one thing that an instructor makes happen at one station. To a
// station it goes sealed, whatever it is.
type Order struct {
	Kind   OrderKind        `json:"kind"`
	Drill  DrillID          `json:"drill,omitempty"`
	Fault  powerplant.Fault `json:"fault,omitempty"`
	Token  string           `json:"token,omitempty"`  // the fault's name in what the station writes
	Sector string           `json:"sector,omitempty"` // walk: left, ahead or right
	Gone   bool             `json:"gone,omitempty"`   // walk: out again
	Text   string           `json:"text,omitempty"`   // say: the line; walk: who
}

// Check says what is wrong with an order, nil for nothing.
func (o Order) Check() error {
	if tooLong(textLimit, o.Text) {
		return fmt.Errorf("the line is too long: at most %d letters", textLimit)
	}
	switch o.Kind {
	case OrderFault:
		for _, f := range powerplant.Faults() {
			if f.Fault == o.Fault {
				return nil
			}
		}
		return fmt.Errorf("no fault is called %q", o.Fault)
	case OrderWalk:
		for _, s := range procedure.Sectors {
			if s == o.Sector {
				return nil
			}
		}
		return fmt.Errorf("somebody can walk in left, ahead or right, not %q", o.Sector)
	case OrderSay:
		if o.Text == "" {
			return fmt.Errorf("there is nothing to say: write the line")
		}
		return nil
	case OrderPause, OrderGo, OrderEnd, OrderBegin:
		return nil
	}
	return fmt.Errorf("no order is called %q", o.Kind)
}

// hidden is what a station's program must know of a drill and its student must
// not.
type hidden struct {
	Conditions rehearsal.Conditions `json:"conditions"`
	Faults     []hiddenFault        `json:"faults,omitempty"`
	Seed       uint64               `json:"seed,string"`
}

type hiddenFault struct {
	Fault powerplant.Fault `json:"fault"`
	Token string           `json:"token"`
}
