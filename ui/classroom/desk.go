package classroom

import (
	"errors"
	"fmt"
	"time"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
	"kickover/procedure/units"
	"kickover/ui/theme"
)

// DeskOptions are what an instructor's desk needs from outside.
type DeskOptions struct {
	Theme     theme.Tokens
	Units     units.Units
	Libraries []*procedure.Library
	Folder    string // of all classes
	Said      string // what is to be told first
	Records   classroom.Records
	Networks  func() []Network // of this moment
	Student   func() bool      // whoever is at this machine said to be one; nil is nobody
	// School is the file that tells of a school's own servers, empty for none;
	// UseSchool takes another, or none, and gives where classes are kept then. nil
	// offers none.
	School    func() string
	UseSchool func(file string) (folder string, err error)
	// Listen opens the network for a class; natslink.Open does. Where nothing can
	// listen its error is a *classroom.PortError, and another port can be chosen.
	Listen func(c classroom.Class, on Network, i *classroom.Instructor) (classroom.Room, error)
	Stage  Stage
	// Projector is a second window; nil has none.
	Projector Projector
	// Opened is told of a class that stations can join now; nil is nobody.
	Opened func(*classroom.Instructor)
	// Play flies a run again, from what was recorded of it, until stop is called.
	Play func(o rehearsal.Options, publish func(*rehearsal.Snapshot)) (live *rehearsal.Live, stop func(), err error)
	// Review opens a filed run with a way back; nil leaves that out.
	Review func(run string, back func())
	Signer Signer // nil: the records cannot be opened
	Join   func() // this machine is a student's
}

// Desk is the instructor's side: which screen leads to which. It belongs to the
// window's goroutine.
type Desk struct {
	o        DeskOptions
	class    *classroom.Instructor
	wall     *wall
	stop     func()           // of the screen that moves
	next     int              // of the plan, to be announced
	shut     bool             // the class takes nobody new
	signing  string           // the instructor who signed last
	farewell string           // what became of the class that was closed
	unopened *classroom.Class // that was made, and could not be opened on its network
}

// goLead is how long ahead "go" is given: time for the voice to say it.
const goLead = 2 * time.Second

// NewDesk makes a desk; Start shows its first screen.
func NewDesk(o DeskOptions) *Desk {
	d := &Desk{o: o, stop: func() {}, farewell: o.Said}
	d.wall = newWall(o.Projector, o.Theme, d.flowTitle)
	return d
}

// Dress changes the colours and units of what is shown from now on.
func (d *Desk) Dress(t theme.Tokens, u units.Units) {
	d.o.Theme, d.wall.theme, d.o.Units = t, t, u
}

// Start offers to open a class, or shows the one that is open.
func (d *Desk) Start() {
	if d.class != nil {
		d.showBoard()
		return
	}
	d.still()
	o := OpenOptions{Theme: d.o.Theme, Networks: d.o.Networks(), Before: classroom.Classes(d.o.Folder), Said: d.farewell,
		Called: d.called(), Student: d.o.Student != nil && d.o.Student(),
		Open: d.open, Reopen: d.reopen, Aloud: d.aloud, Join: d.o.Join}
	if d.o.UseSchool != nil {
		o.School, o.UseSchool = d.o.School(), d.useSchool
	}
	s := NewOpen(o)
	d.o.Stage.Show("Class", s.Content(), s.Focus, nil)
}

// called is what a class is called that nobody names: one that could not be opened
// keeps its name, so that another try opens that one.
func (d *Desk) called() string {
	if d.unopened != nil {
		return d.unopened.Name
	}
	return time.Now().Format("Monday 2 January, 15:04")
}

// useSchool goes to a school's own servers, or back to this machine's networks.
func (d *Desk) useSchool(file string) error {
	folder, err := d.o.UseSchool(file)
	if folder != "" {
		d.o.Folder, d.unopened = folder, nil
	}
	if err != nil {
		return err
	}
	d.farewell = "Classes are opened on this machine's networks now."
	if file != "" {
		d.farewell = "Classes are opened on the school's servers now, and the program remembers it."
	}
	d.Start()
	return nil
}

// Opened is the name of the class that is open, empty for none.
func (d *Desk) Opened() string {
	if d.class == nil {
		return ""
	}
	return d.class.Class().Name
}

// Leave stops what moves on the screen; the class stays open.
func (d *Desk) Leave() {
	d.still()
	d.wall.giveBack()
}

// Close closes the class, if one is open: the stations are told, and it can be
// opened again.
func (d *Desk) Close() error {
	d.still()
	d.wall.close()
	d.wall.class = nil
	if d.class == nil {
		return nil
	}
	i := d.class
	d.class = nil
	d.farewell = fmt.Sprintf("%s is closed. What was flown is kept; open it again from the list, and the stations come back by themselves.", i.Class().Name)
	return i.Close()
}

