package classroom

import (
	"fmt"

	"fyne.io/fyne/v2"

	"kickover/assets/fonts"
	"kickover/procedure/classroom"
	"kickover/ui/control"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// Invitation is how to join, as large as it can be, for the projector. Call
// Refresh a few times a second: the code changes.
type Invitation struct {
	class   Watched
	board   *panel.Board
	cell    *panel.Cell[inviteState]
	sheet   *sheet
	content *fyne.Container
}

// NewInvitation makes the screen.
func NewInvitation(t theme.Tokens, class Watched) *Invitation {
	v := &Invitation{class: class}
	v.board = panel.NewBoard(t, func(w, h float64) { v.cell.Area = panel.Rect{W: w, H: h} }, func(*panel.Pen) {})
	v.cell = panel.NewInlay(v.board, func(p *panel.Pen, s inviteState) { paintInvitation(p, t, v.cell.Area, s) })
	v.sheet = newSheet(v.board, nil)
	v.content = control.Placed(fyne.NewSize(640, 400), func(z fyne.Size) { control.Put(v.sheet, 0, 0, z.Width, z.Height) }, v.sheet)
	return v
}

// Content is the whole of it.
func (v *Invitation) Content() fyne.CanvasObject { return v.content }

// Refresh shows the code of the moment. Call it on the window's goroutine.
func (v *Invitation) Refresh() {
	v.cell.Show(invitationOf(v.class))
	v.board.Commit()
	v.sheet.Refresh()
}

// inviteState is what an invitation says.
type inviteState struct {
	class, address string
	code           classroom.JoinCode
	door           doorState
	here           int
}

func invitationOf(class Watched) inviteState {
	d := class.Door()
	s := inviteState{class: class.Class().Name, code: d.Code, door: doorOf(d), here: class.Tally().Here}
	if a := class.Addresses(); len(a) > 0 {
		s.address = a[0]
	}
	return s
}

// paintInvitation says how to join: what to open, where, and the code. A capital
// of the code is a twelfth of the picture's height, to be read from the back.
func paintInvitation(p *panel.Pen, t theme.Tokens, r panel.Rect, s inviteState) {
	x, w := r.X+r.W/2, r.W-96
	line := func(text string, at float64, size float64, quiet bool) {
		c := t.Ink
		if quiet {
			c = t.Ink2
		}
		y := panel.Head.Sized(size)
		p.Text(text, x, r.Y+at*r.H, panel.Middle, p.Fit(text, y, w, 24), c)
	}
	if s.address == "" {
		line("No network: this class is on one machine", 0.5, 40, true)
		return
	}
	if s.door.shut {
		line(nobodyNew, 0.45, 90, false)
		line("Whoever was here before comes back without a code.", 0.60, 40, true)
		line(fmt.Sprintf("%s    %d here", s.class, s.here), 0.92, 30, true)
		return
	}
	line("On your laptop open Kickover, Class, Join a class", 0.12, 40, true)
	line(s.address, 0.33, 120, false)
	line(s.code.Digits[:3]+" "+s.code.Digits[3:], 0.57, 150, false)
	s.door.paint(p, t, x, r.Y+0.645*r.H, panel.Middle, p.Fit(s.door.String(), panel.Head.Sized(30).Weighted(fonts.WeightMedium), w, 20))
	line(fmt.Sprintf("%s %s %s", s.code.Words[0], s.code.Words[1], s.code.Words[2]), 0.80, 100, false)
	foot := "Your name stays on the class's machines. Type the words: they tell that it is this class."
	if s.here > 0 {
		foot = fmt.Sprintf("%s    %d here", s.class, s.here)
	}
	line(foot, 0.92, 30, true)
}
