package classroom

import (
	"crypto/rand"
	"encoding/binary"
	"errors"
	"slices"
	"time"
)

// This file is what the instructor makes happen: drills and orders.

// ordersLimit is how many orders one station is given in a class.
const ordersLimit = 5000

// Announce makes every station ready for a drill. One that goes on is ended.
func (i *Instructor) Announce(s Situation, m Mode) (Drill, error) {
	if _, _, err := i.flow(s); err != nil {
		return Drill{}, err
	}
	var seed [8]byte
	if _, err := rand.Read(seed[:]); err != nil {
		return Drill{}, err
	}
	d := Announce(DrillID(rand.Text()[:12]), s, m, binary.BigEndian.Uint64(seed[:]))
	return d, i.change("", func(c *classState) error {
		if n := len(c.Drills); n > 0 {
			c.Drills[n-1] = c.Drills[n-1].End()
		}
		c.Drills = append(c.Drills, d)
		return nil
	})
}

// Go begins the announced drill everywhere at once, so long from now.
func (i *Instructor) Go(lead time.Duration) error {
	now := i.Time()
	return i.changeDrill(OrderBegin, func(d Drill) (Drill, error) { return d.GoAt(now, now+lead) })
}

// Pause stops everybody's time, or lets it go on.
func (i *Instructor) Pause(on bool) error {
	kind := OrderGo
	if on {
		kind = OrderPause
	}
	return i.changeDrill(kind, func(d Drill) (Drill, error) { return d.Pause(on) })
}

// End ends the present drill.
func (i *Instructor) End() error {
	return i.changeDrill(OrderEnd, func(d Drill) (Drill, error) { return d.End(), nil })
}

func (i *Instructor) changeDrill(kind OrderKind, f func(Drill) (Drill, error)) error {
	return i.change(kind, func(c *classState) error {
		n := len(c.Drills)
		if n == 0 {
			return errors.New("no drill was announced yet")
		}
		d, err := f(c.Drills[n-1])
		if err == nil {
			c.Drills[n-1] = d
		}
		return err
	})
}

// change makes a change to the drills, keeps it, and tells every station. Its kind
// is what stations are told by it; empty is what shows otherwise that it has come.
func (i *Instructor) change(kind OrderKind, f func(*classState) error) error {
	i.mu.Lock()
	next := i.state
	next.Drills, next.Rev = slices.Clone(i.state.Drills), i.state.Rev+1
	err := f(&next)
	if err == nil {
		i.state, i.refused, i.telling = next, "", nil
		if kind != "" {
			i.telling = &telling{order: Order{Kind: kind}, rev: next.Rev, since: i.Time()}
		}
	}
	i.mu.Unlock()
	if err != nil {
		return err
	}
	if err := i.book.putState(next); err != nil {
		i.tell("The drill goes on, but its state could not be stored (" + err.Error() + "): do not close the program before the drill is over.")
	}
	i.announceAll()
	i.o.Changed()
	return nil
}

// LetIn lets stations begin that came when all had begun together; without any,
// all that wait. Their runs are late ones, see [Flown].
func (i *Instructor) LetIn(at ...StationID) error {
	if len(at) == 0 {
		for _, r := range i.Rows(false) {
			if r.Need == NeedLetIn {
				at = append(at, r.Station)
			}
		}
	}
	if len(at) == 0 {
		return errors.New("nobody waits to be let in")
	}
	if at = slices.DeleteFunc(at, i.lettingIn); len(at) == 0 {
		return nil // it is on its way
	}
	return i.Order(Order{Kind: OrderBegin}, at...)
}

// lettingIn reports whether a station was let in and has not heard of it yet.
func (i *Instructor) lettingIn(s StationID) bool {
	i.mu.Lock()
	defer i.mu.Unlock()
	st, r := i.stations[s], i.board.stations[s]
	if st == nil || r == nil || r.Live.Orders > len(st.orders) {
		return false
	}
	d, _ := i.present()
	return slices.ContainsFunc(st.orders[r.Live.Orders:], func(o Order) bool { return o.Kind == OrderBegin && o.Drill == d.ID })
}

// Order makes something happen at stations; without any, at all of them. Where it
// happens in a run, only those that fly one are told: the others could do nothing
// with it. See [Instructor.Told] for who has it.
func (i *Instructor) Order(o Order, at ...StationID) error {
	if err := o.Check(); err != nil {
		return err
	}
	i.mu.Lock()
	d, ok := i.present()
	if ok {
		o.Drill = d.ID
	}
	if !ok && o.Kind != OrderSay {
		i.mu.Unlock()
		return errors.New("no drill was announced yet")
	}
	if len(at) == 0 {
		for s := range i.stations {
			at = append(at, s)
		}
	}
	next, numbers := map[StationID]numbered{}, map[StationID]int{}
	known := false
	for _, s := range at {
		st := i.stations[s]
		if st == nil || st.Cut != "" || len(st.orders) >= ordersLimit {
			continue
		}
		known = true
		if o.Kind != OrderSay && o.Kind != OrderBegin && !i.flies(s) {
			continue
		}
		mine := o
		if o.Kind == OrderFault {
			mine.Token = token(i.class.secret, d.ID, s, string(o.Fault))
		}
		st.orders = append(st.orders, mine)
		next[s], numbers[s] = numbered{len(st.orders), mine}, len(st.orders)
	}
	if len(next) > 0 {
		i.refused, i.telling = "", &telling{order: o, orders: numbers, since: i.Time()}
	}
	i.mu.Unlock()
	switch {
	case len(next) == 0 && known:
		return errors.New("nobody flies at the moment, so nothing was made to happen: order it once the run has begun")
	case len(next) == 0:
		return errors.New("no such station is here, so nothing was ordered")
	}
	if err := i.book.putOrders(next); err != nil {
		i.tell("The order was given, but could not be stored: " + err.Error())
	}
	for s, n := range next {
		i.sendOrders(s, n.n-1)
	}
	i.o.Changed()
	return nil
}
