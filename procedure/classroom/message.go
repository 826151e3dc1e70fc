package classroom

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"
	"unicode/utf8"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
)

// StationID names a station for as long as a class lasts. It is drawn at random
// by the station and says nothing about who sits there.
type StationID string

// RunID names a run; drawn at random by the station, and unguessable, so that
// nobody can take another's run for his own.
type RunID string

// DrillID names a drill within its class.
type DrillID string

// What a message may hold. The engine refuses anything longer than messageLimit.
const (
	messageLimit  = 48 << 10
	eventsInBatch = 200
	eventsInRun   = 20_000
	runsOfStation = 500
	textLimit     = 400
	nameLimit     = 60
	gaugesLimit   = 64
)

// number is a float that JSON can carry: one that is not a number is null.
type number float64

func (n number) MarshalJSON() ([]byte, error) {
	if f := float64(n); !math.IsNaN(f) && !math.IsInf(f, 0) {
		return json.Marshal(float32(f))
	}
	return []byte("null"), nil
}

func (n *number) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = number(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}

// Live is where a station stands this moment, as it tells twenty times a second.
type Live struct {
	Run     RunID             `json:"run,omitempty"`
	Drill   DrillID           `json:"drill,omitempty"`
	At      time.Duration     `json:"at,omitempty"` // since the run began
	Step    int               `json:"step"`         // index of the present step; Steps when there is none
	Steps   int               `json:"steps"`
	Key     string            `json:"key,omitempty"` // of the present step
	Title   string            `json:"title,omitempty"`
	Elapsed time.Duration     `json:"elapsed,omitempty"`
	Overdue time.Duration     `json:"overdue,omitempty"` // past the present step's window
	Missed  int               `json:"missed,omitempty"`  // steps missed or out of order so far
	Late    int               `json:"late,omitempty"`    // steps early or late so far
	Prime   time.Duration     `json:"prime,omitempty"`   // all holds together
	Tries   int               `json:"tries,omitempty"`   // attempts
	Unsafe  int               `json:"unsafe,omitempty"`  // breaches so far
	Breach  procedure.Breach  `json:"breach,omitempty"`  // the last one
	Engine  string            `json:"engine,omitempty"`  // cranking, running, or empty
	Paused  bool              `json:"paused,omitempty"`
	Done    bool              `json:"done,omitempty"`
	Outcome procedure.Outcome `json:"outcome,omitempty"`
	Levers  []number          `json:"levers,omitempty"`  // as the aircraft's controls
	Gauges  []number          `json:"gauges,omitempty"`  // as the aircraft's instruments
	Area    AreaBits          `json:"area,omitempty"`    // the propeller's
	Waiting int               `json:"waiting,omitempty"` // events that the instructor has not confirmed
	Orders  int               `json:"orders,omitempty"`  // number of the last order carried out
	Rev     int               `json:"rev,omitempty"`     // of the last word on the drill that it heard
	Ready   bool              `json:"ready,omitempty"`   // the announced drill can begin
	Waits   bool              `json:"waits,omitempty"`   // all began without it, and it waits to be let in
	LetIn   bool              `json:"let_in,omitempty"`  // it waited, and was let in
	Unsure  time.Duration     `json:"unsure,omitempty"`  // how far its clock comparison may be out
	Missing string            `json:"missing,omitempty"` // why the drill cannot be flown here
}

// AreaBits is the propeller's area in a position: for left, ahead and right whether
// it was looked at and whether somebody is in it, then what was called.
type AreaBits uint16

const (
	areaLooked AreaBits = 1 << iota // left; twice that is ahead, four times right
	_
	_
	areaOccupied
	_
	_
	areaCalled
	areaValid
)

func packArea(a rehearsal.AreaView) (b AreaBits) {
	put := func(on bool, bit AreaBits) {
		if on {
			b |= bit
		}
	}
	for i, s := range a.Sectors {
		put(s.Looked, areaLooked<<i)
		put(s.Occupied, areaOccupied<<i)
	}
	put(a.Called, areaCalled)
	put(a.Valid, areaValid)
	return b
}

