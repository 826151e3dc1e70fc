package classroom

import (
	"fyne.io/fyne/v2"

	"kickover/ui/control"
	"kickover/ui/theme"
)

// RoomOptions are what the screen for the room needs from outside.
type RoomOptions struct {
	Theme theme.Tokens
	Class Watched
	// Window opens the projector's window, or closes it; Full fills its screen;
	// Invites shows there how to join although there is a drill. All are nil
	// where there can be no second window.
	Window, Full, Invites func(on bool)
	HasWindow             func() bool
	Invited               bool
	// Shut lets nobody new in, or opens the door with another code.
	Shut   func(on bool)
	IsShut bool
	// NewCode makes another code, as when the present one was seen by somebody
	// who is not meant.
	NewCode func()
	Back    func()
}

// Room is how to join on the instructor's own screen, for a projector that shows
// the same, and the projector's own window.
type Room struct {
	o          RoomOptions
	invitation *Invitation
	window     *control.Button
	fill       *control.Button // nil like window; of no use before there is one
	another    *control.Button
	back       *control.Button
	had        bool
	content    *fyne.Container
}

// NewRoom makes the screen. Call Refresh a few times a second.
func NewRoom(o RoomOptions) *Room {
	t := o.Theme
	r := &Room{o: o, invitation: NewInvitation(t, o.Class)}
	r.back = control.NewButton(t, "Back to the board", "", control.Primary, o.Back)
	shut := o.IsShut
	var door *control.Button
	door = control.NewButton(t, doorWords(shut), "", control.Quiet, func() {
		shut = !shut
		door.SetText(doorWords(shut))
		r.another.Disable(shut)
		o.Shut(shut)
		r.Refresh()
	})
	r.another = control.NewButton(t, "New code", "", control.Quiet, func() { o.NewCode(); r.Refresh() })
	r.another.Disable(shut)
	right := []*control.Button{r.another, door, r.back}
	var left []*control.Button
	if o.Window != nil {
		r.window = control.NewButton(t, openWindow, "", control.Plain, func() { o.Window(!o.HasWindow()); r.Refresh() })
		full, invited := false, o.Invited
		r.fill = control.NewButton(t, "Fill its screen", "F", control.Plain, func() { full = !full; o.Full(full) })
		r.fill.Disable(!o.HasWindow())
		var what *control.Button
		what = control.NewButton(t, whatItShows(invited), "", control.Plain, func() {
			invited = !invited
			what.SetText(whatItShows(invited))
			o.Invites(invited)
		})
		left = []*control.Button{r.window, r.fill, what}
	}
	shown := r.invitation.Content()
	children := []fyne.CanvasObject{shown, r.another, door, r.back}
	for _, b := range left {
		children = append(children, b)
	}
	r.content = control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		right := right
		const row = 58
		bar := float32(row + 10)
		if widthOf(left)+widthOf(right) > z.Width-2*24 { // two rows of buttons
			bar += row
			putBar(nil, right, z.Width, z.Height-row)
			right = nil
		}
		control.Put(shown, 0, 0, z.Width, z.Height-bar)
		putBar(left, right, z.Width, z.Height-bar+10)
	}, children...)
	return r
}

func doorWords(shut bool) string {
	if shut {
		return "Let newcomers in"
	}
	return "Nobody new"
}

const (
	openWindow  = "Open a second window"
	closeWindow = "Close the second window"
)

func whatItShows(invited bool) string {
	if invited {
		return "Show the drill there"
	}
	return "Show how to join there"
}

// Content is what goes below the window's header.
func (r *Room) Content() fyne.CanvasObject { return r.content }

// Focus puts the keyboard on the way back.
func (r *Room) Focus(w fyne.Window) { w.Canvas().Focus(r.back) }

// Refresh shows the code of the moment. Call it on the window's goroutine.
func (r *Room) Refresh() {
	r.invitation.Refresh()
	if r.window == nil {
		return
	}
	if has := r.o.HasWindow(); has != r.had {
		r.had = has
		r.fill.Disable(!has)
		r.window.SetText(map[bool]string{true: closeWindow, false: openWindow}[has])
	}
}

// widthOf is how much room a row of buttons takes.
func widthOf(row []*control.Button) (w float32) {
	for _, b := range row {
		w += b.MinSize().Width + 8
	}
	return w
}
