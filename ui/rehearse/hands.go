package rehearse

import (
	"math"
	"sync"
	"time"

	"kickover/procedure"
)

// How fast a hand moves a lever with a key, in whole travels a second.
const (
	slowRate = 0.40 // held: 80 mm in two and a half seconds
	snapRate = 2.0  // to a mark
	fullRate = 4.0  // full forward or full back: a quarter of a second
	fineRate = 0.25
)

// hands turns what fingers do into moves of controls. It knows where each lever
// is going; where it is, it was told by the last snapshot or did itself.
//
// It is used by the window's goroutine and by the one that reads keys from the
// display server, hence the mutex. Events are sent after it is let go.
type hands struct {
	emit func(procedure.Event)

	mu       sync.Mutex
	aircraft *procedure.Aircraft
	at       map[procedure.ControlID]procedure.Position
	moved    map[procedure.ControlID]time.Duration // when hands last moved it
	drives   map[procedure.ControlID]drive
	held     map[string]heldSpring // by what holds it: a key's or the mouse's name
	inHand   procedure.ControlID   // lever that the mouse holds
	mouse    bool                  // and not a key did the last act
}

// drive is a lever on its way.
type drive struct {
	from, to procedure.Position
	since    time.Duration
	rate     float64 // units a second
}

type heldSpring struct {
	control procedure.ControlID
	detent  procedure.Position
}

func newHands(emit func(procedure.Event)) *hands {
	return &hands{
		emit:   emit,
		at:     map[procedure.ControlID]procedure.Position{},
		moved:  map[procedure.ControlID]time.Duration{},
		drives: map[procedure.ControlID]drive{},
		held:   map[string]heldSpring{},
	}
}

// see takes the controls' positions from a snapshot of a moment, except for those
// that are in a hand or were moved by one since: the snapshot does not know yet.
func (h *hands) see(a *procedure.Aircraft, positions []procedure.Position, of time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if a != h.aircraft {
		h.aircraft = a
		clear(h.drives)
		clear(h.held)
		clear(h.at)
		clear(h.moved)
	}
	for i, c := range a.Controls {
		if i < len(positions) && !h.busy(c.ID, of) {
			h.at[c.ID] = positions[i]
		}
	}
}

func (h *hands) busy(id procedure.ControlID, of time.Duration) bool {
	for _, s := range h.held {
		if s.control == id {
			return true
		}
	}
	_, moving := h.drives[id]
	last, ever := h.moved[id]
	return moving || h.inHand == id || ever && of <= last
}

func (h *hands) control(id procedure.ControlID) (*procedure.Control, bool) {
	if h.aircraft == nil {
		return nil, false
	}
	return h.aircraft.Control(id)
}

// find is control for callers that do not hold the lock.
func (h *hands) find(id procedure.ControlID) (*procedure.Control, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.control(id)
}

// move puts a control somewhere. The lock is held; the event is returned to be
// sent after it is let go. A control that is there already does not move.
func (h *hands) move(id procedure.ControlID, p procedure.Position, at time.Duration) []procedure.Event {
	c, ok := h.control(id)
	if !ok {
		return nil
	}
	p = c.Clamp(p)
	if h.at[id] == p {
		return nil
	}
	h.at[id], h.moved[id] = p, at
	return []procedure.Event{{At: at, Kind: procedure.EventMove, Subject: string(id), Value: float64(p)}}
}

func (h *hands) send(events []procedure.Event) {
	for _, e := range events {
		h.emit(e)
	}
}

// position is where a control was last seen or put.
func (h *hands) position(id procedure.ControlID) (procedure.Position, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	p, ok := h.at[id]
	return p, ok
}

// put moves a control at once.
func (h *hands) put(id procedure.ControlID, p procedure.Position, at time.Duration) {
	h.mu.Lock()
	delete(h.drives, id)
	ev := h.move(id, p, at)
	h.mu.Unlock()
	h.send(ev)
}

// toggle flips a switch of two positions, or steps one of more round.
func (h *hands) toggle(id procedure.ControlID, at time.Duration) {
	h.mu.Lock()
	c, ok := h.control(id)
	var ev []procedure.Event
	if ok && len(c.Detents) > 0 {
		ev = h.move(id, procedure.Position((int(h.at[id])+1)%len(c.Detents)), at)
	}
	h.mu.Unlock()
	h.send(ev)
}

// turn steps a rotary switch by one position, never into a sprung one.
func (h *hands) turn(id procedure.ControlID, by int, at time.Duration) {
	h.mu.Lock()
	c, ok := h.control(id)
	var ev []procedure.Event
	if ok {
		p := c.Clamp(h.at[id] + procedure.Position(by))
		if c.Rest(p) == p {
			ev = h.move(id, p, at)
		}
	}
	h.mu.Unlock()
	h.send(ev)
}

// hold keeps a sprung position as long as by holds it.
func (h *hands) hold(by string, id procedure.ControlID, detent procedure.Position, at time.Duration) {
	h.mu.Lock()
	h.held[by] = heldSpring{id, detent}
	ev := h.move(id, detent, at)
	h.mu.Unlock()
	h.send(ev)
}

