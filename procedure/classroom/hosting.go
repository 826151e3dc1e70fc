package classroom

import (
	"errors"
	"fmt"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// This file is how the instructor's program answers stations and takes what
// they deliver.

// Live takes a station's position.
func (i *Instructor) Live(s StationID, data []byte) {
	l, err := decodeLive(data)
	if err != nil {
		i.Misbehaved(s, "sent a position that makes no sense", false)
		return
	}
	now := i.Time()
	i.mu.Lock()
	i.board.Position(s, l, now)
	st := i.stations[s]
	room := i.room
	due := st != nil && room != nil && now-st.resent > orderWait
	missed := due && l.Rev < i.state.Rev
	behind := due && l.Orders < len(st.orders)
	// At a school this program can go and come while stations stay connected.
	strange := due && len(st.key) == 0
	if missed || strange {
		st.resent = now
	}
	i.mu.Unlock()
	if strange {
		_ = room.Send(s, encode(notice{Kind: "hello"})) // asked again with its next position
	}
	if missed {
		if n, ok := i.drillNotice(s); ok {
			_ = room.Send(s, encode(n))
		}
	}
	if behind {
		i.sendOrders(s, l.Orders)
	}
	i.o.Changed()
}

// orderWait is how long a station has to take up what it was told before it is
// told again; ordersAtOnce is how many are.
const (
	orderWait    = time.Second
	ordersAtOnce = 16
)

// Ask answers a station's question.
func (i *Instructor) Ask(s StationID, data []byte) []byte {
	received := i.Time()
	var q question
	if err := decode(data, &q); err != nil {
		i.Misbehaved(s, "asked something that makes no sense", false)
		return encode(answer{Error: errMalformed.Error()})
	}
	switch q.Kind {
	case "clock":
		return encode(answer{Asked: q.Asked, Received: received, Sent: i.Time()})
	case "hello":
		return encode(i.hello(s, q))
	}
	i.Misbehaved(s, "asked something that makes no sense", false)
	return encode(answer{Error: errMalformed.Error()})
}

// hello tells a station all it may know, as after it was away.
func (i *Instructor) hello(s StationID, q question) answer {
	if q.Protocol != protocol {
		return answer{Error: "this station's program and the instructor's are of different versions: install the same on both"}
	}
	if _, err := seal(q.Key, "", nil); err != nil || tooLong(nameLimit, q.Name) || len(q.Runs) > runsOfStation {
		i.Misbehaved(s, "said hello in a way that makes no sense", false)
		return answer{Error: errMalformed.Error()}
	}
	i.mu.Lock()
	st := i.stations[s]
	if st == nil {
		i.mu.Unlock()
		return answer{Error: ErrCut.Error()}
	}
	st.key = q.Key
	renamed := q.Name != st.Name && q.Name != ""
	if renamed {
		st.Name = q.Name
	}
	booked, skip := st.bookedStation, 0
	if q.Fresh {
		skip = len(st.orders)
		if i.telling != nil {
			delete(i.telling.orders, s) // it passes over them, and would be counted as having them
		}
	}
	i.board.Join(s, st.Number, st.Name)
	i.board.Connected(s, true, i.Time())
	i.mu.Unlock()
	if renamed {
		if err := i.book.putStation(booked); err != nil {
			i.tell("A name could not be stored: " + err.Error())
		}
	}
	a := answer{Class: i.class.Name, Number: booked.Number, Session: i.session, Skip: skip, Confirmed: map[RunID]receiptLine{}}
	for run, r := range i.book.confirmed(s, q.Runs) {
		a.Confirmed[run] = receiptLine{r.Upto, r.Ended}
	}
	if n, ok := i.drillNotice(s); ok {
		a.Notice = &n
	}
	i.o.Changed()
	return a
}

// drillNotice is the present drill as one station is told it.
func (i *Instructor) drillNotice(s StationID) (notice, bool) {
	i.mu.Lock()
	d, ok := i.present()
	st := i.stations[s]
	rev := i.state.Rev
	var key []byte
	if st != nil {
		key = st.key
	}
	i.mu.Unlock()
	if !ok || key == nil {
		return notice{}, false
	}
	n, err := i.noticeOf(d, rev, s, key)
	if err != nil {
		i.tell(fmt.Sprintf("A drill could not be announced to a station: %v", err))
		return notice{}, false
	}
	return n, true
}

func (i *Instructor) noticeOf(d Drill, rev int, s StationID, key []byte) (notice, error) {
	_, f, err := i.flow(d.Situation)
	if err != nil {
		return notice{}, err
	}
	h := hidden{Conditions: d.Situation.Conditions, Seed: d.Seed}
	for _, fault := range d.Situation.Faults {
		h.Faults = append(h.Faults, hiddenFault{fault, token(i.class.secret, d.ID, s, string(fault))})
	}
	sealed, err := seal(key, drillUse(d.ID, s), encode(h))
	if err != nil {
		return notice{}, err
	}
	return notice{Kind: "drill", Rev: rev, Drill: d.ID, State: d.State, Open: d.opening(f.Hash), Go: d.Go, Pause: d.Paused, Seal: sealed}, nil
}

// What a sealed message is for.
func drillUse(d DrillID, s StationID) string { return "drill|" + string(d) + "|" + string(s) }
func orderUse(s StationID, n int) string     { return fmt.Sprintf("order|%s|%d", s, n) }

// announceAll tells every station that is here where the drill stands.
func (i *Instructor) announceAll() {
	i.mu.Lock()
	room := i.room
	to := make([]StationID, 0, len(i.stations))
	for s, st := range i.stations {
		if st.key != nil && st.Cut == "" {
			st.resent = i.Time()
			to = append(to, s)
		}
	}
	i.mu.Unlock()
	if room == nil {
		return
	}
	for _, s := range to {
		if n, ok := i.drillNotice(s); ok {
			_ = room.Send(s, encode(n)) // one that is away is told when it is back
		}
	}
}

// sendOrders sends a station its orders after number after.
func (i *Instructor) sendOrders(s StationID, after int) {
	i.mu.Lock()
	st, room := i.stations[s], i.room
	if st == nil || st.key == nil || room == nil || after < 0 || after >= len(st.orders) {
		i.mu.Unlock()
		return
	}
	st.resent = i.Time()
	key, orders := st.key, st.orders[after:]
	i.mu.Unlock()
	for k, o := range orders[:min(len(orders), ordersAtOnce)] {
		n := after + 1 + k
		sealed, err := seal(key, orderUse(s, n), encode(o))
		if err != nil {
			i.tell(err.Error())
			return
		}
		_ = room.Send(s, encode(notice{Kind: "order", N: n, Seal: sealed})) // sent again until it was carried out
	}
}

// Deliver stores run events. It is called by one goroutine at a time.
func (i *Instructor) Deliver(parcels []Parcel) error {
	good := make([]delivery, 0, len(parcels))
	for _, p := range parcels {
		b, err := decodeBatch(p.Data)
		if err == nil {
			err = i.complete(p.Station, &b)
		}
		if err != nil {
			i.Misbehaved(p.Station, "sent run events that make no sense", false)
			continue
		}
		good = append(good, delivery{p.Station, b})
	}
	receipts, err := i.book.Deliver(good)
	if err != nil {
		i.tell("Run events cannot be stored: " + err.Error() + ". Stations keep them and deliver them again; free some space or make the class's folder writable.")
		return err
	}
	i.mu.Lock()
	room := i.room
	i.mu.Unlock()
	for _, r := range receipts {
		if r.Refused != "" {
			i.Misbehaved(r.Station, r.Refused, r.Refused == refusedForeign)
			continue
		}
		if room != nil {
			_ = room.Send(r.Station, encode(notice{Kind: "confirmed", Run: r.Run, Upto: r.Upto, Ended: r.Ended})) // asked for again at hello
		}
		if r.Closed {
			i.filing.add(r.Run)
		}
	}
	return nil
}

var errNoDrill = errors.New("the run belongs to no drill of this class")

// complete checks a delivery against the class and gives faults their names,
// which the station's program does not write.
func (i *Instructor) complete(s StationID, b *batch) error {
	drill, known := i.book.drillOf(b.Run)
	if !known && b.Header == nil {
		return nil // too early: it is not stored, and comes again
	}
	if !known {
		drill = b.Header.Drill
	}
	i.mu.Lock()
	d, ok := i.drill(drill)
	i.mu.Unlock()
	if !ok {
		return errNoDrill
	}
	if h := b.Header; h != nil && (h.Drill != d.ID || h.Aircraft != d.Situation.Aircraft || h.Flow != d.Situation.Flow || h.Phase != d.Situation.Phase) {
		return errNoDrill
	}
	for k := range b.Events {
		e := &b.Events[k]
		if e.Kind != procedure.EventFault {
			continue
		}
		fault, ok := i.fault(d.ID, s, e.Subject)
		if !ok {
			return errMalformed
		}
		e.Subject = string(fault)
	}
	return nil
}

func (i *Instructor) fault(d DrillID, s StationID, named string) (powerplant.Fault, bool) {
	for _, f := range powerplant.Faults() {
		if token(i.class.secret, d, s, string(f.Fault)) == named {
			return f.Fault, true
		}
	}
	return "", false
}