func (d *Desk) still() {
	d.stop()
	d.stop = func() {}
}

func (d *Desk) open(name string, on Network) error {
	// One that could not be opened the last time is there already.
	if c := d.unopened; c != nil && c.Name == name {
		return d.reopen(c.ID, on)
	}
	c, b, err := classroom.NewClass(d.o.Folder, name, nil, time.Now())
	if err != nil {
		return err
	}
	d.unopened = c
	return d.begin(c, b, on)
}

func (d *Desk) reopen(id string, on Network) error {
	c, b, err := classroom.Reopen(d.o.Folder, id)
	if err != nil {
		return err
	}
	if called, err := b.CalledAloud(); err == nil && len(called) > 0 {
		d.lookBack(called[len(called)-1])
		return b.Close()
	}
	if on.Host == "" {
		return errors.Join(errNoNetwork, b.Close())
	}
	return d.begin(c, b, on)
}

var errNoNetwork = errors.New("this machine is on no network at the moment, so the class cannot be opened on one: join a network, then open it again")

func (d *Desk) begin(c *classroom.Class, b *classroom.Book, on Network) error {
	i, err := classroom.NewInstructor(c, b, classroom.InstructorOptions{Libraries: d.o.Libraries, Records: d.o.Records})
	if err != nil {
		return errors.Join(err, b.Close())
	}
	on = d.where(i, on)
	room, err := d.o.Listen(*c, on, i)
	if err != nil {
		return errors.Join(err, i.Close())
	}
	i.Attach(room)
	if err := i.KeepPlace(on.Host, on.Port); err != nil {
		i.Refuse(fmt.Sprintf("Where this class is could not be kept (%v): when it is opened again, choose the network and the port again.", err))
	}
	d.class, d.wall.class, d.farewell, d.unopened = i, i, "", nil
	d.next, d.shut = d.undrilled(), false
	if d.o.Opened != nil {
		d.o.Opened(i)
	}
	d.showBoard()
	return nil
}

// where is the network that a class is opened on: one that was open before has its
// stations look for it where it was, so it goes there again as long as nobody chose
// otherwise and this machine is still there.
func (d *Desk) where(i *classroom.Instructor, on Network) Network {
	host, port := i.Place()
	for _, n := range d.o.Networks() {
		if n.Host == host && !on.Chosen {
			on.Name, on.Host = n.Name, n.Host
		}
	}
	if on.Port == 0 && on.Host == host {
		on.Port = port
	}
	return on
}

// undrilled is the first of the plan that the class has not met.
func (d *Desk) undrilled() int {
	drills := d.class.Drills()
	for k, s := range d.class.Class().Plan {
		if classroom.Drilled(s, drills) == 0 {
			return k
		}
	}
	return 0
}

const (
	boardEvery   = 200 * time.Millisecond
	stationEvery = 50 * time.Millisecond
)

func (d *Desk) showBoard() { d.showBoardFrom("") }

// showBoardFrom comes back from one station, and has the keyboard at its tile.
func (d *Desk) showBoardFrom(s classroom.StationID) {
	d.still()
	d.wall.giveBack()
	i := d.class
	board := NewBoard(BoardOptions{Theme: d.o.Theme, Class: i, FlowTitle: d.flowTitle, From: s,
		Open: d.showStation, Sequence: d.sequence, Order: func() { d.order("everybody", d.showBoard) },
		Go:    func() { d.tell(i.Go(goLead)) },
		LetIn: func() { d.tell(i.LetIn()) },
		Pause: func(on bool) { d.tell(i.Pause(on)) },
		End:   func() { d.tell(i.End()) }, Debrief: func() { d.debrief(-1) }, Room: d.room,
		Close: func() {
			if err := d.Close(); err != nil {
				d.farewell = err.Error()
			}
			d.Start()
		}})
	d.o.Stage.Show(i.Class().Name, board.Content(), board.Focus, nil)
	board.Refresh()
	d.stop = Every(boardEvery, board.Refresh)
}

// room shows how to join, and has the projector's window opened and closed.
func (d *Desk) room() {
	d.still()
	i := d.class
	o := RoomOptions{Theme: d.o.Theme, Class: i, Back: d.showBoard, Invited: d.wall.invites, IsShut: d.shut,
		Shut: func(on bool) { d.shut = on; i.Shut(on) }, NewCode: i.NewCode}
	if d.o.Projector != nil {
		o.HasWindow = d.wall.there
		o.Window = func(on bool) {
			if on {
				d.wall.open()
			} else {
				d.wall.close()
			}
		}
		o.Full = func(on bool) {
			if d.wall.there() {
				d.o.Projector.Full(on)
			}
		}
		o.Invites = func(on bool) {
			d.wall.invites = on
			if d.wall.there() {
				d.wall.follow()
			}
		}
	}
	s := NewRoom(o)
	d.o.Stage.Show("For the room", s.Content(), s.Focus, d.showBoard)
	s.Refresh()
	d.stop = Every(boardEvery, s.Refresh)
}

