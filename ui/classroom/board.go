package classroom

import (
	"fmt"
	"image/color"
	"time"

	"fyne.io/fyne/v2"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/ui/control"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// Watched is what the board shows; *classroom.Instructor is one.
type Watched interface {
	Class() classroom.Class
	Rows(helpFirst bool) []classroom.Row
	Tally() classroom.Tally
	Drill() (classroom.Drill, bool)
	JoinCode() classroom.JoinCode
	Addresses() []string
	Notices() []string
}

// BoardOptions are what the board needs from outside.
type BoardOptions struct {
	Theme  theme.Tokens
	Class  Watched
	Public bool // for the projector: no names, no buttons
	// FlowTitle is what a drill's flow is called.
	FlowTitle func(classroom.Situation) string

	Open    func(classroom.StationID) // one station
	Choose  func()                    // the next drill
	Go      func()
	Pause   func(on bool)
	End     func()
	Order   func() // to everybody
	Debrief func()
	Close   func()
}

// Board is the live board.
type Board struct {
	o       BoardOptions
	board   *panel.Board
	sheet   *sheet
	head    *panel.Cell[headState]
	invite  *panel.Cell[headState] // while nobody is here yet
	tiles   []*panel.Cell[tileState]
	at      []classroom.StationID // which station each tile shows
	grid    panel.Rect
	rows    int
	columns int
	byHelp  bool
	page    int

	buttons []*control.Button
	pause   *control.Button
	sort    *control.Button
	content *fyne.Container
}

const tilesAtMost = 48

// NewBoard makes the board. Call Refresh a few times a second.
func NewBoard(o BoardOptions) *Board {
	b := &Board{o: o, byHelp: true, columns: 3, rows: 2}
	b.board = panel.NewBoard(o.Theme, b.arrange, func(*panel.Pen) {})
	b.head = panel.NewInlay(b.board, b.paintHead)
	b.invite = panel.NewInlay(b.board, b.paintInvitation)
	for range tilesAtMost {
		var c *panel.Cell[tileState]
		c = panel.NewCell(b.board, func(p *panel.Pen, s tileState) { b.paintTile(p, c.Area, s) })
		b.tiles = append(b.tiles, c)
	}
	b.at = make([]classroom.StationID, tilesAtMost)
	b.sheet = newSheet(b.board, b.tapped)
	b.content = b.layout()
	return b
}

// Content is what goes below the window's header.
func (b *Board) Content() fyne.CanvasObject { return b.content }

// Focus puts the keyboard on the first button.
func (b *Board) Focus(w fyne.Window) {
	if len(b.buttons) > 0 {
		w.Canvas().Focus(b.buttons[0])
	}
}

func (b *Board) layout() *fyne.Container {
	t := b.o.Theme
	if b.o.Public {
		return control.Placed(fyne.NewSize(640, 400), func(s fyne.Size) { control.Put(b.sheet, 0, 0, s.Width, s.Height) }, b.sheet)
	}
	b.pause = control.NewButton(t, "Pause all", "", control.Plain, func() {
		d, _ := b.o.Class.Drill()
		b.o.Pause(!d.Paused)
	})
	b.sort = control.NewButton(t, "By number", "", control.Quiet, func() {
		b.byHelp = !b.byHelp
		b.sort.SetText(map[bool]string{true: "By number", false: "Who needs help"}[b.byHelp])
		b.Refresh()
	})
	b.buttons = []*control.Button{
		control.NewButton(t, "Choose a drill", "", control.Plain, b.o.Choose),
		control.NewButton(t, "Go", "", control.Primary, b.o.Go),
		b.pause,
		control.NewButton(t, "End drill", "", control.Plain, b.o.End),
		control.NewButton(t, "To everybody …", "", control.Plain, b.o.Order),
		control.NewButton(t, "Debrief", "", control.Plain, b.o.Debrief),
		b.sort,
		control.NewButton(t, "Close class", "", control.Quiet, b.o.Close),
	}
	children := []fyne.CanvasObject{b.sheet}
	for _, x := range b.buttons {
		children = append(children, x)
	}
	return control.Placed(fyne.NewSize(980, 560), func(s fyne.Size) {
		const bar = 72
		control.Put(b.sheet, 0, 0, s.Width, s.Height-bar)
		x := float32(24)
		for _, button := range b.buttons {
			w := button.MinSize().Width
			control.Put(button, x, s.Height-bar+12, w, 46)
			x += w + 10
		}
	}, children...)
}

const headHeight = 118

func (b *Board) arrange(w, h float64) {
	b.head.Area = panel.Rect{X: 0, Y: 0, W: w, H: headHeight}
	b.grid = panel.Rect{X: 24, Y: headHeight + 4, W: w - 48, H: h - headHeight - 16}
	const gap = 12
	tw := (b.grid.W - gap*float64(b.columns-1)) / float64(b.columns)
	th := (b.grid.H - gap*float64(b.rows-1)) / float64(b.rows)
	b.invite.Area = b.grid
	for i, c := range b.tiles {
		if i >= b.rows*b.columns {
			c.Area = panel.Rect{}
			continue
		}
		c.Area = panel.Rect{X: b.grid.X + float64(i%b.columns)*(tw+gap), Y: b.grid.Y + float64(i/b.columns)*(th+gap), W: tw, H: th}
	}
}

// shape chooses the grid for a number of stations: tiles as large as they can
// be, since the board is read from the back of a room.
func shape(n int) (columns, rows int) {
	for _, g := range [][2]int{{3, 2}, {4, 3}, {5, 4}, {6, 5}, {8, 6}} {
		if n <= g[0]*g[1] {
			return g[0], g[1]
		}
	}
	return 8, 6
}

// Refresh shows the class as it stands. Call it on the window's goroutine.
func (b *Board) Refresh() {
	rows := b.o.Class.Rows(b.byHelp)
	pages := (len(rows) + tilesAtMost - 1) / tilesAtMost
	if b.page >= pages {
		b.page = 0
	}
	rows = rows[min(len(rows), b.page*tilesAtMost):min(len(rows), (b.page+1)*tilesAtMost)]
	if c, r := shape(len(rows)); c != b.columns || r != b.rows {
		b.columns, b.rows = c, r
		b.board.Rebuild()
	}
	for i, c := range b.tiles {
		if i >= len(rows) {
			c.Hide()
			b.at[i] = ""
			continue
		}
		b.at[i] = rows[i].Station
		c.Show(tileOf(rows[i], b.o.Public))
	}
	head := b.headNow()
	b.head.Show(head)
	if len(rows) == 0 && head.address != "" {
		b.invite.Show(headState{address: head.address, code: head.code})
	} else {
		b.invite.Hide()
	}
	b.board.Commit()
	if d, ok := b.o.Class.Drill(); ok && b.pause != nil {
		text := "Pause all"
		if d.Paused {
			text = "Go on"
		}
		b.pause.SetText(text)
	}
	b.sheet.Refresh()
}

func (b *Board) tapped(x, y float64) {
	for i, c := range b.tiles {
		if c.Visible() && c.Area.Contains(x, y) && b.o.Open != nil {
			b.o.Open(b.at[i])
			return
		}
	}
}

// headState is the board's head.
type headState struct {
	class, drill, state, address, code, counts, notice string
}

func (b *Board) headNow() headState {
	t := b.o.Class.Tally()
	h := headState{class: b.o.Class.Class().Name, drill: "No drill yet", code: b.o.Class.JoinCode().String(),
		counts: fmt.Sprintf("%d here", t.Here)}
	if a := b.o.Class.Addresses(); len(a) > 0 {
		h.address = a[0]
	}
	if t.Away > 0 {
		h.counts += fmt.Sprintf("   %d away", t.Away)
	}
	if t.Unsafe > 0 {
		h.counts += fmt.Sprintf("   ■ %d unsafe", t.Unsafe)
	}
	if t.Finished > 0 {
		h.counts += fmt.Sprintf("   ✓ %d done", t.Finished)
	}
	if d, ok := b.o.Class.Drill(); ok {
		h.drill = b.o.FlowTitle(d.Situation) + ", " + string(d.Mode)
		h.state = stateWord(d, t) + "     "
	}
	if n := b.o.Class.Notices(); len(n) > 0 && !b.o.Public {
		h.notice = n[len(n)-1]
	}
	return h
}

func stateWord(d classroom.Drill, t classroom.Tally) string {
	switch {
	case d.Paused:
		return "paused"
	case d.State == classroom.Announced:
		return fmt.Sprintf("%d of %d ready", t.Ready, t.Here)
	case d.State == classroom.Going:
		return "under way"
	}
	return "over"
}

func (b *Board) paintHead(p *panel.Pen, h headState) {
	t := b.o.Theme
	w := b.head.Area.W
	p.Text(h.class, 24, 34, panel.Start, panel.Title, t.Ink)
	p.Text(h.drill, 24, 66, panel.Start, panel.Head.Sized(24), t.Ink)
	p.Text(h.state+h.counts, 24, 94, panel.Start, panel.Lead, t.Ink2)
	if h.notice != "" {
		p.Text(p.Clip(h.notice, panel.Small, w*0.55), 24, 113, panel.Start, panel.Small, t.Caution)
	}
	if h.address == "" {
		p.Text("No network: one machine only", w-24, 52, panel.End, panel.Lead, t.Ink2)
		return
	}
	p.Text("JOIN", w-24, 24, panel.End, panel.Group, t.Ink3)
	p.Text(h.address, w-24, 58, panel.End, panel.Head, t.Ink)
	p.Text(h.code, w-24, 96, panel.End, panel.Head.Sized(28), t.Ink)
}

// paintInvitation says how to join, as large as it can be read.
func (b *Board) paintInvitation(p *panel.Pen, h headState) {
	t, r := b.o.Theme, b.invite.Area
	x, y := r.X+r.W/2, r.Y+r.H/2
	p.Text("Join this class", x, y-120, panel.Middle, panel.Head, t.Ink2)
	p.Text(h.address, x, y-30, panel.Middle, panel.Numeral, t.Ink)
	p.Text(h.code, x, y+60, panel.Middle, p.Fit(h.code, panel.Numeral, r.W, 24), t.Ink)
}

// tileState is one station's tile.
type tileState struct {
	number, name, step, title, late, prime, tries, unsafe, word string
	need                                                        classroom.Need
	share                                                       int // of the steps, in percent
}

func tileOf(r classroom.Row, public bool) tileState {
	l := &r.Live
	s := tileState{number: fmt.Sprint(r.Number), need: r.Need, title: l.Title}
	if !public {
		s.name = r.Name
	}
	if l.Run != "" && l.Steps > 0 {
		s.step = fmt.Sprintf("%d/%d", min(l.Step+1, l.Steps), l.Steps)
		s.share = 100 * l.Step / l.Steps
	}
	if l.Overdue >= time.Second {
		s.late = fmt.Sprintf("+%d s", int(l.Overdue.Seconds()))
	}
	if l.Prime > 0 {
		s.prime = fmt.Sprintf("prime %.1f s", l.Prime.Seconds())
	}
	if l.Tries > 0 {
		s.tries = fmt.Sprintf("attempt %d", l.Tries)
	}
	if r.Need == classroom.NeedUnsafe {
		s.unsafe = string(l.Breach)
		if l.Breach == "" {
			s.unsafe = "unsafe before"
		}
	}
	s.word = wordFor(r)
	return s
}

func wordFor(r classroom.Row) string {
	l := &r.Live
	switch {
	case r.Trouble != "":
		return "cut off"
	case !r.Here || r.Need == classroom.NeedAway:
		return "away"
	case l.Missing != "":
		return "cannot fly this"
	case l.Done && l.Outcome == procedure.Started:
		return "✓ started"
	case l.Done && l.Outcome == procedure.Stopped:
		return "✓ stopped rightly"
	case l.Done && l.Outcome == procedure.NotStarted:
		return "○ not started"
	case l.Done:
		return string(l.Outcome)
	case l.Paused:
		return "paused"
	case l.Engine != "":
		return l.Engine
	case l.Ready:
		return "ready"
	case l.Run == "":
		return "here"
	}
	return ""
}

// paintTile draws a tile: the number large, what the station is at, and what is
// wrong with a shape as well as a colour.
func (b *Board) paintTile(p *panel.Pen, r panel.Rect, s tileState) {
	t := b.o.Theme
	fill, line, ink, quiet := t.Panel, t.Line, t.Ink, t.Ink2
	switch s.need {
	case classroom.NeedUnsafe:
		fill, line, ink, quiet = t.Warn, t.Warn, t.OnWarn, t.OnWarn
	case classroom.NeedLost, classroom.NeedSlow:
		line = t.Caution
	case classroom.NeedAway:
		fill, ink, quiet = t.Ground, t.Ink3, t.Ink3
	case classroom.NeedFinished:
		line = t.OK
	}
	k := r.H / 120
	k = min(max(k, 0.62), 1.9)
	p.Box(r.Inset(1), 10, fill, line, 2)
	x, y := r.X+14*k, r.Y+38*k
	nw := p.Text(s.number, x, y, panel.Start, panel.Head.Sized(32*k), ink)
	b.mark(p, s, x+nw+18*k, y-11*k, 16*k)
	if s.name != "" {
		p.Text(p.Clip(s.name, panel.Body.Sized(13*k), r.W-nw-110*k), x+nw+34*k, y-2, panel.Start, panel.Body.Sized(13*k), quiet)
	}
	right := r.X + r.W - 14*k
	p.Text(s.step, right, y, panel.End, panel.Title.Sized(16*k), quiet)
	lead := panel.Lead.Sized(16 * k)
	text := s.title
	if s.unsafe != "" {
		text = s.unsafe
	}
	if text == "" {
		text = s.word
	}
	p.Text(p.Clip(text, lead.Weighted(fonts.WeightSemiBold), r.W-28*k), x, y+26*k, panel.Start, lead.Weighted(fonts.WeightSemiBold), ink)
	b.foot(p, s, text, panel.Rect{X: x, Y: y + 50*k, W: r.W - 28*k}, panel.Body.Sized(14*k), ink, quiet)
	track := panel.Rect{X: x, Y: r.Y + r.H - 12, W: r.W - 28*k, H: 4}
	p.Box(track, 2, t.Raised, color.NRGBA{}, 0)
	if s.share > 0 {
		track.W *= float64(s.share) / 100
		p.Box(track, 2, quiet, color.NRGBA{}, 0)
	}
}

// foot is the tile's last line: how late, then as much as there is room for.
func (b *Board) foot(p *panel.Pen, s tileState, said string, at panel.Rect, t panel.Type, ink, quiet color.NRGBA) {
	x := at.X
	if s.late != "" {
		x += p.Text(s.late, x, at.Y, panel.Start, t.Weighted(fonts.WeightBold), ink) + t.Size
	}
	for _, f := range []string{s.prime, s.word, s.tries} {
		if w := p.Measure(f, t); f != "" && f != said && x+w <= at.X+at.W {
			x += p.Text(f, x, at.Y, panel.Start, t, quiet) + t.Size
		}
	}
}

// mark is the tile's sign: each meaning has a shape too.
func (b *Board) mark(p *panel.Pen, s tileState, x, y, size float64) {
	t := b.o.Theme
	switch s.need {
	case classroom.NeedUnsafe:
		p.Square(x, y, size, t.OnWarn)
	case classroom.NeedLost, classroom.NeedSlow:
		p.Triangle(x, y, size, t.Caution)
	case classroom.NeedAway:
		p.Cross(x, y, size, t.Ink3)
	case classroom.NeedFinished:
		p.Tick(x, y, size, t.OK)
	}
}