// View is the area as an instructor sees it: he sees who is in it, also where the
// student has not looked.
func (b AreaBits) View() (a rehearsal.AreaView) {
	for i := range a.Sectors {
		occupied := b&(areaOccupied<<i) != 0
		a.Sectors[i] = rehearsal.SectorView{Looked: b&(areaLooked<<i) != 0, Occupied: occupied, Seen: occupied}
	}
	a.Called, a.Valid = b&areaCalled != 0, b&areaValid != 0
	return a
}

// decodeLive reads a station's position and refuses what no honest one sends.
func decodeLive(data []byte) (Live, error) {
	var l Live
	if err := decode(data, &l); err != nil {
		return Live{}, err
	}
	if len(l.Levers) > gaugesLimit || len(l.Gauges) > gaugesLimit ||
		tooLong(nameLimit, string(l.Run), string(l.Drill), l.Key, string(l.Breach), l.Engine, string(l.Outcome)) || tooLong(textLimit, l.Title, l.Missing) ||
		l.Step < 0 || l.Steps < 0 || l.Step > l.Steps || l.Steps > 10_000 || l.Unsafe < 0 || l.Tries < 0 || l.Waiting < 0 || l.Orders < 0 || l.Rev < 0 {
		return Live{}, errMalformed
	}
	return l, nil
}

// question is what a station asks.
type question struct {
	Kind string `json:"kind"` // hello, clock

	// hello
	Protocol int     `json:"protocol,omitempty"`
	Name     string  `json:"name,omitempty"`
	Key      []byte  `json:"key,omitempty"`   // the station's public key for sealed messages
	Runs     []RunID `json:"runs,omitempty"`  // that it still has events of
	Fresh    bool    `json:"fresh,omitempty"` // it was started anew: old orders are not for it

	// clock
	Asked time.Duration `json:"asked,omitempty"`
}

const protocol = 1

// answer is what the instructor's program answers.
type answer struct {
	Error string `json:"error,omitempty"` // a sentence

	// hello
	Class     string                `json:"class,omitempty"`
	Number    int                   `json:"number,omitempty"`  // of the station
	Session   string                `json:"session,omitempty"` // of the instructor's program: another after a restart
	Notice    *notice               `json:"notice,omitempty"`  // the drill as it stands
	Confirmed map[RunID]receiptLine `json:"confirmed,omitempty"`
	Skip      int                   `json:"skip,omitempty"` // orders that are not for a fresh station

	// clock
	Asked    time.Duration `json:"asked,omitempty"`
	Received time.Duration `json:"received,omitempty"`
	Sent     time.Duration `json:"sent,omitempty"`
}

// receiptLine is what the instructor's store has of a run.
type receiptLine struct {
	Upto  int  `json:"upto"`
	Ended bool `json:"ended,omitempty"`
}

// notice is what the instructor's program says of its own accord.
type notice struct {
	Kind string `json:"kind"` // drill, order, confirmed, hello (to be said again), closing

	// drill: all of where it stands, so that a later notice makes an earlier
	// one unnecessary.
	Rev   int           `json:"rev,omitempty"` // grows with every change; an older one is ignored
	Drill DrillID       `json:"drill,omitempty"`
	State DrillState    `json:"state,omitempty"`
	Open  *opening      `json:"open,omitempty"`
	Go    time.Duration `json:"go,omitempty"` // class time
	Pause bool          `json:"pause,omitempty"`

	N    int    `json:"n,omitempty"`    // order: 1, 2, 3, … for each station
	Seal []byte `json:"seal,omitempty"` // order, and drill: what only the program may read

	// confirmed: the instructor's store has the run up to here.
	Run   RunID `json:"run,omitempty"`
	Upto  int   `json:"upto,omitempty"`  // sequence number
	Ended bool  `json:"ended,omitempty"` // and its end
}

