package timer

import (
	"fmt"
	"math"
	"slices"
	"time"

	"kickover/procedure"
	"kickover/procedure/starter"
)

// State is what the button is for.
type State string

// The states, in the order of a start.
const (
	Ready     State = "ready"     // before the prime; the situation may be changed
	Priming   State = "priming"   // the prime is timed
	Setting   State = "setting"   // levers to set before the look around
	Resting   State = "resting"   // all is set, and the starter must rest
	Looking   State = "looking"   // four presses: left, ahead, right, CLEAR
	Listening State = "listening" // for an answer to CLEAR
	Armed     State = "armed"     // START
	Cranking  State = "cranking"
	Asking    State = "asking"    // RUNNING or NO START?
	Thinking  State = "thinking"  // it did not start: the flow's questions, during the rest
	Oil       State = "oil"       // the clock for oil pressure
	Reminding State = "reminding" // throttle, alternator, pump
	Quiet     State = "quiet"
	Noting    State = "noting" // a note for the record
)

// Setup is what a machine begins with.
type Setup struct {
	Library *procedure.Library
	// Ledger is the starter's account, its times counted from the machine's
	// origin. The machine works on a copy. Nil is a rested starter.
	Ledger *starter.Ledger
	// Shutdown is when the engine was last shut down, if that is known.
	Shutdown      time.Duration
	ShutdownKnown bool
	Ran           bool    // it ran when the ledger was last closed
	Latch         bool    // prime by press and press
	Celsius       float64 // outside air; NaN when not known
	AltitudeM     float64 // pressure altitude; NaN when not known
	Notes         []string
}

// DefaultNotes are offered for a start's record when a setup has none.
var DefaultNotes = []string{"as expected", "slow to fire", "stumbled", "rough at first", "weak battery", "flooded"}

// Machine is the button. Make one with New.
type Machine struct {
	setup  Setup
	ledger *starter.Ledger
	plans  map[procedure.FlowID]*plan

	now   time.Duration // the last event or due act
	stamp time.Duration // the last event of a hand
	state
	undo undo

	down    bool // the button is held
	downAt  time.Duration
	spent   bool // and has done what it was pressed for
	latch   bool
	celsius float64
	metres  float64 // pressure altitude
	serial  int
	restOut time.Duration // rest lines up to here were said
	awake   bool

	out []Effect
}

// state is what undo brings back.
type state struct {
	kind    State
	plan    *plan
	entered time.Duration

	hold     int           // how many holds of the prime are done
	prime    time.Duration // of this attempt
	primedAt time.Duration // began
	looks    int
	lookedAt time.Duration
	calledAt time.Duration

	engagedAt  time.Duration
	releasedAt time.Duration
	limitAt    time.Duration
	warnings   int // of the present clock
	slippedOff bool

	questions []procedure.Choice
	question  int
	reminder  int
	note      int
	died      bool

	start         Start
	started       bool // a start is being made
	shutdown      time.Duration
	shutdownKnown bool
	dues          []commitment // never changed in place: undo keeps old ones
}

// origin is the earliest and horizon the latest time an event may have; what
// lies outside is drawn in, so that no sum of times overflows.
const (
	origin  = time.Duration(-1) << 60
	horizon = time.Duration(1) << 60
)

// New begins at offset zero, in Ready, with the situation that the time since
// the last shutdown suggests.
func New(s Setup) (*Machine, error) {
	if s.Library == nil || s.Library.Aircraft == nil {
		return nil, fmt.Errorf("timer: no aircraft was given")
	}
	m := &Machine{
		setup: s, plans: map[procedure.FlowID]*plan{},
		latch: s.Latch, celsius: s.Celsius, metres: s.AltitudeM,
	}
	if m.ledger = starter.New(s.Library.Aircraft.Starter); s.Ledger != nil {
		m.ledger = s.Ledger.Clone()
	}
	for _, f := range s.Library.Flows {
		m.plans[f.ID] = newPlan(f)
	}
	if len(m.setup.Notes) == 0 {
		m.setup.Notes = DefaultNotes
	}
	m.shutdown, m.shutdownKnown = s.Shutdown, s.ShutdownKnown
	f := suggested(m.Flows(), situation(-s.Shutdown, s.ShutdownKnown))
	if f == nil {
		return nil, fmt.Errorf("timer: the %s has no flow to begin with; add a flow file with \"entry: true\", a look around and a crank", s.Library.Aircraft.Name)
	}
	m.plan = m.plans[f.ID]
	m.kind = Ready
	return m, nil
}

// Apply takes an event and answers with what is to be done. Events come in the
// order of their times; one that is older than the last is taken as of then.
func (m *Machine) Apply(e Event) []Effect {
	m.out = nil
	at := min(max(e.At, origin), horizon)
	m.advance(at)
	if e.Kind == Tick {
		return m.out
	}
	// A hand's own time is kept although a younger tick came before it.
	m.stamp = max(at, m.stamp)
	m.now = max(m.now, at)
	switch e.Kind {
	case Press:
		m.press()
	case Release:
		m.release(false)
	case Lost:
		m.release(true)
	case Undo:
		m.takeBack()
	case Choose:
		m.choose(e.Flow)
	case PrimeBy:
		if m.kind != Priming {
			m.latch = e.Latch
		}
	case Air:
		m.celsius = e.Celsius
		m.correct()
	case Height:
		m.metres = e.Metres
		m.correct()
	case Since:
		m.shutAgo(e.For)
	case Note:
		m.write(e.Text)
	}
	m.settle()
	return m.out
}

