package classroom

import (
	"time"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/procedure/rehearsal"
)

// This file is the desk of a class with one machine. It needs no network.

// aloud chooses a flow.
func (d *Desk) aloud() {
	d.still()
	content, focus := newPick(d.o.Theme, d.o.Units, d.o.Libraries, d.callAloud, d.Start)
	d.o.Stage.Show("One machine", content, focus, d.Start)
}

// callAloud drills a flow aloud. It is kept as a class of its own from the
// first tap on.
func (d *Desk) callAloud(f *procedure.Flow) {
	clock, begun := rehearsal.NewSystem(), time.Now()
	var book *classroom.Book
	var failed bool
	var screen *Aloud
	keep := func(a *classroom.Aloud) {
		var err error
		if book == nil && !failed {
			_, book, err = classroom.NewClass(d.o.Folder, "Aloud: "+f.Title, nil, begun)
		}
		if book != nil {
			err = book.KeepAloud(string(f.ID), begun, a)
		}
		if failed = failed || err != nil; err != nil {
			screen.Warn("This drill is not kept: " + err.Error())
		}
	}
	screen = NewAloud(AloudOptions{Theme: d.o.Theme, Flow: f, Now: clock.Now, Keep: keep, Back: func() {
		if book != nil {
			_ = book.Close() // each tap was kept when it was made
		}
		d.Start()
	}})
	d.o.Stage.Show("One machine", screen.Content(), screen.Focus, screen.o.Back)
}

// lookBack shows a drill that was kept.
func (d *Desk) lookBack(c classroom.CalledAloud) {
	s := classroom.Situation{Aircraft: c.Aircraft, Flow: c.Flow}
	_, f := d.find(s)
	if f == nil {
		f = &procedure.Flow{Title: string(c.Flow)}
	}
	d.still()
	content, back := NewCalled(CalledOptions{Theme: d.o.Theme, Title: f.Title + ", aloud, " + c.Begun.Local().Format("2 January 2006, 15:04"), Drill: c.Again(f), Back: d.Start})
	d.o.Stage.Show("One machine", content, func(w fyne.Window) { w.Canvas().Focus(back) }, d.Start)
}