// letGo releases what by held; it springs back unless something else holds it.
// Letting go of what is not held does nothing.
func (h *hands) letGo(by string, at time.Duration) {
	h.mu.Lock()
	s, ok := h.held[by]
	delete(h.held, by)
	for _, other := range h.held {
		ok = ok && other.control != s.control
	}
	var ev []procedure.Event
	if ok {
		if c, found := h.control(s.control); found {
			ev = h.move(s.control, c.Rest(s.detent), at)
		}
	}
	h.mu.Unlock()
	h.send(ev)
}

// letGoAll is what happens when the window loses the foreground: hands come off
// everything that is sprung, and levers stop where they are.
func (h *hands) letGoAll(at time.Duration) {
	h.mu.Lock()
	var by []string
	for k := range h.held {
		by = append(by, k)
	}
	h.inHand = ""
	h.mu.Unlock()
	for _, k := range by {
		h.letGo(k, at)
	}
	h.stopAll(at)
}

// springBack lets go of everything that stands sprung and that nothing holds.
func (h *hands) springBack(at time.Duration) {
	h.mu.Lock()
	var ev []procedure.Event
	if h.aircraft != nil {
		held := map[procedure.ControlID]bool{}
		for _, s := range h.held {
			held[s.control] = true
		}
		for i := range h.aircraft.Controls {
			c := &h.aircraft.Controls[i]
			if rest := c.Rest(h.at[c.ID]); rest != h.at[c.ID] && !held[c.ID] {
				ev = append(ev, h.move(c.ID, rest, at)...)
			}
		}
	}
	h.mu.Unlock()
	h.send(ev)
}

// sprung reports whether a control is held out of its rest.
func (h *hands) sprung(id procedure.ControlID) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, s := range h.held {
		if s.control == id {
			return true
		}
	}
	return false
}

// driveTo sets a lever on its way, at so many travels a second.
func (h *hands) driveTo(id procedure.ControlID, to procedure.Position, rate float64, at time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	c, ok := h.control(id)
	if !ok || c.Kind != procedure.Lever {
		return
	}
	h.drives[id] = drive{from: h.at[id], to: c.Clamp(to), since: at, rate: rate * float64(c.Travel)}
}

// driveToMark sets a lever on its way to the next mark, or its end, in a
// direction.
func (h *hands) driveToMark(id procedure.ControlID, up bool, at time.Duration) {
	h.mu.Lock()
	c, ok := h.control(id)
	if !ok {
		h.mu.Unlock()
		return
	}
	here, to := h.at[id], procedure.Position(0)
	if up {
		to = c.Travel
	}
	const near = 0.25 // the hand is on the mark
	for _, m := range c.Marks {
		if up && m.At > here+near && m.At < to || !up && m.At < here-near && m.At > to {
			to = m.At
		}
	}
	h.mu.Unlock()
	h.driveTo(id, to, snapRate, at)
}

// stop leaves a lever where it is.
func (h *hands) stop(id procedure.ControlID, at time.Duration) {
	h.mu.Lock()
	ev := h.step(id, at)
	delete(h.drives, id)
	h.mu.Unlock()
	h.send(ev)
}

func (h *hands) stopAll(at time.Duration) {
	h.mu.Lock()
	var ids []procedure.ControlID
	for id := range h.drives {
		ids = append(ids, id)
	}
	h.mu.Unlock()
	for _, id := range ids {
		h.stop(id, at)
	}
}

// advance moves every lever that is on its way to where it is by now, and
// reports whether any still is.
func (h *hands) advance(at time.Duration) bool {
	h.mu.Lock()
	var ev []procedure.Event
	if h.aircraft != nil {
		// In the aircraft's order, so that the same hands give the same events.
		for _, c := range h.aircraft.Controls {
			ev = append(ev, h.step(c.ID, at)...)
		}
	}
	moving := len(h.drives) > 0
	h.mu.Unlock()
	h.send(ev)
	return moving
}

func (h *hands) step(id procedure.ControlID, at time.Duration) []procedure.Event {
	d, ok := h.drives[id]
	if !ok {
		return nil
	}
	gone := procedure.Position(d.rate * max(at-d.since, 0).Seconds())
	p := d.to
	if left := procedure.Position(math.Abs(float64(d.to - d.from))); gone < left {
		p = d.from + gone
		if d.to < d.from {
			p = d.from - gone
		}
	} else {
		delete(h.drives, id)
	}
	return h.move(id, p, at)
}

// grab takes a lever in the mouse's hand; the empty id puts it down.
func (h *hands) grab(id procedure.ControlID) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.inHand = id
	delete(h.drives, id)
}

// fly says whether mouse or keys do the flying.
func (h *hands) fly(mouse bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.mouse = mouse
}

// byMouse reports whether the mouse did the last act, and whether it holds what is
// sprung.
func (h *hands) byMouse() (flies, holds bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	_, holds = h.held[byMouse]
	return h.mouse, holds
}

func (h *hands) grabbed() procedure.ControlID {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.inHand
}
