package classroom

import (
	"errors"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure/classroom"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// JoinOptions are what the student's screen of joining needs from outside.
type JoinOptions struct {
	Theme theme.Tokens
	// Before are classes that this machine was in.
	Before []classroom.Identity
	// Join takes a place; its error is shown as it is.
	Join   func(address string, code classroom.JoinCode, name string) error
	Return func(classroom.Identity) error
	// Look listens for classes on this network, for a while; nil does not. What
	// it hears of is as good as what is typed: the check words tell.
	Look func() []Nearby
	Back func()
}

// Nearby is a class that announced itself on this network.
type Nearby struct{ Name, Address string }

var errNoAddress = errors.New("type the address as the projector shows it")

// Join is where a student joins a class.
type Join struct {
	o       JoinOptions
	address *control.Entry
	code    *control.Entry
	name    *control.Entry
	problem *message
	heard   *canvas.Text // heads found
	found   *fyne.Container
	content *fyne.Container
}

// NewJoin makes the screen.
func NewJoin(o JoinOptions) *Join {
	t := o.Theme
	s := &Join{o: o, address: control.NewEntry("192.168.1.20:4477"), code: control.NewEntry("482 913 and three words"),
		name: control.NewEntry("Your name, or the number of your place"), problem: newMessage(t)}
	s.name.OnSubmitted = func(string) { s.join() }
	s.code.OnSubmitted = func(string) { s.join() }
	title := control.Text("Join a class", control.Title, fonts.WeightBold, t.Ink)
	note := control.Text("Address and code are on the projector. Your name stays on the class's machines.", control.Label, fonts.WeightRegular, t.Ink2)
	fields, before, near := s.fields(), s.before(), s.near()
	children := append([]fyne.CanvasObject{title, note}, fields.children...)
	children = append(append(children, near.children...), before.children...)
	s.content = control.Placed(fyne.NewSize(640, 560), func(z fyne.Size) {
		const edge = 48
		w := min(z.Width-2*edge, 640)
		control.PutText(title, edge, 24)
		control.PutText(note, edge, 72)
		fields.place(edge, 116, w, z.Height)
		before.place(edge, 504, w, z.Height)
		near.place(edge+w+40, 116, max(0, z.Width-2*edge-w-40), z.Height)
	}, children...)
	if o.Look != nil {
		go func() {
			near := o.Look()
			fyne.Do(func() { s.offer(near) })
		}()
	}
	return s
}

// fields are what is typed, and what is wrong with it.
func (s *Join) fields() region {
	t := s.o.Theme
	join := control.NewButton(t, "Join", "↵", control.Primary, s.join)
	back := control.NewButton(t, "Back", "", control.Quiet, s.o.Back)
	labels := []*canvas.Text{control.Heading("ADDRESS", t), control.Heading("CODE", t), control.Heading("NAME OR PLACE", t)}
	entries := []*control.Entry{s.address, s.code, s.name}
	children := []fyne.CanvasObject{join, back, s.problem.box}
	for i := range labels {
		children = append(children, labels[i], entries[i])
	}
	return region{children, func(x, y, w, _ float32) {
		for i := range labels {
			control.PutText(labels[i], x, y)
			control.Put(entries[i], x, y+20, w, 44)
			y += 88
		}
		control.Put(join, x, y+4, 180, 52)
		control.Put(back, x+196, y+7, 110, 46)
		s.problem.put(x, y+68, w)
	}}
}

// before are classes that this machine was in.
func (s *Join) before() region {
	var rows []fyne.CanvasObject
	for _, id := range s.o.Before[:min(3, len(s.o.Before))] {
		rows = append(rows, control.NewRow(s.o.Theme, "Back to "+id.Class, "Joined "+id.Joined.Local().Format("2 January, 15:04")+" at "+id.Address, "no code needed", func() { s.say(s.o.Return(id)) }))
	}
	return region{rows, func(x, y, w, _ float32) {
		for i, r := range rows {
			control.Put(r, x, y+74*float32(i), w, 64)
		}
	}}
}

// near are classes that were heard of.
func (s *Join) near() region {
	s.heard, s.found = control.Heading("ON THIS NETWORK", s.o.Theme), container.NewVBox()
	s.heard.Hide()
	list := container.NewVScroll(s.found)
	return region{[]fyne.CanvasObject{s.heard, list}, func(x, y, w, foot float32) {
		control.PutText(s.heard, x, y)
		control.Put(list, x, y+22, w, foot-y-22-24)
	}}
}

// offer lists classes that were heard of; one that is pressed fills in its address.
func (s *Join) offer(near []Nearby) {
	s.found.Objects = nil
	for _, c := range near {
		s.found.Add(control.NewRow(s.o.Theme, c.Name, c.Address, "", func() { s.address.SetText(c.Address) }))
	}
	s.heard.Hidden = len(near) == 0
	s.content.Refresh()
}

// Content is what goes below the window's header.
func (s *Join) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the first field that is empty.
func (s *Join) Focus(w fyne.Window) {
	for _, e := range []*control.Entry{s.address, s.code, s.name} {
		if e.Text == "" {
			w.Canvas().Focus(e)
			return
		}
	}
	w.Canvas().Focus(s.code)
}

// fill puts in what is known already, and says what was wrong with it.
func (s *Join) fill(t typed, problem error) {
	s.address.SetText(t.address)
	s.code.SetText(t.code)
	s.name.SetText(t.name)
	s.say(problem)
}

func (s *Join) join() {
	code, err := classroom.ParseJoinCode(s.code.Text)
	switch {
	case s.address.Text == "":
		s.say(errNoAddress)
		return
	case err == nil:
		err = s.o.Join(s.address.Text, code, s.name.Text)
	}
	s.say(err)
}

func (s *Join) say(err error) {
	s.problem.text = ""
	if err != nil {
		s.problem.text = sentence(err.Error())
	}
	s.content.Refresh()
}
