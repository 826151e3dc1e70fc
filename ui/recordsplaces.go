package ui

import (
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
	People  func() ([]people.Person, error)
	Flying  func() string         // the id of who is flying, empty for nobody in particular
	Fly     func(id string) error // says who flies from now on
	Add     func(name, role string) (id string, err error)
	Traces  func(id string) (string, error)
	Erase   func(id string) (gone string, err error)
	Export  func(id, file string) error
	FileFor func(name string) string

	Flown func(person string) ([]progress.Flow, error)
	Look  func(person string, f progress.Flow) (progress.Look, error)

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

// everybody lists people, after nobody in particular.
func (s *shell) everybody() []progress.Person {
	out := []progress.Person{{Name: "Nobody in particular"}}
	list, err := s.o.Records.People()
	if err != nil {
		return out // whoever looks at runs meets the same trouble, and says it
	}
	for _, p := range list {
		out = append(out, progress.Person{ID: p.ID, Name: p.Name})
	}
	return out
}

func (s *shell) showProgress() {
	screen := progress.New(progress.Options{
		Theme: s.o.Dress, People: s.everybody(), Person: s.o.Records.Flying(),
		Flown: s.o.Records.Flown, Look: s.o.Records.Look, Begin: s.beginSuggested,
		Print: func(person string, f progress.Flow) { s.printOf(person, f, "") },
	})
	s.page("Progress", screen.Content(), screen.Focus)
}

func (s *shell) showPaper() { s.printOf(s.o.Records.Flying(), progress.Flow{}, "") }

// printOf shows paper, with a record of a person's flow or run first where one is
// given.
func (s *shell) printOf(person string, f progress.Flow, run string) {
	o := paper.Options{
		Theme: s.o.Dress, Libraries: s.o.Libraries, Person: person, Aircraft: f.Aircraft, Flow: f.Flow, Run: run,
		Runs: func(person string, a procedure.AircraftID, f procedure.FlowID) ([]paper.Run, error) {
			return s.o.Records.Runs(person, progress.Flow{Aircraft: a, Flow: f})
		},
		Make: s.o.Records.Make, Save: s.o.Records.Save, FileFor: s.o.Records.FileFor, Show: openFile,
	}
	for _, p := range s.everybody() {
		o.People = append(o.People, paper.Person(p))
	}
	if list, err := s.o.Records.People(); err == nil {
		for _, p := range list {
			if p.Role == "instructor" {
				o.Instructors = append(o.Instructors, p.Name)
			}
		}
	}
	screen := paper.New(o)
	s.page("Paper", screen.Content(), screen.Focus)
}

func (s *shell) showPeople() {
	r := s.o.Records
	screen := people.New(people.Options{
		Theme: s.o.Dress, People: r.People, Flying: r.Flying,
		Fly: func(id string) error {
			err := r.Fly(id)
			s.header.flying(s.nameOf(id))
			return err
		},
		Add: r.Add, Traces: r.Traces, Export: r.Export, FileFor: r.FileFor,
		Erase: func(id string) (string, error) {
			gone, err := r.Erase(id)
			s.header.flying(s.nameOf(r.Flying()))
			return gone, err
		},
	})
	s.page(peopleScreen, screen.Content(), screen.Focus)
}

// nameOf is a person's name as the header shows it.
func (s *shell) nameOf(id string) string {
	if id == "" || s.o.Records.People == nil {
		return ""
	}
	list, err := s.o.Records.People()
	if err != nil {
		return ""
	}
	for _, p := range list {
		if p.ID == id {
			return p.Name
		}
	}
	return ""
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

// fileRun offers to sign a run and to print its record, where somebody flew it and
// it is in the records.
func (s *shell) fileRun(d review.Debriefing, o *review.Options) {
	if d.ID == "" || d.Phase != procedure.Perform && d.Phase != procedure.Evaluate {
		return
	}
	about, err := s.o.Records.About(d.ID)
	if err != nil || !about.Finished {
		return // it is not in the records, which the debrief's own notice says
	}
	o.Print = func() { s.printOf(about.Person, about.Flow, d.ID) }
	o.Sign = &review.Signing{
		Student: about.Student, Signed: about.Signed,
		Sign: func(instructor, remarks string) error { return s.o.Records.Sign(d.ID, instructor, remarks) },
	}
}
