package classroom

import (
	"fyne.io/fyne/v2"

	"kickover/procedure/classroom"
	"kickover/ui/theme"
)

// wall is what the room sees, in the projector's window: how to join until there
// is a drill, then the board, and what the desk puts there in between. It
// belongs to the window's goroutine.
type wall struct {
	projector Projector // nil has none
	theme     theme.Tokens
	flowTitle func(classroom.Situation) string
	class     Watched // nil while no class is open
	invites   bool    // how to join is shown although there is a drill
	lent      bool    // the desk has put something there
	showing   string
	stop      func() // of what moves
}

func newWall(p Projector, t theme.Tokens, flowTitle func(classroom.Situation) string) *wall {
	return &wall{projector: p, theme: t, flowTitle: flowTitle, stop: func() {}}
}

// there reports whether the room has a window of its own.
func (w *wall) there() bool { return w.projector != nil && w.projector.Open() }

// open opens the window; close takes it away.
func (w *wall) open() {
	if w.projector != nil && w.class != nil {
		w.showing = ""
		w.follow()
	}
}

func (w *wall) close() {
	w.still()
	w.lent, w.showing = false, ""
	if w.there() {
		w.projector.Close()
	}
}

func (w *wall) still() {
	w.stop()
	w.stop = func() {}
}

// follow shows what the class has come to. Call it whenever that may be another.
func (w *wall) follow() {
	if w.class == nil || w.projector == nil || w.lent {
		return
	}
	_, drill := w.class.Drill()
	want := "board"
	if w.invites || !drill {
		want = "invitation"
	}
	if want == w.showing {
		return
	}
	w.still()
	w.showing = want
	if want == "board" {
		s := NewBoard(BoardOptions{Theme: w.theme, Class: w.class, Public: true, FlowTitle: w.flowTitle})
		w.projector.Show(s.Content())
		s.Refresh()
		w.stop = Every(boardEvery, w.whileThere(s.Refresh))
		return
	}
	s := NewInvitation(w.theme, w.class)
	w.projector.Show(s.Content())
	s.Refresh()
	w.stop = Every(boardEvery, w.whileThere(s.Refresh))
}

// whileThere refreshes until somebody has closed the window.
func (w *wall) whileThere(refresh func()) func() {
	return func() {
		if !w.there() {
			w.still()
			return
		}
		refresh()
	}
}

// lend puts something else there until it is given back.
func (w *wall) lend(content fyne.CanvasObject) {
	if !w.there() {
		return
	}
	w.still()
	w.lent, w.showing = true, ""
	w.projector.Show(content)
}

// giveBack shows the class again.
func (w *wall) giveBack() {
	if w.lent {
		w.lent = false
		if w.there() {
			w.follow()
		}
	}
}