// opening is what a student may know of a drill.
type opening struct {
	Mode     Mode                 `json:"mode"`
	Aircraft procedure.AircraftID `json:"aircraft"`
	Flow     procedure.FlowID     `json:"flow"`
	FlowHash string               `json:"flow_sha256"`
	Phase    procedure.Phase      `json:"phase"`
	Panel    string               `json:"panel,omitempty"`
	Hidden   bool                 `json:"hidden,omitempty"` // the conditions are not shown
}

// batch is run events on their way, or their end.
type batch struct {
	Run    RunID      `json:"run"`
	Header *RunHeader `json:"header,omitempty"` // with the first event
	From   int        `json:"from"`             // sequence number of the first
	Events []event    `json:"events,omitempty"`
	Ended  bool       `json:"ended,omitempty"` // no event follows these
}

// RunHeader is what a station knows of how its run began. What it may not know
// is added by the instructor's program.
type RunHeader struct {
	Drill    DrillID              `json:"drill"`
	Began    time.Duration        `json:"began"` // class time; the station's own when it knew none
	Program  string               `json:"program,omitempty"`
	Aircraft procedure.AircraftID `json:"aircraft"`
	Flow     procedure.FlowID     `json:"flow"`
	FlowHash string               `json:"flow_sha256"`
	Phase    procedure.Phase      `json:"phase"`
	Panel    string               `json:"panel,omitempty"`
	Step     time.Duration        `json:"step"` // of the simulation
}

// event is an event to the bit of its value.
type event struct {
	Seq     int                 `json:"n"`
	At      time.Duration       `json:"t"`
	Kind    procedure.EventKind `json:"k"`
	Subject string              `json:"s,omitempty"`
	Bits    uint64              `json:"v,omitempty"`
	Text    string              `json:"x,omitempty"`
}

func packEvent(e procedure.Event) event {
	return event{e.Seq, e.At, e.Kind, e.Subject, math.Float64bits(e.Value), e.Text}
}

func (e event) unpack() procedure.Event {
	return procedure.Event{Seq: e.Seq, At: e.At, Kind: e.Kind, Subject: e.Subject, Value: math.Float64frombits(e.Bits), Text: e.Text}
}

// errMalformed is a message that no honest station sends.
var errMalformed = errors.New("the message makes no sense")

// decodeBatch reads run events and refuses what cannot be part of a run.
func decodeBatch(data []byte) (batch, error) {
	var b batch
	if err := decode(data, &b); err != nil {
		return batch{}, err
	}
	if tooLong(nameLimit, string(b.Run)) || len(b.Run) < 16 || b.From < 1 || len(b.Events) > eventsInBatch ||
		b.From+len(b.Events)-1 > eventsInRun || len(b.Events) == 0 && !b.Ended {
		return batch{}, errMalformed
	}
	if h := b.Header; h != nil && (tooLong(nameLimit, string(h.Drill), string(h.Phase), h.Panel) ||
		tooLong(textLimit, h.Program, string(h.Aircraft), string(h.Flow), h.FlowHash) || h.Step < 0) {
		return batch{}, errMalformed
	}
	var last time.Duration
	for i, e := range b.Events {
		if e.Seq != b.From+i || e.At < last || !e.Kind.Stored() || tooLong(nameLimit, e.Subject) || tooLong(textLimit, e.Text) {
			return batch{}, errMalformed
		}
		last = e.At
	}
	return b, nil
}

func decode(data []byte, v any) error {
	if len(data) > messageLimit {
		return errMalformed
	}
	if err := json.Unmarshal(data, v); err != nil {
		return fmt.Errorf("%w: %w", errMalformed, err)
	}
	return nil
}

// encode is for our own messages, which JSON can always hold.
func encode(v any) []byte {
	data, err := json.Marshal(v)
	if err != nil {
		panic("classroom: a message of our own cannot be written: " + err.Error())
	}
	return data
}

func tooLong(limit int, texts ...string) bool {
	for _, t := range texts {
		if len(t) > limit || !utf8.ValidString(t) {
			return true
		}
	}
	return false
}
