package classroom

import (
	"errors"
	"fmt"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
	"kickover/ui/theme"
)

// Stage is where screens are shown: the window, below its header.
type Stage interface {
	Show(title string, content fyne.CanvasObject, focus func(fyne.Window))
}

// DeskOptions are what an instructor's desk needs from outside.
type DeskOptions struct {
	Theme     theme.Tokens
	Libraries []*procedure.Library
	Folder    string // of all classes
	Records   classroom.Records
	Networks  []Network
	// Listen opens the network for a class; natslink.Open does.
	Listen func(c classroom.Class, host string, i *classroom.Instructor) (classroom.Room, error)
	Stage  Stage
	// Projector is a second window for the board without names and buttons; nil
	// has none.
	Projector Stage
	Replay    func(run string) // plays a filed run
	Debrief   func(run string) // opens a filed run, to be signed off
	Join      func()           // this machine is a student's
}

// Desk is the instructor's side: which screen leads to which. It belongs to the
// window's goroutine.
type Desk struct {
	o     DeskOptions
	class *classroom.Instructor
	stop  func() // of the screen that moves
	board func() // of the projector's
}

// goLead is how long ahead "go" is given: time for the voice to say it.
const goLead = 2 * time.Second

// NewDesk makes a desk; Start shows its first screen.
func NewDesk(o DeskOptions) *Desk { return &Desk{o: o, stop: func() {}, board: func() {}} }

// Start offers to open a class, or shows the one that is open.
func (d *Desk) Start() {
	if d.class != nil {
		d.showBoard()
		return
	}
	d.still()
	s := NewOpen(OpenOptions{Theme: d.o.Theme, Networks: d.o.Networks, Before: classroom.Classes(d.o.Folder),
		Open: d.open, Reopen: d.reopen, Aloud: d.aloud, Join: d.o.Join})
	d.o.Stage.Show("Class", s.Content(), s.Focus)
}

// Leave stops what moves on the screen; the class stays open.
func (d *Desk) Leave() { d.still() }

// Close closes the class, if one is open.
func (d *Desk) Close() error {
	d.still()
	d.board()
	if d.class == nil {
		return nil
	}
	i := d.class
	d.class = nil
	return i.Close()
}

func (d *Desk) still() {
	d.stop()
	d.stop = func() {}
}

func (d *Desk) open(name string, on Network) error {
	c, b, err := classroom.NewClass(d.o.Folder, name, nil, time.Now())
	if err != nil {
		return err
	}
	return d.begin(c, b, on)
}

func (d *Desk) reopen(id string, on Network) error {
	c, b, err := classroom.Reopen(d.o.Folder, id)
	if err != nil {
		return err
	}
	return d.begin(c, b, on)
}

func (d *Desk) begin(c *classroom.Class, b *classroom.Book, on Network) error {
	i, err := classroom.NewInstructor(c, b, classroom.InstructorOptions{Libraries: d.o.Libraries, Records: d.o.Records})
	if err != nil {
		return errors.Join(err, b.Close())
	}
	room, err := d.o.Listen(*c, on.Host, i)
	if err != nil {
		return errors.Join(err, i.Close())
	}
	i.Attach(room)
	d.class = i
	if p := d.o.Projector; p != nil {
		s := NewBoard(BoardOptions{Theme: d.o.Theme, Class: i, Public: true, FlowTitle: d.flowTitle})
		p.Show("Class", s.Content(), s.Focus)
		d.board = Every(boardEvery, s.Refresh)
	}
	d.showBoard()
	return nil
}

const (
	boardEvery   = 200 * time.Millisecond
	stationEvery = 50 * time.Millisecond
)

func (d *Desk) showBoard() {
	d.still()
	i := d.class
	s := NewBoard(BoardOptions{Theme: d.o.Theme, Class: i, FlowTitle: d.flowTitle,
		Open: d.showStation, Choose: d.choose, Order: func() { d.order("everybody", d.showBoard) },
		Go:    func() { d.tell(i.Go(goLead)) },
		Pause: func(on bool) { d.tell(i.Pause(on)) },
		End:   func() { d.tell(i.End()) }, Debrief: d.debrief,
		Close: func() { d.tell(d.Close()); d.Start() }})
	d.o.Stage.Show(i.Class().Name, s.Content(), s.Focus)
	s.Refresh()
	d.stop = Every(boardEvery, s.Refresh)
}

// tell puts an error where the board shows it.
func (d *Desk) tell(err error) {
	if err != nil && d.class != nil {
		d.class.Tell(err.Error())
	}
}

