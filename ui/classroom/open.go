package classroom

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
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
	Port int    // that was chosen; 0 is the usual, or the class's own
	// Chosen is that somebody did: else it stands there as the likeliest.
	Chosen bool
}

// OpenOptions are what the screen that opens a class needs from outside.
type OpenOptions struct {
	Theme    theme.Tokens
	Networks []Network
	Before   []*classroom.Class // that can be opened again
	Said     string             // what is to be told first, as that a class was closed
	Called   string             // what a class is called whose name is not typed, as the day and hour
	// Open opens a class on a network, Reopen one of Before; their errors are
	// shown as they are.
	Open   func(name string, on Network) error
	Reopen func(id string, on Network) error
	Aloud  func() // one machine, no network
	Join   func() // this machine is a student's
	// Student has joining come first, for whoever said to be one.
	Student bool
	// School is the file of a school's own servers that is used, empty for none;
	// UseSchool takes another, or none. nil does not offer it.
	School    string
	UseSchool func(file string) error
}

// Open is where a class is opened or joined.
type Open struct {
	o       OpenOptions
	name    *control.Entry
	network *control.Choice // nil without a network
	chosen  bool            // it was touched
	port    *control.Entry  // another than the usual, once that could not be had
	ported  *canvas.Text
	school  *control.Entry
	aloud   *control.Button
	join    *control.Button
	problem *message
	content *fyne.Container
}

// NewOpen makes the screen.
func NewOpen(o OpenOptions) *Open {
	s := &Open{o: o, name: control.NewEntry(o.Called), school: control.NewEntry("school.json, with its folder"), problem: newMessage(o.Theme),
		port: control.NewEntry(""), ported: control.Heading("PORT", o.Theme)}
	s.problem.text, s.problem.colour = o.Said, o.Theme.Ink // news, and not yet a problem
	s.port.OnSubmitted = func(string) { s.open() }
	s.port.Hide()
	s.ported.Hide()
	s.name.OnSubmitted = func(string) { s.open() }
	title := control.Text("A class", control.Title, fonts.WeightBold, o.Theme.Ink)
	teach, student, school := s.teach(), s.student(), s.servers()
	children := append([]fyne.CanvasObject{title}, teach.children...)
	children = append(append(children, student.children...), school.children...)
	s.content = control.Placed(fyne.NewSize(640, 560), func(z fyne.Size) {
		edge, gap, share := float32(48), float32(40), float32(.5)
		if z.Width < 900 {
			edge, gap, share = 24, 24, .62 // most of it is the instructor's
		}
		w := (z.Width - 2*edge - gap) * share
		control.PutText(title, edge, 24)
		teach.place(edge, 92, w, z.Height)
		student.place(edge+w+gap, 92, z.Width-2*edge-gap-w, z.Height)
		school.place(edge, z.Height-100, max(w, min(560, z.Width-2*edge)), z.Height)
	}, children...)
	return s
}

// teach is where an instructor names a class and opens it.
func (s *Open) teach() region {
	t := s.o.Theme
	h1, h2 := control.Heading("YOU TEACH: A NEW CLASS, AND WHAT IT IS CALLED", t), control.Heading("THE NETWORK IT IS ON; IT LISTENS ON NO OTHER", t)
	var names []string
	for _, n := range s.o.Networks {
		names = append(names, n.Host+" ("+n.Name+")")
	}
	first, key, emphasis := control.Primary, "↵", control.Plain
	switch {
	case s.o.Student:
		first, key = control.Plain, ""
	case len(names) == 0: // it is all that there is to do here
		emphasis = control.Primary
	}
	open := control.NewButton(t, "Open the class", key, first, s.open)
	open.Disable(len(names) == 0)
	aloud := control.NewButton(t, "One machine only", "", emphasis, s.o.Aloud)
	s.aloud = aloud
	children := []fyne.CanvasObject{h1, h2, s.name}
	switch {
	case len(names) > 0:
		s.network = control.NewChoice(t, names, 0, func(int) { s.chosen = true })
		children = append(children, s.network, s.ported, s.port)
		if s.o.School != "" {
			h2.Text = "ON THE SCHOOL'S SERVERS; NOTHING LISTENS HERE"
		}
	default:
		h2.Text = ""
		s.problem.text = "This machine is on no network, so no class can be opened on one. A class with one machine works all the same."
	}
	return region{append(children, open, aloud, s.problem.box), func(x, y, w, _ float32) {
		control.PutText(h1, x, y)
		control.Put(s.name, x, y+20, w, 44)
		control.PutText(h2, x, y+92)
		if s.network != nil {
			wide := w
			if s.port.Visible() {
				const port = 110
				wide -= port + 12
				control.PutText(s.ported, x+w-port, y+92)
				control.Put(s.port, x+w-port, y+114, port, 46)
			}
			control.Put(s.network, x, y+114, wide, 46)
		}
		control.Put(open, x, y+192, min(240, w-aloud.MinSize().Width-12), 56)
		control.Put(aloud, x+min(252, w-aloud.MinSize().Width), y+197, aloud.MinSize().Width, 46)
		s.problem.put(x, y+268, w)
	}}
}

