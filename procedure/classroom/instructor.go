package classroom

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"sync"
	"time"

	"kickover/procedure"
	"kickover/procedure/record"
	"kickover/procedure/rehearsal"
)

// Records is where finished runs are filed; record.Store is one.
type Records interface {
	Import(r io.Reader) (record.Imported, error)
}

// InstructorOptions are what an instructor's program brings.
type InstructorOptions struct {
	Libraries []*procedure.Library
	Clock     rehearsal.Clock  // nil is the machine's own
	Now       func() time.Time // nil is time.Now
	Records   Records          // nil: runs stay in the class's own file
	// Changed is called when the board may look different, often and from any
	// goroutine; it must not block. nil is nobody.
	Changed func()
}

// Instructor is a class that is open: the instructor's program's end of it. Its
// methods may be called from any goroutine; none waits for the network.
type Instructor struct {
	o       InstructorOptions
	class   *Class
	book    *Book
	session string
	words   [3]string
	origin  time.Duration // class time = origin + Clock.Now()
	filing  *filing

	joining sync.Mutex // one newcomer at a time, so that numbers are given in order

	mu       sync.Mutex // guards what follows; nothing foreign is called under it
	room     Room
	board    *Board
	door     *door
	state    classState
	stations map[StationID]*seated
	notices  []string
}

// seated is what the instructor's program knows of a station.
type seated struct {
	bookedStation
	key     []byte // for sealed messages; empty until it said hello
	orders  []Order
	resent  time.Duration // when it was last told something, class time
	strikes int
	noted   int // lines about it in the log
}

const (
	stationsLimit = 2000
	strikesLimit  = 3
	notesLimit    = 50
	ordersLimit   = 5000
)

// ErrCut is a station that was cut off.
var ErrCut = errors.New("this station was cut off from the class: ask the instructor")

