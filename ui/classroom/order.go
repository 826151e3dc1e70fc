package classroom

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/powerplant"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// OrderOptions are what the screen of orders needs from outside.
type OrderOptions struct {
	Theme theme.Tokens
	To    string // "everybody", "station 4"
	Give  func(classroom.Order)
	// Told says who has what was given last, or, refused, why it was not given; empty
	// for nothing.
	Told func() (words string, refused bool)
	Back func()
}

// Orders is where the instructor makes something happen, at one station or at
// all: it is not for the projector.
type Orders struct {
	o       OrderOptions
	content *fyne.Container
	line    *control.Entry
	told    *message
}

// walkers are the thirds of the propeller's area, and who walks into them.
var walkers = []struct{ sector, name, who string }{
	{procedure.LookLeft, "Left", "a refueller walks in"},
	{procedure.LookAhead, "Ahead", "a passenger walks back"},
	{procedure.LookRight, "Right", "a student walks past"},
}

// NewOrders makes the screen. Call Refresh a few times a second.
func NewOrders(o OrderOptions) *Orders {
	t := o.Theme
	s := &Orders{o: o, line: control.NewEntry("A line to be spoken there"), told: newMessage(o.Theme)}
	s.told.colour, s.told.size = t.Ink, control.Body
	s.line.OnSubmitted = func(string) { s.say() }
	title := control.Text("To "+o.To, control.Title, fonts.WeightBold, t.Ink)
	note := control.Text("Not for the projector.", control.Label, fonts.WeightRegular, t.Caution)
	faults, walks, words, run := s.faults(), s.walks(), s.words(), s.run()
	children := []fyne.CanvasObject{title, note, s.told.box}
	for _, r := range []region{faults, walks, words, run} {
		children = append(children, r.children...)
	}
	s.content = control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const edge, gap = 40, 28
		w := (z.Width - 2*edge - gap) / 2
		x2 := float32(edge) + w + gap
		control.PutText(title, edge, 18)
		control.PutText(note, x2, 32)
		faults.place(edge, 80, w, z.Height)
		walks.place(x2, 80, w, z.Height)
		words.place(x2, 282, w, z.Height)
		s.told.put(x2, 370, w)
		run.place(x2, z.Height-136, w, z.Height)
	}, children...)
	return s
}

// order is a button that gives an order.
func (s *Orders) order(text string, o classroom.Order) *control.Button {
	return control.NewButton(s.o.Theme, text, "", control.Plain, func() { s.o.Give(o) })
}

func (s *Orders) faults() region {
	head := control.Heading("SOMETHING GOES WRONG, NOW", s.o.Theme)
	box := container.NewVBox()
	for _, f := range powerplant.Faults() {
		box.Add(control.NewRow(s.o.Theme, f.Name, f.Signs, "", func() { s.o.Give(classroom.Order{Kind: classroom.OrderFault, Fault: f.Fault}) }))
	}
	list := container.NewVScroll(box)
	return region{[]fyne.CanvasObject{head, list}, func(x, y, w, foot float32) {
		control.PutText(head, x, y)
		control.Put(list, x, y+24, w, foot-y-24-24)
	}}
}

func (s *Orders) walks() region {
	head := control.Heading("SOMEBODY WALKS IN", s.o.Theme)
	var in, out []*control.Button
	children := []fyne.CanvasObject{head}
	for _, w := range walkers {
		in = append(in, s.order(w.name+": "+w.who, classroom.Order{Kind: classroom.OrderWalk, Sector: w.sector, Text: w.who}))
		out = append(out, s.order("and out", classroom.Order{Kind: classroom.OrderWalk, Sector: w.sector, Gone: true}))
		children = append(children, in[len(in)-1], out[len(out)-1])
	}
	return region{children, func(x, y, w, _ float32) {
		control.PutText(head, x, y)
		for i := range in {
			control.Put(in[i], x, y+24+54*float32(i), w-120, 46)
			control.Put(out[i], x+w-110, y+24+54*float32(i), 110, 46)
		}
	}}
}

func (s *Orders) words() region {
	head := control.Heading("SAY", s.o.Theme)
	speak := control.NewButton(s.o.Theme, "Say it", "↵", control.Plain, s.say)
	return region{[]fyne.CanvasObject{head, s.line, speak}, func(x, y, w, _ float32) {
		control.PutText(head, x, y)
		control.Put(s.line, x, y+24, w-130, 44)
		control.Put(speak, x+w-120, y+22, 120, 44)
	}}
}

func (s *Orders) say() {
	if s.line.Text != "" {
		s.o.Give(classroom.Order{Kind: classroom.OrderSay, Text: s.line.Text})
		s.line.SetText("")
	}
}

// run is what becomes of the run as a whole, and the way back.
func (s *Orders) run() region {
	all := []*control.Button{s.order("Pause", classroom.Order{Kind: classroom.OrderPause}), s.order("Go on", classroom.Order{Kind: classroom.OrderGo}),
		s.order("End the run", classroom.Order{Kind: classroom.OrderEnd})}
	back := control.NewButton(s.o.Theme, "Back", "", control.Primary, s.o.Back)
	return region{[]fyne.CanvasObject{all[0], all[1], all[2], back}, func(x, y, w, _ float32) {
		third := (w - 20) / 3
		for i, b := range all {
			control.Put(b, x+float32(i)*(third+10), y, third, 46)
		}
		control.Put(back, x, y+60, w, 52)
	}}
}

// Content is what goes below the window's header.
func (s *Orders) Content() fyne.CanvasObject { return s.content }

// Refresh shows who has what was given. Call it on the window's goroutine.
func (s *Orders) Refresh() {
	now, refused := s.o.Told()
	if now != s.told.text {
		s.told.text, s.told.colour = now, s.o.Theme.Ink
		if refused {
			s.told.colour = s.o.Theme.Caution
		}
		s.content.Refresh()
	}
}

// Focus puts the keyboard on the line.
func (s *Orders) Focus(w fyne.Window) { w.Canvas().Focus(s.line) }
