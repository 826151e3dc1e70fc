package ui

import (
	"context"
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/practice"
	"kickover/procedure/rehearsal"
	"kickover/ui/home"
	"kickover/ui/paper"
	"kickover/ui/people"
	"kickover/ui/progress"
	"kickover/ui/review"
	"kickover/ui/runs"
)

// Records is what the window does with people, with many runs and with paper.
type Records struct {
	Flying  func() people.Person // who is flying, the zero Person for nobody in particular; never waits
	FileFor func(name string) string

	// What follows may wait for a disk or a network, and is not called on the
	// window's goroutine.
	People func() ([]people.Person, error)
	Fly    func(id string) error // says who flies from now on
	Add    func(name, role string) (id string, err error)
	Traces func(id string) (string, error)
	Erase  func(id string) (gone string, err error)
	Export func(id, file string) error

	Flown func(person string) ([]progress.Flow, error)
	Look  func(ctx context.Context, person string, f progress.Flow, news func(string)) (progress.Look, error)

	Runs func(person string, f progress.Flow) ([]paper.Run, error)
	Make func(paper.Order) (paper.Document, error)
	Save func(d paper.Document, file string) error

	Real  func() ([]runs.Real, error) // starts of a real engine that the timer kept
	About func(run string) (About, error)
	Sign  func(run, instructor, remarks string) error // keeps an instructor's word on a run
}

// About says whose a run is and of what.
type About struct {
	Person   string // id, empty when it is nobody's
	Student  string // their name
	Flow     progress.Flow
	Signed   string // what was last signed of it, in a sentence; empty for nothing
	Finished bool
}

// withPeople reads who is in the records, and then shows something that names them.
// Where they cannot be read nobody is offered: whoever looks at runs meets the same
// trouble, and says it.
func (s *shell) withPeople(show func([]people.Person)) {
	s.while("Reading the records…", func() func() {
		list, _ := s.o.Records.People()
		return func() { show(list) }
	})
}

// nobody stands for whoever practises alone.
const nobody = "Nobody in particular"

func (s *shell) showProgress() {
	s.withPeople(func(list []people.Person) {
		o := progress.Options{
			Theme: s.o.Dress, People: []progress.Person{{Name: nobody}}, Person: s.o.Records.Flying().ID,
			Flown: s.o.Records.Flown, Look: s.o.Records.Look, Begin: s.beginSuggested,
			Print: func(person string, f progress.Flow) { s.printOf(person, f, "") },
		}
		for _, p := range list {
			o.People = append(o.People, progress.Person{ID: p.ID, Name: p.Name})
		}
		screen := progress.New(o)
		s.page("Progress", screen.Content(), screen.Focus)
		s.leave = screen.Close
	})
}

func (s *shell) showPaper() { s.printOf(s.o.Records.Flying().ID, progress.Flow{}, "") }

// printOf shows paper, with a record of a person's flow or run first where one is
// given.
func (s *shell) printOf(person string, f progress.Flow, run string) {
	s.withPeople(func(list []people.Person) {
		o := paper.Options{
			Theme: s.o.Dress, Libraries: s.o.Libraries, People: []paper.Person{{Name: nobody}}, Person: person,
			Aircraft: f.Aircraft, Flow: f.Flow, Run: run, Unit: s.units().Lever,
			Runs: func(person string, a procedure.AircraftID, f procedure.FlowID) ([]paper.Run, error) {
				return s.o.Records.Runs(person, progress.Flow{Aircraft: a, Flow: f})
			},
			Make: s.o.Records.Make, Save: s.o.Records.Save, FileFor: s.o.Records.FileFor, Show: openFile,
		}
		for _, p := range list {
			o.People = append(o.People, paper.Person{ID: p.ID, Name: p.Name})
			if p.Role == "instructor" {
				o.Instructors = append(o.Instructors, p.Name)
			}
		}
		screen := paper.New(o)
		s.page("Paper", screen.Content(), screen.Focus)
		s.leave = screen.Close
	})
}

func (s *shell) showPeople() {
	r := s.o.Records
	screen := people.New(people.Options{
		Theme: s.o.Dress, People: r.People, Flying: r.Flying, Fly: r.Fly,
		Add: r.Add, Traces: r.Traces, Erase: r.Erase, Export: r.Export, FileFor: r.FileFor,
		Changed: func() { s.header.flying(r.Flying().Name) },
	})
	s.page(peopleScreen, screen.Content(), screen.Focus)
	s.leave = screen.Close
}

// beginSuggested flies what is to be practised next, on a day that goes with it.
func (s *shell) beginSuggested(n practice.Suggestion) {
	for _, l := range s.o.Libraries {
		f, ok := l.Flow(n.Flow)
		if l.Aircraft.ID != n.Aircraft || !ok {
			continue
		}
		since := 12 * time.Hour
		switch f.Situation {
		case "warm":
			since = 45 * time.Minute
		case "hot":
			since = 20 * time.Minute
		}
		s.begin(home.Chosen{
			Library: l, Flow: n.Flow, Phase: n.Phase,
			Conditions: rehearsal.Conditions{OATCelsius: 10, PressureAltM: 120, SinceShutdown: since, BatteryCharge: .88},
		})
		return
	}
	s.showHome() // the flow is gone: choose another
}

// openFile shows a file with what the desktop opens it with.
func openFile(path string) error {
	u, err := fileURL(path)
	if err != nil {
		return err
	}
	return fyne.CurrentApp().OpenURL(u)
}

// filed says of a run that was flown by somebody what the records say; false where
// it is not in them, which the debrief's own notice says. It may wait for a disk.
func (s *shell) filed(d review.Debriefing) (About, bool) {
	if d.ID == "" || d.Phase != procedure.Perform && d.Phase != procedure.Evaluate {
		return About{}, false
	}
	about, err := s.o.Records.About(d.ID)
	return about, err == nil && about.Finished
}

// fileRun offers to sign a run and to print its record.
func (s *shell) fileRun(d review.Debriefing, about About, o *review.Options) {
	o.Print = func() { s.printOf(about.Person, about.Flow, d.ID) }
	o.Sign = &review.Signing{
		Student: about.Student, Signed: about.Signed,
		Sign: func(instructor, remarks string) error { return s.o.Records.Sign(d.ID, instructor, remarks) },
	}
}