// student is the way of a student, and below it the classes that were held here.
func (s *Open) student() region {
	t := s.o.Theme
	h1, h2 := control.Heading("YOU ARE A STUDENT", t), control.Heading("OR OPEN ONE AGAIN", t)
	emphasis, key := control.Plain, ""
	if s.o.Student {
		emphasis, key = control.Primary, "↵"
	}
	s.join = control.NewButton(t, "Join a class", key, emphasis, s.o.Join)
	box := container.NewVBox()
	for _, c := range s.o.Before {
		box.Add(control.NewRow(t, c.Name, "Opened "+c.Opened.Local().Format("2 January 2006, 15:04"), "", func() {
			on, _, err := s.on()
			if err == nil {
				err = s.o.Reopen(c.ID, on)
			}
			s.say(err)
		}))
	}
	if len(s.o.Before) == 0 {
		h2.Text = ""
	}
	list := container.NewVScroll(box)
	return region{[]fyne.CanvasObject{h1, h2, s.join, list}, func(x, y, w, foot float32) {
		control.PutText(h1, x, y)
		control.Put(s.join, x, y+22, 200, 56)
		control.PutText(h2, x, y+114)
		control.Put(list, x, y+138, w, foot-y-138-24)
	}}
}

// servers is where a school's own servers are chosen, for who was given the file.
func (s *Open) servers() region {
	if s.o.UseSchool == nil {
		return region{place: func(_, _, _, _ float32) {}}
	}
	t := s.o.Theme
	var head *canvas.Text
	take := control.NewButton(t, "Use this file", "", control.Quiet, s.useSchool)
	children := []fyne.CanvasObject{s.school, take}
	if s.o.School == "" {
		head = control.Heading("DOES YOUR SCHOOL HAVE SERVERS OF ITS OWN? THE FILE THAT TELLS OF THEM", t)
		s.school.OnSubmitted = func(string) { s.useSchool() }
	} else {
		head = control.Heading("THE SCHOOL'S SERVERS, AS THIS FILE TELLS", t)
		s.school.SetText(s.o.School)
		s.school.Disable()
		take = control.NewButton(t, "Without them", "", control.Quiet, func() { s.say(s.o.UseSchool("")) })
		children[1] = take
	}
	return region{append(children, head), func(x, y, w, _ float32) {
		bw := take.MinSize().Width
		control.PutText(head, x, y)
		control.Put(s.school, x, y+20, w-bw-12, 44)
		control.Put(take, x+w-bw, y+19, bw, 46)
	}}
}

func (s *Open) useSchool() {
	if s.school.Text != "" {
		s.say(s.o.UseSchool(s.school.Text))
	}
}

// Content is what goes below the window's header.
func (s *Open) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the name, without a network on what works all the same.
func (s *Open) Focus(w fyne.Window) {
	switch {
	case s.o.Student:
		w.Canvas().Focus(s.join)
	case s.network == nil:
		w.Canvas().Focus(s.aloud)
	default:
		w.Canvas().Focus(s.name)
	}
}

// on is the network that was chosen, false without any.
func (s *Open) on() (on Network, ok bool, err error) {
	if s.network == nil {
		return Network{}, false, nil
	}
	on = s.o.Networks[s.network.Selected()]
	on.Chosen = s.chosen
	if s.port.Visible() {
		if on.Port, err = strconv.Atoi(strings.TrimSpace(s.port.Text)); err != nil || on.Port < 1 || on.Port > math.MaxUint16 {
			return on, true, fmt.Errorf("%q is no port: type a number from 1 to %d", s.port.Text, math.MaxUint16)
		}
	}
	return on, true, nil
}

func (s *Open) open() {
	on, ok, err := s.on()
	if !ok {
		return
	}
	if err == nil {
		err = s.o.Open(cmp.Or(strings.TrimSpace(s.name.Text), s.o.Called), on)
	}
	s.say(err)
}

func (s *Open) say(err error) {
	s.problem.text, s.problem.colour = "", s.o.Theme.Caution
	var port *classroom.PortError
	switch {
	case errors.As(err, &port) && port.Taken:
		s.offerPort(port)
		s.problem.text = sentence(port.Error()) + " Close that one, or open the class at the port that stands above now: it belongs to the address, and students type both."
	case err != nil:
		s.problem.text = sentence(err.Error())
	}
	s.content.Refresh()
}

// offerPort has another port chosen in place of one that is taken.
func (s *Open) offerPort(e *classroom.PortError) {
	s.port.Show()
	s.ported.Show()
	s.port.SetText(e.Port)
	if e.Free != 0 {
		s.port.SetText(strconv.Itoa(e.Free))
	}
}
