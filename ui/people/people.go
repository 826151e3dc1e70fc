// Package people is the screen on which one says who is flying: somebody new, or
// one of those whom the records name. There a person's records are exported, and
// deleted for good.
//
// Call [New] with what the screen needs from outside; show [Screen.Content].
// Everything belongs to the goroutine of the window.
package people

import (
	"fmt"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
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
	People  func() ([]Person, error)
	Flying  func() string         // the id of who is flying; empty is nobody in particular
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
	list   []Person
	chosen string // a person's id
	rows   *fyne.Container
	name   *control.Entry
	fields [2]fyne.CanvasObject // the entries as they are placed
	role   *control.Choice
	file   *control.Entry
	asked  bool // whether to delete was asked
	said   string
	wrong  bool // what is said is about something that failed
	side   *fyne.Container
	page   *fyne.Container
	window fyne.Window
}

// New makes the screen.
func New(o Options) *Screen {
	s := &Screen{o: o, name: control.NewEntry(""), file: control.NewEntry(""), rows: container.NewVBox(), side: container.NewStack()}
	s.chosen = o.Flying()
	s.name.SetPlaceHolder("Somebody new: their name")
	s.name.OnSubmitted = func(string) { s.add() }
	s.role = control.NewChoice(o.Theme, roles, 0, nil)
	s.fields = [2]fyne.CanvasObject{s.name, s.file}
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

func (s *Screen) build() {
	t := s.o.Theme
	title := control.Text("Who is flying?", control.Title, fonts.WeightBold, t.Ink)
	why := control.Text("Runs from now on are theirs. Names stay in your records, on this machine or your school's server.", control.Label, fonts.WeightRegular, t.Ink2)
	add := control.NewButton(t, "Add", "↵", control.Plain, s.add)
	scroll := container.NewVScroll(s.rows)
	s.page = control.Placed(fyne.NewSize(900, 520), func(size fyne.Size) {
		const edge, gap = 48, 40
		control.PutText(title, edge, 20)
		control.PutText(why, edge, 66)
		left := (size.Width - 2*edge - gap) * .52
		right := size.Width - 2*edge - gap - left
		w := add.MinSize().Width
		control.Put(s.fields[0], edge, 100, left-w-12-230, 44)
		control.Put(s.role, edge+left-w-12-222, 100, 222, 44)
		control.Put(add, edge+left-w, 100, w, 44)
		control.Put(scroll, edge, 160, left, size.Height-176)
		control.Put(s.side, edge+left+gap, 100, right, size.Height-116)
	}, title, why, s.fields[0], s.role, add, scroll, s.side)
}

// read lists everybody anew.
func (s *Screen) read() {
	list, err := s.o.People()
	if err != nil {
		s.say("The people in the records cannot be read: "+err.Error(), true)
	}
	s.list = append([]Person{{Name: "Nobody in particular"}}, list...)
	flying := s.o.Flying()
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
	s.show()
}

func (s *Screen) choose(id string) {
	s.chosen, s.asked, s.said = id, false, ""
	s.read()
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

func (s *Screen) add() {
	id, err := s.o.Add(s.name.Text, roles[s.role.Selected()])
	if err != nil {
		s.say(err.Error(), true)
		s.show()
		return
	}
	s.name.SetText("")
	s.chosen, s.asked = id, false
	s.say("", false)
	if s.role.Selected() == 0 {
		s.fly() // whoever gives a student's name is about to fly
		return
	}
	s.read()
}

func (s *Screen) fly() {
	s.say("", false)
	if err := s.o.Fly(s.chosen); err != nil {
		s.say(err.Error(), true)
	}
	s.read()
}

func (s *Screen) export() {
	if err := s.o.Export(s.chosen, s.file.Text); err != nil {
		s.say(err.Error(), true)
	} else {
		s.say("Written to "+s.file.Text+". It holds names; keep it as you keep them.", false)
	}
	s.show()
}

func (s *Screen) ask(on bool) {
	s.asked = on
	s.show()
}

func (s *Screen) erase() {
	name := s.person().Name
	gone, err := s.o.Erase(s.chosen)
	s.asked = false
	if err != nil {
		s.say("Not deleted: "+err.Error(), true)
		s.show()
		return
	}
	s.chosen = s.o.Flying()
	s.say(fmt.Sprintf("%s is deleted, with %s.", name, gone), false)
	s.read()
}

// show fills the side with the chosen person.
func (s *Screen) show() {
	p := s.person()
	if s.file.Text == "" || !s.asked {
		s.file.SetText(s.o.FileFor(p.Name))
	}
	s.side.Objects = []fyne.CanvasObject{s.about(p)}
	s.side.Refresh()
}

// about is a card with what can be done about somebody.
func (s *Screen) about(p Person) *fyne.Container {
	t := s.o.Theme
	card := &canvas.Rectangle{FillColor: t.Panel, StrokeColor: t.Line, StrokeWidth: 1, CornerRadius: 14}
	name := control.Text(p.Name, 22, fonts.WeightBold, t.Ink)
	text := container.NewWithoutLayout()
	children := []fyne.CanvasObject{card, name, text}
	flies := control.NewButton(t, "Flies from now on", "", control.Primary, s.fly)
	flying := p.ID == s.o.Flying()
	if !flying {
		children = append(children, flies)
	}
	export := control.NewButton(t, "Export", "", control.Plain, s.export)
	erase := control.NewButton(t, "Delete for good…", "", control.Plain, func() { s.ask(true) })
	sure := control.NewButton(t, "Delete for good", "", control.Plain, s.erase)
	keep := control.NewButton(t, "Keep", "", control.Primary, func() { s.ask(false) })
	if p.ID != "" {
		children = append(children, s.fields[1], export)
		if s.asked {
			children = append(children, sure, keep)
		} else {
			children = append(children, erase)
		}
	}
	if s.asked && s.window != nil {
		defer func() { s.window.Canvas().Focus(keep) }()
	}
	return control.Placed(fyne.NewSize(360, 380), func(size fyne.Size) {
		const edge = 24
		w := size.Width - 2*edge
		control.PutText(name, edge, 18)
		text.RemoveAll()
		y := float32(56)
		say := func(words string, ink color.Color) {
			para, h := control.Paragraph(words, 16, fonts.WeightRegular, ink, w)
			para.Move(fyne.NewPos(edge, y))
			text.Add(para)
			y += h + 6
		}
		if flying {
			say(flyingWords(p), t.Ink2)
		} else {
			control.Put(flies, edge, y, w, 48)
			y += 62
		}
		if p.ID != "" {
			y += 8
			say("All that names them, as a file of JSON Lines:", t.Ink2)
			ew := export.MinSize().Width
			control.Put(s.fields[1], edge, y, w-ew-12, 44)
			control.Put(export, edge+w-ew, y, ew, 44)
			y += 64
			if s.asked {
				say(s.warning(p), t.Ink)
				half := (w - 12) / 2
				control.Put(sure, edge, y, half, 48)
				control.Put(keep, edge+half+12, y, half, 48)
				y += 62
			} else {
				control.Put(erase, edge, y, erase.MinSize().Width, 44)
				y += 58
			}
		}
		if s.said != "" {
			ink := t.Ink2
			if s.wrong {
				ink = t.Caution
			}
			say(s.said, ink)
		}
		control.Put(card, 0, 0, size.Width, y+12)
	}, children...)
}

func flyingWords(p Person) string {
	if p.ID == "" {
		return "Runs from now on are kept without a name."
	}
	return "Flying now: runs from now on are kept as theirs."
}

// warning says what goes with a person.
func (s *Screen) warning(p Person) string {
	traces, err := s.o.Traces(p.ID)
	if err != nil {
		return "What would go cannot be counted: " + err.Error()
	}
	return fmt.Sprintf("This deletes %s with %s, for good. Files you exported or backed up before still hold what they hold.", p.Name, traces)
}
