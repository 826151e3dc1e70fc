package classroom

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure/classroom"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// Network is an interface of this machine that a class can be on.
type Network struct {
	Name string // "wlan0"
	Host string // its address
}

// OpenOptions are what the screen that opens a class needs from outside.
type OpenOptions struct {
	Theme    theme.Tokens
	Networks []Network
	Before   []*classroom.Class // that can be opened again
	Said     string             // what is to be told first, as that a class was closed
	// Open opens a class on a network, Reopen one of Before; their errors are
	// shown as they are.
	Open   func(name string, on Network) error
	Reopen func(id string, on Network) error
	Aloud  func() // one machine, no network
	Join   func() // this machine is a student's
}

// Open is where a class is opened or joined.
type Open struct {
	o       OpenOptions
	name    *control.Entry
	network *control.Choice
	problem *message
	content *fyne.Container
}

// NewOpen makes the screen.
func NewOpen(o OpenOptions) *Open {
	t := o.Theme
	s := &Open{o: o, name: control.NewEntry(""), problem: newMessage(t)}
	s.problem.text = o.Said
	s.name.SetPlaceHolder("Tuesday, first hour")
	s.name.OnSubmitted = func(string) { s.open() }
	title := control.Text("A class", control.Title, fonts.WeightBold, t.Ink)
	h1, h2 := control.Heading("YOU TEACH: NAME A NEW CLASS", t), control.Heading("THE NETWORK IT IS ON; IT LISTENS ON NO OTHER", t)
	h3, h4 := control.Heading("YOU ARE A STUDENT", t), control.Heading("OR OPEN ONE AGAIN", t)
	var names []string
	for _, n := range o.Networks {
		names = append(names, n.Host+" ("+n.Name+")")
	}
	children := []fyne.CanvasObject{title, h1, h2, h3, h4, s.name, s.problem.box}
	if len(names) > 0 {
		s.network = control.NewChoice(t, names, 0, nil)
		children = append(children, s.network)
	} else {
		h2.Text = ""
		s.problem.text = "This machine is on no network, so no class can be opened on one. A class with one machine works all the same."
	}
	open := control.NewButton(t, "Open the class", "↵", control.Primary, s.open)
	open.Disable(len(names) == 0)
	aloud := control.NewButton(t, "One machine only", "", control.Plain, o.Aloud)
	join := control.NewButton(t, "Join a class", "", control.Plain, o.Join)
	var rows []fyne.CanvasObject
	for _, c := range o.Before {
		rows = append(rows, control.NewRow(t, c.Name, "Opened "+c.Opened.Local().Format("2 January 2006, 15:04"), "", func() {
			on, _ := s.on()
			s.say(o.Reopen(c.ID, on))
		}))
	}
	if len(rows) == 0 {
		h4.Text = ""
	}
	list := container.NewVScroll(container.NewVBox(rows...))
	children = append(children, open, aloud, join, list)
	s.content = control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const edge, gap = 48, 40
		w := (z.Width - 2*edge - gap) / 2
		x2 := float32(edge) + w + gap
		control.PutText(title, edge, 24)
		control.PutText(h1, edge, 92)
		control.Put(s.name, edge, 112, w, 44)
		control.PutText(h2, edge, 184)
		if s.network != nil {
			control.Put(s.network, edge, 206, w, 46)
		}
		control.Put(open, edge, 284, 240, 56)
		control.Put(aloud, edge+252, 289, aloud.MinSize().Width, 46)
		s.problem.put(edge, 360, w)
		control.PutText(h3, x2, 92)
		control.Put(join, x2, 114, 200, 56)
		control.PutText(h4, x2, 206)
		control.Put(list, x2, 230, w, z.Height-230-24)
	}, children...)
	return s
}

// Content is what goes below the window's header.
func (s *Open) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the name.
func (s *Open) Focus(w fyne.Window) { w.Canvas().Focus(s.name) }

func (s *Open) on() (Network, bool) {
	if s.network == nil {
		return Network{}, false
	}
	return s.o.Networks[s.network.Selected()], true
}

func (s *Open) open() {
	on, ok := s.on()
	if !ok {
		return
	}
	s.say(s.o.Open(s.name.Text, on))
}

func (s *Open) say(err error) {
	s.problem.text = ""
	if err != nil {
		s.problem.text = sentence(err.Error())
	}
	s.content.Refresh()
}