// NewInstructor opens a class. Call [Instructor.Attach] with the messaging
// engine's end to let stations in; without one the class has no network.
func NewInstructor(c *Class, b *Book, o InstructorOptions) (*Instructor, error) {
	if o.Clock == nil {
		o.Clock = rehearsal.NewSystem()
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Changed == nil {
		o.Changed = func() {}
	}
	i := &Instructor{o: o, class: c, book: b, session: rand.Text(), words: CheckWords(c.Fingerprint()),
		board: NewBoard(), stations: map[StationID]*seated{}}
	i.origin = time.Duration(o.Now().UnixNano()) - o.Clock.Now()
	i.door = newDoor(i.Time())
	var err error
	if i.state, err = b.state(); err != nil {
		return nil, fmt.Errorf("the class cannot be taken up: %w", err)
	}
	if err := i.takeUpStations(); err != nil {
		return nil, fmt.Errorf("the class cannot be taken up: %w", err)
	}
	i.filing = newFiling(i)
	return i, nil
}

func (i *Instructor) takeUpStations() error {
	known, err := i.book.stations()
	if err != nil {
		return err
	}
	orders, err := i.book.orders()
	if err != nil {
		return err
	}
	for _, s := range known {
		i.stations[s.ID] = &seated{bookedStation: s, orders: orders[s.ID]}
		i.board.Join(s.ID, s.Number, s.Name)
		if s.Cut != "" {
			i.board.Trouble(s.ID, s.Cut)
		}
	}
	return nil
}

// Attach gives the instructor's program its end of the network.
func (i *Instructor) Attach(r Room) {
	i.mu.Lock()
	i.room = r
	i.mu.Unlock()
	i.o.Changed()
}

// Close ends the class for now: stations are told, runs that are over are
// filed, the network and the class's file are closed. The class can be reopened.
func (i *Instructor) Close() error {
	i.mu.Lock()
	room := i.room
	i.room = nil
	i.mu.Unlock()
	var err error
	if room != nil {
		err = errors.Join(room.Broadcast(encode(notice{Kind: "closing"})), room.Close())
	}
	i.filing.close()
	return errors.Join(err, i.book.Close())
}

// Time is class time: it runs evenly while the class is open.
func (i *Instructor) Time() time.Duration { return i.origin + i.o.Clock.Now() }

// Class is the class itself.
func (i *Instructor) Class() Class { return *i.class }

// Book is where everything is kept.
func (i *Instructor) Book() *Book { return i.book }

// JoinCode is what the projector shows this moment; it changes.
func (i *Instructor) JoinCode() JoinCode {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.door.turn(i.Time())
	return JoinCode{Digits: i.door.digits, Words: i.words}
}

// Shut closes the door to newcomers, or opens it with another code. Stations
// that were here before come back in either case.
func (i *Instructor) Shut(on bool) {
	i.mu.Lock()
	if i.door.shut = on; !on {
		i.door.renew(i.Time())
	}
	i.mu.Unlock()
	i.o.Changed()
}

// Addresses are what a student types, the likeliest first; none without a network.
func (i *Instructor) Addresses() []string {
	i.mu.Lock()
	room := i.room
	i.mu.Unlock()
	if room == nil {
		return nil
	}
	return room.Addresses()
}

// Rows is the board: by who needs help most, or by number.
func (i *Instructor) Rows(helpFirst bool) []Row {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.board.Rows(i.Time(), helpFirst)
}

// Row is one station on the board, with its levers and gauges.
func (i *Instructor) Row(s StationID) (Row, bool) {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.board.Row(s, i.Time())
}

// Tally counts the board.
func (i *Instructor) Tally() Tally {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.board.Tally(i.Time())
}

// Drill is the present drill, false before the first.
func (i *Instructor) Drill() (Drill, bool) {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.present()
}

// Drills are all drills of the class, oldest first.
func (i *Instructor) Drills() []Drill {
	i.mu.Lock()
	defer i.mu.Unlock()
	return slices.Clone(i.state.Drills)
}

// present wants mu held.
func (i *Instructor) present() (Drill, bool) {
	n := len(i.state.Drills)
	if n == 0 {
		return Drill{}, false
	}
	return i.state.Drills[n-1], true
}

// drill finds a drill by its id; it wants mu held.
func (i *Instructor) drill(id DrillID) (Drill, bool) {
	for _, d := range slices.Backward(i.state.Drills) {
		if d.ID == id {
			return d, true
		}
	}
	return Drill{}, false
}

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
	return d, i.change(func(c *classState) error {
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
	return i.changeDrill(func(d Drill) (Drill, error) { return d.GoAt(now, now+lead) })
}

// Pause stops everybody's time, or lets it go on.
func (i *Instructor) Pause(on bool) error {
	return i.changeDrill(func(d Drill) (Drill, error) { return d.Pause(on) })
}

// End ends the present drill.
func (i *Instructor) End() error {
	return i.changeDrill(func(d Drill) (Drill, error) { return d.End(), nil })
}

func (i *Instructor) changeDrill(f func(Drill) (Drill, error)) error {
	return i.change(func(c *classState) error {
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

// change makes a change to the drills, keeps it, and tells every station.
func (i *Instructor) change(f func(*classState) error) error {
	i.mu.Lock()
	next := classState{Drills: slices.Clone(i.state.Drills), Rev: i.state.Rev + 1}
	err := f(&next)
	if err == nil {
		i.state = next
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

// Order makes something happen at stations; without any, at all of them.
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
	next := map[StationID]numbered{}
	for _, s := range at {
		st := i.stations[s]
		if st == nil || st.Cut != "" || len(st.orders) >= ordersLimit {
			continue
		}
		mine := o
		if o.Kind == OrderFault {
			mine.Token = token(i.class.secret, d.ID, s, string(o.Fault))
		}
		st.orders = append(st.orders, mine)
		next[s] = numbered{len(st.orders), mine}
	}
	i.mu.Unlock()
	if len(next) == 0 {
		return errors.New("there is no such station")
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

// Notices are sentences for the instructor, oldest first.
func (i *Instructor) Notices() []string {
	i.mu.Lock()
	defer i.mu.Unlock()
	return slices.Clone(i.notices)
}

// Tell puts a sentence among the notices.
func (i *Instructor) Tell(sentence string) { i.tell(sentence) }

func (i *Instructor) tell(sentence string) {
	i.mu.Lock()
	i.notices = append(i.notices, sentence)
	if n := len(i.notices); n > 200 {
		i.notices = i.notices[n-200:]
	}
	i.mu.Unlock()
	i.o.Changed()
}

// CutOff ends a station's part in the class.
func (i *Instructor) CutOff(s StationID, why string) {
	i.mu.Lock()
	st, room := i.stations[s], i.room
	if st == nil || st.Cut != "" {
		i.mu.Unlock()
		return
	}
	st.Cut = why
	booked := st.bookedStation
	i.board.Trouble(s, why)
	i.mu.Unlock()
	if room != nil {
		room.CutOff(s)
	}
	if err := errors.Join(i.book.putStation(booked), i.book.note(i.o.Now(), s, "cut off: "+why)); err != nil {
		i.tell("A station was cut off, but that could not be stored: " + err.Error())
	}
	i.tell(fmt.Sprintf("Station %d was cut off: it %s. The class goes on.", booked.Number, why))
}

// Readmit lets a station back that was cut off.
func (i *Instructor) Readmit(s StationID) error {
	i.mu.Lock()
	st := i.stations[s]
	if st == nil {
		i.mu.Unlock()
		return errors.New("there is no such station")
	}
	st.Cut, st.strikes = "", 0
	i.board.row(s).Trouble = ""
	booked := st.bookedStation
	i.mu.Unlock()
	i.o.Changed()
	return i.book.putStation(booked)
}

// library finds the aircraft and its flow.
func (i *Instructor) flow(s Situation) (*procedure.Library, *procedure.Flow, error) {
	for _, l := range i.o.Libraries {
		if l.Aircraft.ID != s.Aircraft {
			continue
		}
		f, ok := l.Flow(s.Flow)
		if !ok {
			return nil, nil, fmt.Errorf("%s has no flow %q", l.Aircraft.Name, s.Flow)
		}
		return l, f, nil
	}
	return nil, nil, fmt.Errorf("no aircraft is called %q", s.Aircraft)
}

// Admit decides whether a station may connect.
func (i *Instructor) Admit(c Caller) error {
	if !plainID(string(c.Station)) || len(c.Secret) < 20 || len(c.Secret) > 100 {
		return errMalformed
	}
	sum := sha256.Sum256([]byte(c.Secret))
	i.joining.Lock()
	defer i.joining.Unlock()
	i.mu.Lock()
	if st := i.stations[c.Station]; st != nil {
		defer i.mu.Unlock()
		switch {
		case subtle.ConstantTimeCompare(sum[:], st.Secret) != 1:
			// Somebody takes himself for another: as bad as a wrong code.
			return i.door.knock(i.Time(), c.Address, "")
		case st.Cut != "":
			return ErrCut
		}
		return nil
	}
	err := i.door.knock(i.Time(), c.Address, c.Code)
	number := len(i.stations) + 1
	i.mu.Unlock()
	switch {
	case err != nil:
		return err
	case number > stationsLimit:
		return ErrShut
	}
	booked := bookedStation{ID: c.Station, Number: number, Secret: sum[:]}
	if err := i.book.putStation(booked); err != nil {
		i.tell("A station could not join, since the class's file cannot be written: " + err.Error())
		return err
	}
	i.mu.Lock()
	i.stations[c.Station] = &seated{bookedStation: booked}
	i.board.Join(c.Station, number, "")
	i.mu.Unlock()
	return nil
}

// plainID reports whether an identifier can be part of a subject.
func plainID(s string) bool {
	if len(s) < 16 || len(s) > 40 {
		return false
	}
	for _, r := range s {
		if (r < 'A' || r > 'Z') && (r < '0' || r > '9') {
			return false
		}
	}
	return true
}

// Here notes that a station is connected.
func (i *Instructor) Here(s StationID) { i.connected(s, true) }

// Gone notes that it no longer is.
func (i *Instructor) Gone(s StationID) { i.connected(s, false) }

func (i *Instructor) connected(s StationID, here bool) {
	i.mu.Lock()
	i.board.Connected(s, here, i.Time())
	i.mu.Unlock()
	i.o.Changed()
}

// Misbehaved notes what a station tried, and cuts it off when that was grave or
// is not the first time.
func (i *Instructor) Misbehaved(s StationID, what string, grave bool) {
	i.mu.Lock()
	st := i.stations[s]
	if st == nil {
		i.mu.Unlock()
		return
	}
	st.strikes++
	st.noted++
	cut, write := grave || st.strikes >= strikesLimit, st.noted <= notesLimit
	i.mu.Unlock()
	if write {
		if err := i.book.note(i.o.Now(), s, what); err != nil {
			i.tell("The class's log cannot be written: " + err.Error())
		}
	}
	if cut {
		i.CutOff(s, what)
	}
}
