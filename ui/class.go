package ui

import (
	"fyne.io/fyne/v2"

	"kickover/procedure/settings"
	"kickover/ui/classroom"
	"kickover/ui/rehearse"
)

// ClassOptions are what the instructor's desk and the student's place work with.
// The window itself, its theme and its aeroplanes are filled in here.
type ClassOptions struct {
	Desk  classroom.DeskOptions
	Place classroom.PlaceOptions
	First bool  // the window begins with the class
	Join  *Join // the window begins with a student's place, joined so
}

// Join is what a student types.
type Join struct{ Address, Code, Name string }

// class is the part of the window that holds a class: a machine is an
// instructor's desk or a student's place.
type class struct {
	desk  *classroom.Desk
	place *classroom.Place
}

// newClass makes both sides; nothing listens and nothing is dialled yet.
func (s *shell) newClass() *class {
	o := *s.o.Class
	c := &class{}
	o.Desk.Libraries = s.o.Libraries
	o.Desk.Stage, o.Desk.Projector = &stage{shell: s, left: func() { c.desk.Leave() }}, &projector{shell: s}
	o.Desk.Join = func() { c.place.Start() }
	o.Desk.Student = func() bool { return s.o.Settings.Now().Who == settings.Student }
	o.Desk.Review = func(run string, back func()) { s.openWith(run, way{"Back to the sign-off", back}) }
	c.desk = classroom.NewDesk(o.Desk)
	o.Place.Libraries = s.o.Libraries
	o.Place.Stage = &stage{shell: s, left: func() {}}
	o.Place.Back = func() { c.desk.Start() }
	c.place = classroom.NewPlace(o.Place)
	return c
}

// showClass shows the class that is open or that this machine is in, or offers
// both.
func (s *shell) showClass() {
	if s.class == nil {
		s.class = s.newClass()
	}
	s.class.desk.Dress(s.o.Dress, s.units())
	s.class.place.Dress(s.o.Dress, s.units())
	switch join := s.o.Class.Join; {
	case join != nil:
		s.o.Class.Join = nil
		s.class.place.Join(join.Address, join.Code, join.Name)
	case s.class.place.Taken():
		s.class.place.Start()
	default:
		s.class.desk.Start()
	}
}

// classSays is told on the other places while a class is open or this machine is
// in one.
func (s *shell) classSays(where string) string {
	switch {
	case s.class == nil || where == classPlace:
		return ""
	case s.class.place.Taken():
		return "You are in a class: a drill that is announced brings you there."
	case s.class.desk.Opened() != "":
		return s.class.desk.Opened() + " is open: it goes on while you are here."
	}
	return ""
}

// closeClass closes the class that is open, and leaves the one that this machine
// is in. An error is in the class's own log; the window is gone.
func (s *shell) closeClass() {
	if s.class != nil {
		s.class.place.Close()
		_ = s.class.desk.Close()
	}
}

// stage is the window as a class's screens see it.
type stage struct {
	shell *shell
	left  func() // a screen of it is no longer shown
}

// Show implements classroom.Stage.
func (g *stage) Show(_ string, content fyne.CanvasObject, focus func(fyne.Window), back func()) {
	g.shell.page(classPlace, content, focus)
	g.shell.leave, g.shell.back = g.left, back
}

// Fly implements classroom.Stage.
func (g *stage) Fly(cockpit *rehearse.Screen) {
	s := g.shell
	s.end()
	unstamp := func() {}
	s.leave = func() {
		unstamp()
		g.left()
	}
	s.wholly(runScreen, cockpit.Content(), cockpit.Focus)
	s.whenShown(func() {
		// Without an X11 window the toolkit's own stamps are used, up to 17 ms late.
		if stop, err := cockpit.Stamp(s.window); err == nil {
			unstamp = stop
		}
	})
}

// projector is a second window, for the room to look at.
type projector struct {
	shell  *shell
	window fyne.Window // nil while it is closed
	full   bool
}

// Show implements classroom.Projector.
func (p *projector) Show(content fyne.CanvasObject) {
	if p.window == nil {
		w := fyne.CurrentApp().NewWindow("Kickover: for the room")
		w.SetPadded(false)
		w.Resize(fyne.NewSize(960, 600))
		w.SetOnClosed(func() { p.window = nil })
		p.window = w
		p.full = false
		w.SetContent(content)
		p.listen()
		w.Show()
		return
	}
	p.window.SetContent(content)
	p.listen()
}

// listen makes F fill the screen and Escape give it back, wherever the window
// was dragged to. What is shown there has no keys of its own.
func (p *projector) listen() {
	p.window.Canvas().Unfocus()
	p.window.Canvas().SetOnTypedKey(func(e *fyne.KeyEvent) {
		switch e.Name {
		case fyne.KeyF, fyne.KeyF11:
			p.Full(!p.full)
		case fyne.KeyEscape:
			p.Full(false)
		}
	})
}

// Full implements classroom.Projector.
func (p *projector) Full(on bool) {
	if p.window != nil {
		p.full = on
		p.window.SetFullScreen(on)
	}
}

// Open implements classroom.Projector.
func (p *projector) Open() bool { return p.window != nil }

// Close implements classroom.Projector.
func (p *projector) Close() {
	if p.window != nil {
		p.window.Close()
	}
}
