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
	Back  func()
}

// Orders is where the instructor makes something happen, at one station or at
// all: it is not for the projector.
type Orders struct {
	content *fyne.Container
	line    *control.Entry
}

// walkers are the thirds of the propeller's area, and who walks into them.
var walkers = []struct{ sector, name, who string }{
	{procedure.LookLeft, "Left", "a refueller walks in"},
	{procedure.LookAhead, "Ahead", "a passenger walks back"},
	{procedure.LookRight, "Right", "a student walks past"},
}

// NewOrders makes the screen.
func NewOrders(o OrderOptions) *Orders {
	t := o.Theme
	s := &Orders{line: control.NewEntry("")}
	s.line.SetPlaceHolder("A line to be spoken there")
	say := func() {
		if s.line.Text != "" {
			o.Give(classroom.Order{Kind: classroom.OrderSay, Text: s.line.Text})
			s.line.SetText("")
		}
	}
	s.line.OnSubmitted = func(string) { say() }
	title := control.Text("To "+o.To, control.Title, fonts.WeightBold, t.Ink)
	note := control.Text("Not for the projector.", control.Label, fonts.WeightRegular, t.Caution)
	h1, h2, h3 := control.Heading("SOMETHING GOES WRONG, NOW", t), control.Heading("SOMEBODY WALKS IN", t), control.Heading("SAY", t)
	var faults []fyne.CanvasObject
	for _, f := range powerplant.Faults() {
		faults = append(faults, control.NewRow(t, f.Name, f.Signs, "", func() { o.Give(classroom.Order{Kind: classroom.OrderFault, Fault: f.Fault}) }))
	}
	list := container.NewVScroll(container.NewVBox(faults...))
	var walks []*control.Button
	for _, w := range walkers {
		walks = append(walks,
			control.NewButton(t, w.name+": "+w.who, "", control.Plain, func() {
				o.Give(classroom.Order{Kind: classroom.OrderWalk, Sector: w.sector, Text: w.who})
			}),
			control.NewButton(t, "and out", "", control.Plain, func() {
				o.Give(classroom.Order{Kind: classroom.OrderWalk, Sector: w.sector, Gone: true})
			}))
	}
	speak := control.NewButton(t, "Say it", "↵", control.Plain, say)
	pause := control.NewButton(t, "Pause", "", control.Plain, func() { o.Give(classroom.Order{Kind: classroom.OrderPause}) })
	on := control.NewButton(t, "Go on", "", control.Plain, func() { o.Give(classroom.Order{Kind: classroom.OrderGo}) })
	end := control.NewButton(t, "End the run", "", control.Plain, func() { o.Give(classroom.Order{Kind: classroom.OrderEnd}) })
	back := control.NewButton(t, "Back", "", control.Primary, o.Back)
	children := []fyne.CanvasObject{title, note, h1, list, h2, h3, s.line, speak, pause, on, end, back}
	for _, b := range walks {
		children = append(children, b)
	}
	s.content = control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const edge, gap = 40, 28
		w := (z.Width - 2*edge - gap) / 2
		x2 := float32(edge) + w + gap
		control.PutText(title, edge, 18)
		control.PutText(note, x2, 32)
		control.PutText(h1, edge, 80)
		control.Put(list, edge, 104, w, z.Height-104-24)
		control.PutText(h2, x2, 80)
		y := float32(104)
		for i := 0; i < len(walks); i += 2 {
			control.Put(walks[i], x2, y, w-120, 46)
			control.Put(walks[i+1], x2+w-110, y, 110, 46)
			y += 54
		}
		y += 16
		control.PutText(h3, x2, y)
		control.Put(s.line, x2, y+24, w-130, 44)
		control.Put(speak, x2+w-120, y+22, 120, 44)
		third := (w - 20) / 3
		control.Put(pause, x2, z.Height-136, third, 46)
		control.Put(on, x2+third+10, z.Height-136, third, 46)
		control.Put(end, x2+2*(third+10), z.Height-136, third, 46)
		control.Put(back, x2, z.Height-76, w, 52)
	}, children...)
	return s
}

// Content is what goes below the window's header.
func (s *Orders) Content() fyne.CanvasObject { return s.content }

// Focus puts the keyboard on the line.
func (s *Orders) Focus(w fyne.Window) { w.Canvas().Focus(s.line) }
