// Package people is the screen on which one says who is flying: somebody new, or
// one of those whom the records name. There a person's records are exported, and
// deleted for good.
//
// Call [New] with what the screen needs from outside; show [Screen.Content] and call
// [Screen.Close] when another is shown. Everything belongs to the goroutine of the
// window, except what Options ask of the records: that is asked beside it.
package people

import (
	"context"
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Person is somebody whom the records name.
type Person struct{ ID, Name, Role string }

// Options are what the screen needs from outside. Errors are shown as they read.
type Options struct {
	Theme   theme.Tokens
	Changed func()        // who is flying may have changed
	Flying  func() Person // the zero Person is nobody in particular; never waits

	// What follows may wait for a disk or a network, and is called from another
	// goroutine than the window's.
	People  func() ([]Person, error)
	Fly     func(id string) error // who flies from now on
	Add     func(name, role string) (id string, err error)
	Traces  func(id string) (string, error)          // what would go with a person: "50 runs, …"
	Erase   func(id string) (gone string, err error) // deletes a person and all that names them
	Export  func(id, file string) error              // writes what names a person to a new file
	FileFor func(name string) string                 // a file to suggest for that
}

// Roles, in the order in which they are offered.
var roles = []string{"student", "instructor"}

// Screen is the People screen.
type Screen struct {
	o      Options
	work   control.Work
	list   []Person
	chosen string // a person's id
	rows   *fyne.Container
	name   *control.Entry
	role   *control.Choice
	file   *control.Entry
	traces string // what would go with the chosen person; empty while that was not asked
	said   string
	wrong  bool // what is said is about something that failed
	side   *fyne.Container
	page   *fyne.Container
	window fyne.Window
}

// New makes the screen.
func New(o Options) *Screen {
	s := &Screen{o: o, name: control.NewEntry(""), file: control.NewEntry(""), rows: container.NewVBox(), side: container.NewStack()}
	s.chosen = o.Flying().ID
	s.list = []Person{{Name: "Nobody in particular"}}
	s.name.SetPlaceHolder("Somebody new: their name")
	s.name.OnSubmitted = func(string) { s.add() }
	s.role = control.NewChoice(o.Theme, []string{"Student", "Instructor"}, 0, nil)
	s.build()
	s.read()
	return s
}

// Content is what goes below the window's header.
func (s *Screen) Content() fyne.CanvasObject { return s.page }

// Focus puts the keyboard on the name.
func (s *Screen) Focus(w fyne.Window) {
	s.window = w
	w.Canvas().Focus(s.name)
}

// Close ends what the screen waits for. What is being deleted or written is done
// all the same.
func (s *Screen) Close() { s.work.Stop() }

func (s *Screen) build() {
	t := s.o.Theme
	title := control.Text("Who is flying?", control.Title, fonts.WeightBold, t.Ink)
	why := container.NewWithoutLayout()
	add := control.NewButton(t, "Add", "↵", control.Plain, s.add)
	scroll := container.NewVScroll(s.rows)
	s.page = control.Placed(fyne.NewSize(600, 560), func(size fyne.Size) {
		edge, gap, share := float32(48), float32(40), float32(.52)
		if size.Width < 900 {
			edge, gap, share = 24, 20, .44
		}
		whole := size.Width - 2*edge
		control.PutText(title, edge, 20)
		words, high := control.Paragraph("Runs from now on are theirs. Names stay in your records, on this machine or your school's server.",
			control.Label, fonts.WeightRegular, t.Ink2, whole)
		why.Objects = []fyne.CanvasObject{words}
		control.Put(why, edge, 66, whole, high)
		y := 80 + high
		left := (whole - gap) * share
		w := add.MinSize().Width
		line, side := left, y // how wide the line for somebody new is, and where the card begins
		if line-w-12-230 < 240 {
			line, side = whole, y+60
		}
		control.Put(s.name, edge, y, line-w-12-230, 44)
		control.Put(s.role, edge+line-w-12-222, y, 222, 44)
		control.Put(add, edge+line-w, y, w, 44)
		control.Put(scroll, edge, y+60, left, size.Height-y-76)
		control.Put(s.side, edge+left+gap, side, whole-gap-left, size.Height-side-16)
	}, title, why, s.name, s.role, add, scroll, s.side)
}

// do asks the records for something beside the window, and says what is waited for.
// While it goes on nothing else can be asked.
func (s *Screen) do(waiting string, ask func() (show func())) {
	if s.work.Busy() {
		return
	}
	s.work.Start(func(context.Context, func(string)) func() { return ask() }, func(string) {
		s.say(waiting, false)
		s.show()
	})
}

// read lists everybody anew.
func (s *Screen) read() {
	s.do("Reading the records…", func() func() {
		list, err := s.o.People()
		return func() {
			if s.said == "Reading the records…" {
				s.say("", false)
			}
			if err != nil {
				s.say("The people in the records cannot be read: "+err.Error(), true)
			}
			s.list = append([]Person{{Name: "Nobody in particular"}}, list...)
			s.fill()
			s.show()
		}
	})
}

// fill makes the rows of the list.
func (s *Screen) fill() {
	flying := s.o.Flying().ID
	s.rows.RemoveAll()
	for _, p := range s.list {
		end, note := "", p.Role
		if p.ID == flying {
			end = "▶ flying"
		}
		if p.ID == "" {
			note = "for somebody who practises alone"
		}
		row := control.NewRow(s.o.Theme, p.Name, note, end, func() { s.choose(p.ID) })
		row.Choose(p.ID == s.chosen)
		s.rows.Add(row)
	}
	s.rows.Refresh()
}

func (s *Screen) choose(id string) {
	if s.work.Busy() {
		return
	}
	s.chosen, s.traces = id, ""
	s.say("", false)
	s.fill()
	s.show()
}

func (s *Screen) person() Person {
	for _, p := range s.list {
		if p.ID == s.chosen {
			return p
		}
	}
	return s.list[0]
}

func (s *Screen) say(words string, wrong bool) { s.said, s.wrong = words, wrong }

// came shows what came of something: done, or why not.
func (s *Screen) came(err error, done string) {
	s.say(done, false)
	if err != nil {
		s.say(err.Error(), true)
	}
	s.show()
}

func (s *Screen) add() {
	name, role := s.name.Text, roles[s.role.Selected()]
	s.do("Adding "+name+"…", func() func() {
		id, err := s.o.Add(name, role)
		if err == nil && role == roles[0] {
			err = s.o.Fly(id) // whoever gives a student's name is about to fly
		}
		return func() {
			s.came(err, "")
			if id == "" {
				return
			}
			s.name.SetText("")
			s.chosen, s.traces = id, ""
			s.o.Changed()
			s.read()
		}
	})
}

func (s *Screen) fly() {
	id := s.chosen
	s.do("Looking them up…", func() func() {
		err := s.o.Fly(id)
		return func() {
			s.came(err, "")
			s.o.Changed()
			s.fill()
		}
	})
}

func (s *Screen) export() {
	id, file := s.chosen, s.file.Text
	s.do("Writing "+file+"…", func() func() {
		err := s.o.Export(id, file)
		return func() { s.came(err, "Written to "+file+". It holds names; keep it as you keep them.") }
	})
}

// ask counts what would go with the chosen person, and asks whether it shall.
func (s *Screen) ask() {
	id := s.chosen
	s.do("Counting what names them…", func() func() {
		traces, err := s.o.Traces(id)
		return func() {
			s.came(err, "")
			s.traces = traces
			s.show()
		}
	})
}

func (s *Screen) keep() {
	s.traces = ""
	s.show()
}

func (s *Screen) erase() {
	p := s.person()
	s.traces = ""
	s.do("Deleting "+p.Name+" and all that names them. It goes on if you do not wait for it.", func() func() {
		gone, err := s.o.Erase(p.ID)
		return func() {
			if err != nil {
				s.came(fmt.Errorf("not deleted: %w", err), "")
				return
			}
			s.chosen = s.o.Flying().ID
			s.say(fmt.Sprintf("%s is deleted, with %s.", p.Name, gone), false)
			s.o.Changed()
			s.read()
		}
	})
}
