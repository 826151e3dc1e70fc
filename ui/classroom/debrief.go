package classroom

import (
	"slices"

	"fyne.io/fyne/v2"

	"kickover/procedure/classroom"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// DebriefOptions are what the class's debrief needs from outside. A nil func
// takes its button off the screen.
type DebriefOptions struct {
	Theme   theme.Tokens
	Title   string // of the drill
	Report  classroom.ClassReport
	Left    int // runs that could not be replayed
	Replay  func(classroom.RunID)
	SignOff func()         // with names: not for the projector
	Paged   func(*Debrief) // another page is shown
	Earlier func()         // the drill before
	Later   func()
	Back    func()
}

// Debrief is what the class made of a drill, for the projector: it names nobody.
type Debrief struct {
	o       DebriefOptions
	table   *table
	back    *control.Button
	content *fyne.Container
}

// NewDebrief makes the screen.
func NewDebrief(o DebriefOptions) *Debrief {
	// A branch that nobody took is nothing to speak of.
	o.Report.Steps = slices.DeleteFunc(slices.Clone(o.Report.Steps), func(s classroom.StepSpread) bool { return s.Reached == 0 })
	d := &Debrief{o: o, table: newTable(o, 0)}
	d.content = d.layout()
	return d
}

// Content is what goes below the window's header.
func (d *Debrief) Content() fyne.CanvasObject { return d.content }

// Focus puts the keyboard on the way back.
func (d *Debrief) Focus(w fyne.Window) { w.Canvas().Focus(d.back) }

// Copy is the page that is shown, for another window.
func (d *Debrief) Copy() fyne.CanvasObject {
	c := newTable(d.o, d.table.page)
	return control.Placed(fyne.NewSize(640, 400), func(z fyne.Size) { control.Put(c.sheet, 0, 0, z.Width, z.Height) }, c.sheet)
}

func (d *Debrief) layout() *fyne.Container {
	t, r := d.o.Theme, d.o.Report
	var left, right []*control.Button
	add := func(to *[]*control.Button, text string, e control.Emphasis, off bool, do func()) {
		if do != nil {
			b := control.NewButton(t, text, "", e, do)
			b.Disable(off)
			*to = append(*to, b)
		}
	}
	add(&left, "More steps", control.Plain, len(r.Steps) <= stepsOnPage, d.turn)
	add(&left, "Replay the best", control.Plain, r.Best == "", func() { d.o.Replay(r.Best) })
	add(&left, "Replay the worst", control.Plain, r.Worst == "", func() { d.o.Replay(r.Worst) })
	add(&left, "Sign off …", control.Plain, r.Runs == 0, d.o.SignOff)
	add(&right, "Drill before", control.Quiet, false, d.o.Earlier)
	add(&right, "Drill after", control.Quiet, false, d.o.Later)
	add(&right, "Back to the board", control.Primary, false, d.o.Back)
	d.back = right[len(right)-1]
	children := []fyne.CanvasObject{d.table.sheet}
	for _, b := range slices.Concat(left, right) {
		children = append(children, b)
	}
	return control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const bar = 68
		control.Put(d.table.sheet, 0, 0, z.Width, z.Height-bar)
		putBar(left, right, z.Width, z.Height-bar+10)
	}, children...)
}

// turn shows the next page, and after the last the first.
func (d *Debrief) turn() {
	d.table.turn()
	if d.o.Paged != nil {
		d.o.Paged(d)
	}
}