func (d *Desk) choose() {
	d.still()
	s := NewChooser(ChooserOptions{Theme: d.o.Theme, Libraries: d.o.Libraries, Back: d.showBoard,
		Announce: func(s classroom.Situation, m classroom.Mode) {
			_, err := d.class.Announce(s, m)
			d.tell(err)
			if err == nil && m == classroom.OwnPace {
				d.tell(d.class.Go(0))
			}
			d.showBoard()
		}})
	d.o.Stage.Show("Choose a drill", s.Content(), s.Focus)
}

func (d *Desk) order(to string, back func(), at ...classroom.StationID) {
	d.still()
	s := NewOrders(OrderOptions{Theme: d.o.Theme, To: to, Back: back, Give: func(o classroom.Order) {
		d.tell(d.class.Order(o, at...))
		if o.Kind != classroom.OrderSay {
			back()
		}
	}})
	d.o.Stage.Show("To "+to, s.Content(), s.Focus)
}

func (d *Desk) showStation(id classroom.StationID) {
	d.still()
	i := d.class
	drill, _ := i.Drill()
	lib, _ := d.find(drill.Situation)
	r, _ := i.Row(id)
	name := fmt.Sprintf("station %d", r.Number)
	s := NewStation(StationOptions{Theme: d.o.Theme, Library: lib, Drill: drill, Back: d.showBoard,
		Row:   func() (classroom.Row, bool) { return i.Row(id) },
		Order: func() { d.order(name, func() { d.showStation(id) }, id) }})
	d.o.Stage.Show(name, s.Content(), s.Focus)
	s.Refresh()
	d.stop = Every(stationEvery, s.Refresh)
}

func (d *Desk) debrief() {
	drill, ok := d.class.Drill()
	if !ok {
		d.tell(errors.New("there is nothing to debrief yet: choose a drill first"))
		return
	}
	report, runs, left, err := d.class.Report(drill.ID)
	if err != nil {
		d.tell(err)
		return
	}
	d.still()
	s := NewDebrief(DebriefOptions{Theme: d.o.Theme, Title: d.flowTitle(drill.Situation), Report: report, Left: left,
		Signs: d.signs(runs), Back: d.showBoard,
		Replay: func(r classroom.RunID) { d.o.Replay(string(r)) },
		Open:   func(r classroom.RunID) { d.o.Debrief(string(r)) }})
	d.o.Stage.Show("Debrief", s.Content(), s.Focus)
}

func (d *Desk) signs(runs []classroom.Flown) []Sign {
	var out []Sign
	for _, f := range runs {
		r, _ := d.class.Row(f.Station)
		state := string(f.Report.Outcome)
		if f.Report.Unsafe {
			state = "■ unsafe"
		}
		out = append(out, Sign{Run: f.Run, Who: fmt.Sprintf("%d  %s", r.Number, r.Name), State: state,
			Note: fmt.Sprintf("prime %.1f s, %d attempts, %.0f s in all. %s", f.Report.Prime.Seconds(), len(f.Report.Attempts), f.Report.Length.Seconds(), f.Report.Why)})
	}
	return out
}

// aloud chooses a flow for the class with one machine: it needs no network.
func (d *Desk) aloud() {
	d.still()
	s := newPick(d.o.Theme, d.o.Libraries, d.callAloud, d.Start)
	d.o.Stage.Show("One machine", s, func(fyne.Window) {})
}

// callAloud drills a flow aloud. It is kept as a class of its own from the
// first tap on.
func (d *Desk) callAloud(f *procedure.Flow) {
	clock, begun := rehearsal.NewSystem(), time.Now()
	var book *classroom.Book
	var failed bool
	var screen *Aloud
	keep := func(a *classroom.Aloud) {
		var err error
		if book == nil && !failed {
			_, book, err = classroom.NewClass(d.o.Folder, "Aloud: "+f.Title, nil, begun)
		}
		if book != nil {
			err = book.KeepAloud(string(f.ID), begun, a)
		}
		if failed = failed || err != nil; err != nil {
			screen.Warn("This drill is not kept: " + err.Error())
		}
	}
	screen = NewAloud(AloudOptions{Theme: d.o.Theme, Flow: f, Now: clock.Now, Keep: keep, Back: func() {
		if book != nil {
			_ = book.Close() // each tap was kept when it was made
		}
		d.Start()
	}})
	d.o.Stage.Show("One machine", screen.Content(), screen.Focus)
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