// told says who has what was ordered last, without naming it.
func (d *Desk) told() string {
	if told, ok := d.class.Told(); ok {
		return toldWords(told, false)
	}
	return ""
}

// tell puts an error where the board shows it.
func (d *Desk) tell(err error) {
	if err != nil && d.class != nil {
		d.class.Refuse(sentence(err.Error()))
	}
}

// sequence shows what the class will meet, and announces of it.
func (d *Desk) sequence() {
	d.still()
	i := d.class
	s := NewSequence(SequenceOptions{Theme: d.o.Theme, Units: d.o.Units, Libraries: d.o.Libraries, Back: d.showBoard, Plan: i.Class().Plan, Next: d.next,
		Drilled: func(s classroom.Situation) int { return classroom.Drilled(s, i.Drills()) },
		Keep: func(plan []classroom.Situation) {
			if err := i.SetPlan(plan); err != nil {
				d.tell(fmt.Errorf("the sequence could not be kept (%w): it holds until the program is closed", err))
			}
		},
		Announce: func(k int, s classroom.Situation, m classroom.Mode) error {
			if err := d.announce(s, m); err != nil {
				return err
			}
			d.next = k + 1
			d.showBoard()
			return nil
		}})
	d.o.Stage.Show("Sequence", s.Content(), s.Focus, d.showBoard)
}

// announce makes the stations ready for a situation, once the simulated engine
// was seen to take it.
func (d *Desk) announce(s classroom.Situation, m classroom.Mode) error {
	lib, _ := d.find(s)
	if _, err := rehearsal.New(rehearsal.Options{Library: lib, Flow: s.Flow, Phase: s.Phase, Panel: s.Panel, Conditions: s.Conditions, Faults: s.Faults}); err != nil {
		return fmt.Errorf("this cannot be flown: %w", err)
	}
	if _, err := d.class.Announce(s, m); err != nil {
		return err
	}
	if m == classroom.OwnPace {
		if err := d.class.Go(0); err != nil {
			return err
		}
	}
	if d.wall.there() {
		d.wall.follow()
	}
	return nil
}

func (d *Desk) order(to string, back func(), at ...classroom.StationID) {
	d.still()
	var refused string // what was given here and could not be
	given := false
	s := NewOrders(OrderOptions{Theme: d.o.Theme, To: to, Back: back, Give: func(o classroom.Order) {
		given, refused = true, ""
		if err := d.class.Order(o, at...); err != nil {
			refused = sentence(err.Error()) // what was meant can be given anew
		} else if o.Kind != classroom.OrderSay {
			back()
		}
	}, Told: func() (string, bool) {
		if told, ok := d.class.Told(); given && refused == "" && ok {
			return toldWords(told, true), false
		}
		return refused, refused != ""
	}})
	d.o.Stage.Show("To "+to, s.Content(), s.Focus, back)
	d.stop = Every(boardEvery, s.Refresh)
}

func (d *Desk) showStation(id classroom.StationID) {
	d.still()
	i := d.class
	drill, _ := i.Drill()
	lib, _ := d.find(drill.Situation)
	r, _ := i.Row(id)
	name := fmt.Sprintf("station %d", r.Number)
	back := func() { d.showBoardFrom(id) }
	s := NewStation(StationOptions{Theme: d.o.Theme, Units: d.o.Units, Library: lib, Drill: drill, Back: back,
		Row:     func() (classroom.Row, bool) { return i.Row(id) },
		Readmit: func() { d.tell(i.Readmit(id)) },
		LetIn:   func() { d.tell(i.LetIn(id)) },
		Order:   func() { d.order(name, func() { d.showStation(id) }, id) },
		Told:    d.told})
	d.o.Stage.Show(name, s.Content(), s.Focus, back)
	s.Refresh()
	d.stop = Every(stationEvery, s.Refresh)
}

func (d *Desk) find(s classroom.Situation) (*procedure.Library, *procedure.Flow) {
	for _, l := range d.o.Libraries {
		if l.Aircraft.ID == s.Aircraft {
			if f, ok := l.Flow(s.Flow); ok {
				return l, f
			}
		}
	}
	return nil, nil
}

func (d *Desk) flowTitle(s classroom.Situation) string {
	if _, f := d.find(s); f != nil {
		return f.Title
	}
	return string(s.Flow)
}