func (m *Machine) emit(e Effect) { m.out = append(m.out, e) }

// say asks for a line with its beat at at.
func (m *Machine) say(at time.Duration, l procedure.Line, p procedure.Priority, tag string) {
	if !l.Empty() {
		m.emit(Effect{Kind: Say, At: at, Line: l, Priority: p, Tag: tag})
	}
}

func (m *Machine) warn(l procedure.Line) {
	m.emit(Effect{Kind: Warn, At: m.now, Line: l, Priority: procedure.PriorityWarning, Tag: TagStep})
}

// enter changes the state and drops what the old one still had to say.
func (m *Machine) enter(k State) {
	m.kind, m.entered, m.warnings = k, m.now, 0
	m.emit(Effect{Kind: Hush, At: m.now, Tag: TagStep})
}

// settle tells whether the display must stay on, when that has changed: while
// anything is timed, from the prime to the last reminder, and during a rest.
func (m *Machine) settle() {
	on := m.ledger.Owed(m.now) > 0
	switch m.kind {
	case Ready:
		on = on || m.hold > 0
	case Thinking, Quiet, Noting:
	default:
		on = true
	}
	if on != m.awake {
		m.awake = on
		m.emit(Effect{Kind: Awake, At: m.now, On: on})
	}
}

// press is the button going down. A second press without a release between, as
// a key held down sends, is none.
func (m *Machine) press() {
	if m.down {
		return
	}
	m.down, m.downAt, m.spent = true, m.stamp, true
	switch m.kind {
	case Ready:
		m.begin()
	case Priming:
		m.endPrime()
	case Setting:
		m.remember()
		m.leversSet()
	case Looking:
		m.look()
	case Listening:
		m.answeredBack()
	case Armed:
		m.engage()
	case Asking:
		if !m.slipped() {
			m.spent = false
		}
	case Resting, Thinking, Oil, Reminding, Quiet, Noting:
		m.spent = false
	}
}

// release is the button coming up: the end of a hold, or a tap.
func (m *Machine) release(lost bool) {
	if !m.down {
		return
	}
	m.down = false
	switch {
	case m.kind == Priming && !m.latch:
		m.endPrime()
	case m.kind == Cranking:
		m.letGo(lost)
	case !m.spent && !lost && m.stamp-m.downAt < m.holdFor():
		m.tap()
	}
	m.spent = true
}

var mustRest = procedure.Line{Caption: "The starter must rest"}

// tap is a short press, where a long one means something else.
func (m *Machine) tap() {
	switch m.kind {
	case Resting:
		m.say(m.now, mustRest, procedure.PriorityPrompt, TagStep)
	case Asking:
		if m.stamp-m.entered >= settleAfterCrank {
			m.runs()
		}
	case Thinking:
		m.yes()
	case Oil:
		m.oilSeen()
	case Reminding:
		m.reminded()
	case Quiet:
		m.openNote()
	case Noting:
		m.write(m.notes()[m.note])
	}
}

// How long the button is held for its other meaning.
const (
	holdToChoose = time.Second
	holdToVouch  = 2 * time.Second
)

// holdFor is how long a hold must be here, zero where a hold means nothing.
func (m *Machine) holdFor() time.Duration {
	switch m.kind {
	case Resting:
		return holdToVouch
	case Asking, Oil, Reminding, Quiet:
		return holdToChoose
	case Thinking, Noting:
		if len(m.questions) > 1 || m.kind == Noting {
			return holdToChoose
		}
	}
	return horizon
}

// held is what a long press does. It can be taken back from when it acts, not
// from when it began.
func (m *Machine) held() {
	m.spent = true
	m.stamp = max(m.stamp, m.now)
	switch m.kind {
	case Resting:
		m.vouch()
	case Asking:
		m.noStart(false)
	case Oil, Reminding:
		m.noStart(true)
	case Thinking:
		m.remember()
		m.question = (m.question + 1) % len(m.questions)
	case Quiet:
		m.stopped()
	case Noting:
		m.remember()
		m.note = (m.note + 1) % len(m.notes())
	}
}

// choose changes the situation while nothing runs.
func (m *Machine) choose(id procedure.FlowID) {
	p := m.plans[id]
	if p == nil || m.kind != Ready && m.kind != Thinking {
		return
	}
	m.remember()
	m.plan = p
	m.hold = 0
	if m.kind == Thinking {
		m.enter(Ready)
	}
}

// Flows are the situations that may be chosen, in order: an engine cold, warm, hot
// or flooded. Other flows that a student may begin with are lessons, and are
// offered only where there is nothing else.
func (m *Machine) Flows() []*procedure.Flow {
	var starts, lessons []*procedure.Flow
	for _, f := range m.setup.Library.Flows {
		switch {
		case !f.Entry || !m.plans[f.ID].starts():
		case slices.Contains(situations[:], f.Situation):
			starts = append(starts, f)
		default:
			lessons = append(lessons, f)
		}
	}
	if len(starts) == 0 {
		return lessons
	}
	return starts
}

var situations = [...]string{"cold", "warm", "hot", "flooded"}

func known(x float64) bool { return !math.IsNaN(x) }
