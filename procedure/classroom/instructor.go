package classroom

import (
	"crypto/rand"
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
	origin  time.Duration // class time = origin + Clock.Now()
	filing  *filing

	joining sync.Mutex // one newcomer at a time, so that numbers are given in order
	closing func() error

	mu       sync.Mutex // guards what follows; nothing foreign is called under it
	room     Room
	words    [3]string // of what the room's certificate stands for
	board    *Board
	door     *door
	state    classState
	stations map[StationID]*seated
	notices  []string
	refused  string   // why what the instructor wanted last did not happen
	telling  *telling // nil when something else is to be read, or nothing was ordered
	trouble  string   // with the messaging engine, while it lasts
	troubled time.Time
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
	i.closing = sync.OnceValue(i.shut)
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
	words := i.words
	if f := r.Fingerprint(); f != i.class.Fingerprint() && f != (Fingerprint{}) {
		words = CheckWords(f) // a school's servers have a certificate of their own
	}
	i.mu.Lock()
	i.room, i.words = r, words
	i.mu.Unlock()
	i.o.Changed()
}

// Place is the network that the class was last on, empty for none, and the port,
// where one was chosen for it: its stations look for it there.
func (i *Instructor) Place() (host string, port int) {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.state.Host, i.state.Port
}

// KeepPlace notes where the class is, for when it is opened again.
func (i *Instructor) KeepPlace(host string, port int) error {
	i.mu.Lock()
	i.state.Host, i.state.Port = host, port
	state := i.state
	i.mu.Unlock()
	return i.book.putState(state)
}

// Close ends the class for now: stations are told, runs that are over are
// filed, the network and the class's file are closed. The class can be reopened.
// Closing again does nothing.
func (i *Instructor) Close() error { return i.closing() }

func (i *Instructor) shut() error {
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
func (i *Instructor) Class() Class {
	i.mu.Lock()
	defer i.mu.Unlock()
	return *i.class
}

// Book is where everything is kept.
func (i *Instructor) Book() *Book { return i.book }

// JoinCode is what the projector shows this moment; it changes.
func (i *Instructor) JoinCode() JoinCode {
	return i.Door().Code
}

// Door is how somebody new comes in at this moment.
type Door struct {
	Code JoinCode
	Left time.Duration // that the code is still good for
	Shut bool          // nobody new is let in, whatever the code
	// Old is the code that this one took the place of, and OldFor for how long it
	// has not been good; empty before the first change.
	Old    string
	OldFor time.Duration
}

// Door is what the projector shows.
func (i *Instructor) Door() Door {
	i.mu.Lock()
	defer i.mu.Unlock()
	now := i.Time()
	i.door.turn(now)
	d := Door{Code: JoinCode{Digits: i.door.digits, Words: i.words}, Left: i.door.until - now, Shut: i.door.shut}
	if len(i.door.old) > 0 {
		d.Old, d.OldFor = i.door.old[0], now-i.door.since
	}
	return d
}

// NewCode makes another code at once, and the present one good for nothing: the
// words stay. Stations that were here before need neither.
func (i *Instructor) NewCode() {
	i.mu.Lock()
	i.door.renew(i.Time())
	i.mu.Unlock()
	i.o.Changed()
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

// Notices are sentences for the instructor, oldest first; then why what he wanted
// last did not happen, until something else does; last what is the matter with the
// messaging engine, while it lasts.
func (i *Instructor) Notices() []string {
	i.mu.Lock()
	defer i.mu.Unlock()
	out := slices.Clone(i.notices)
	if i.refused != "" {
		out = append(out, i.refused)
	}
	if i.trouble != "" {
		out = append(out, i.trouble+" (since "+i.troubled.Local().Format("15:04")+")")
	}
	return out
}

// Trouble implements Host.
func (i *Instructor) Trouble(what string) {
	i.mu.Lock()
	was := i.trouble
	if i.trouble = what; was == "" {
		i.troubled = i.o.Now()
	}
	i.mu.Unlock()
	switch {
	case was == what:
	case what == "":
		i.tell("Everybody can be reached again.")
	default:
		i.o.Changed()
	}
}

// Refuse says why what the instructor wanted did not happen, until something does.
func (i *Instructor) Refuse(why string) {
	i.mu.Lock()
	i.refused, i.telling = why, nil
	i.mu.Unlock()
	i.o.Changed()
}

func (i *Instructor) tell(sentence string) {
	i.mu.Lock()
	i.notices, i.refused, i.telling = append(i.notices, sentence), "", nil
	if n := len(i.notices); n > 200 {
		i.notices = i.notices[n-200:]
	}
	i.mu.Unlock()
	i.o.Changed()
}

// flow finds the aircraft and its flow.
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
