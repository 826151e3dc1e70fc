// Package paper is the screen from which a training record, a card for the knee
// and a strip of throttle marks are printed: what and for whom on the left, the
// page as it will be on the right.
//
// Call [New] with what the screen needs from outside; show [Screen.Content]. The
// pages come from package procedure/paper through [Options.Make]; the picture and
// the file are of the same document. Everything belongs to the goroutine of the
// window.
package paper

import (
	"context"
	"image"
	"io"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/procedure"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Document is what can be printed.
type Document interface {
	Write(io.Writer) error
	Preview(dpi int) ([]image.Image, error)
}

// Person is whose record is printed; the empty id is nobody in particular.
type Person struct{ ID, Name string }

// Run is a run that a record can be made of.
type Run struct{ ID, Words string }

// What can be printed.
const (
	Record = "record"
	Card   = "card"
	Marks  = "marks"
)

// Order says what is to be printed. Fields that a kind has no use for are empty.
type Order struct {
	What               string
	Aircraft           procedure.AircraftID
	Flow               procedure.FlowID
	Sheet              string
	Person, Run        string
	School, Instructor string
	Edge, Unit         string
}

// Options are what the screen needs from outside.
type Options struct {
	Theme       theme.Tokens
	Libraries   []*procedure.Library
	People      []Person
	Instructors []string
	Person      string               // whose record is shown first
	Aircraft    procedure.AircraftID // what is shown first; empty is a card of the first flow
	Flow        procedure.FlowID
	Run         string // the run shown first; empty is the newest
	Unit        string // of a strip of marks, "mm" or "in": the one shown first
	// Runs, Make and Save may wait and take long, and are called from another
	// goroutine than the window's.
	Runs    func(person string, a procedure.AircraftID, f procedure.FlowID) ([]Run, error)
	Make    func(Order) (Document, error)
	Save    func(d Document, file string) error // to a new file
	Show    func(file string) error             // with what the desktop opens it with
	FileFor func(name string) string            // where a file of that name is suggested to go
}

// markUnits are what a strip of marks can be written in.
var markUnits = []string{"mm", "in"}

var kinds = []string{Record, Card, Marks}

// Sheets on which each kind fits, the usual one first.
var sheets = map[string][]string{
	Record: {"A4", "letter"}, Card: {"A5", "half-letter", "A4", "letter"}, Marks: {"A4", "letter"},
}

// Screen is the Paper screen.
type Screen struct {
	o        Options
	making   control.Work // reads what can be chosen, and makes the document
	saving   control.Work
	kind     *control.Choice
	aircraft *control.Picker
	flow     *control.Picker
	sheet    *control.Choice
	person   *control.Picker
	run      *control.Picker
	signer   *control.Picker
	edge     *control.Choice
	unit     *control.Choice
	school   *control.Entry
	file     *control.Entry
	runs     []Run
	flows    []*procedure.Flow
	document Document
	pages    []image.Image
	at       int // page
	saved    string
	said     string
	wrong    bool
	image    *canvas.Image
	content  *fyne.Container
}

// New makes the screen with what is shown first.
func New(o Options) *Screen {
	s := &Screen{o: o, content: container.NewStack(), school: control.NewEntry(""), file: control.NewEntry("")}
	s.image = &canvas.Image{FillMode: canvas.ImageFillContain, ScaleMode: canvas.ImageScaleSmooth}
	t := o.Theme
	first := 1
	if o.Aircraft != "" {
		first = 0
	}
	s.kind = control.NewChoice(t, []string{"Record", "Card", "Marks"}, first, func(int) { s.turn() })
	var names []string
	at := 0
	for i, l := range o.Libraries {
		names = append(names, l.Aircraft.Name)
		if l.Aircraft.ID == o.Aircraft {
			at = i
		}
	}
	s.aircraft = control.NewPicker(t, "Aircraft", names, at, func(int) { s.board(""); s.turn() })
	s.edge = control.NewChoice(t, []string{"Rear edge", "Front edge"}, 0, func(int) { s.draw() })
	s.unit = control.NewChoice(t, []string{"mm", "inch"}, max(0, slices.Index(markUnits, o.Unit)), func(int) { s.draw() })
	var people []string
	at = 0
	for i, p := range o.People {
		people = append(people, p.Name)
		if p.ID == o.Person {
			at = i
		}
	}
	s.person = control.NewPicker(t, "Whose", people, at, func(int) { s.turn() })
	s.signer = control.NewPicker(t, "Instructor", append([]string{"a line to write on"}, o.Instructors...), 0, func(int) { s.draw() })
	s.school.SetPlaceHolder("School or club, for the head")
	s.school.OnChanged = func(string) { s.draw() }
	s.board(o.Flow)
	s.turn()
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.content }

// Close ends what the screen waits for. A file that is being written is written.
func (s *Screen) Close() {
	s.making.Stop()
	s.saving.Stop()
}

// Focus puts the keyboard on what is printed.
func (s *Screen) Focus(w fyne.Window) { w.Canvas().Focus(s.kind) }

// board takes the flows of the chosen aircraft.
func (s *Screen) board(first procedure.FlowID) {
	l := s.o.Libraries[s.aircraft.Selected()]
	s.flows = nil
	var names []string
	at := 0
	for _, f := range l.Flows {
		if !f.Entry {
			continue
		}
		if f.ID == first || first == "" && f.Situation == "cold" {
			at = len(s.flows)
		}
		s.flows = append(s.flows, f)
		names = append(names, f.Title)
	}
	s.flow = control.NewPicker(s.o.Theme, "Flow", names, at, func(int) { s.turn() })
	s.edge.Select(0)
	if c, ok := l.Aircraft.Control(procedure.ControlThrottle); ok && (c.Edge == "front" || c.Edge == "forward") {
		s.edge.Select(1)
	}
}

func (s *Screen) what() string { return kinds[s.kind.Selected()] }

// turn goes to another kind, or to other runs.
func (s *Screen) turn() {
	s.said, s.wrong = "", false
	s.sheet = control.NewChoice(s.o.Theme, sheets[s.what()], 0, func(int) { s.draw() })
	s.document, s.pages, s.at = nil, nil, 0
	if s.what() != Record {
		s.offer(nil, nil)
		return
	}
	who, aircraft, flow := s.whose(), s.o.Libraries[s.aircraft.Selected()].Aircraft.ID, s.flows[s.flow.Selected()].ID
	s.making.Start(func(context.Context, func(string)) func() {
		runs, err := s.o.Runs(who, aircraft, flow)
		return func() { s.offer(runs, err) }
	}, func(string) {
		s.offered(nil)
		s.tell("Reading the runs…")
	})
}

// offer lets one choose among runs, and shows what is chosen.
func (s *Screen) offer(runs []Run, err error) {
	s.offered(runs)
	if err != nil {
		s.said, s.wrong = "The runs cannot be read: "+err.Error(), true
	}
	s.build()
	s.draw()
}

// offered makes the picker of runs.
func (s *Screen) offered(runs []Run) {
	s.runs = runs
	var words []string
	at := 0
	for i, r := range runs {
		words = append(words, r.Words)
		if r.ID == s.o.Run {
			at = i
		}
	}
	s.run = control.NewPicker(s.o.Theme, "Run", words, at, func(int) { s.draw() })
}

func (s *Screen) whose() string {
	if i := s.person.Selected(); i < len(s.o.People) {
		return s.o.People[i].ID
	}
	return ""
}

func (s *Screen) order() Order {
	o := Order{
		What: s.what(), Aircraft: s.o.Libraries[s.aircraft.Selected()].Aircraft.ID, Sheet: sheets[s.what()][s.sheet.Selected()],
	}
	switch o.What {
	case Marks:
		o.Edge, o.Unit = []string{"rear", "front"}[s.edge.Selected()], markUnits[s.unit.Selected()]
		return o
	case Record:
		o.Person, o.School = s.whose(), s.school.Text
		if len(s.runs) > 0 {
			o.Run = s.runs[s.run.Selected()].ID
		}
		if i := s.signer.Selected(); i > 0 {
			o.Instructor = s.o.Instructors[i-1]
		}
	}
	o.Flow = s.flows[s.flow.Selected()].ID
	return o
}
