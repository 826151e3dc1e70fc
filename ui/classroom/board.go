package classroom

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"

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
	Door() classroom.Door
	Addresses() []string
	Notices() []string
	Told() (classroom.Told, bool)
}

// BoardOptions are what the board needs from outside.
type BoardOptions struct {
	Theme  theme.Tokens
	Class  Watched
	Public bool // for the projector: no names, no buttons
	// FlowTitle is what a drill's flow is called.
	FlowTitle func(classroom.Situation) string

	Open     func(classroom.StationID) // one station
	From     classroom.StationID       // that was left: the keyboard is there; empty for none
	Sequence func()                    // what is drilled next
	Go       func()
	LetIn    func() // those who came when all had begun
	Pause    func(on bool)
	End      func()
	Order    func() // to everybody
	Debrief  func()
	Room     func() // how to join, and the projector
	Close    func()
}

// Board is the live board.
type Board struct {
	o       BoardOptions
	board   *panel.Board
	sheet   *sheet
	head    *panel.Cell[headState]
	invite  *panel.Cell[inviteState] // while nobody is here yet
	tiles   []*panel.Cell[tileState]
	at      []classroom.StationID // which station each tile shows
	grid    panel.Rect
	rows    int
	columns int
	byHelp  bool
	pages   int
	page    int

	keys   *control.Grid
	keyed  bool                // the keyboard is among the tiles
	chosen classroom.StationID // by the keyboard: it stays with the station when the order changes

	left    []*control.Button // what is done next, in its order
	right   []*control.Button
	begin   *control.Button
	pause   *control.Button
	end     *control.Button
	review  *control.Button
	sort    *control.Button
	more    *control.Button // while there are more stations than tiles
	bar     barState
	content *fyne.Container
}

const tilesAtMost = 48

// NewBoard makes the board. Call Refresh a few times a second.
func NewBoard(o BoardOptions) *Board {
	b := &Board{o: o, byHelp: true, columns: 3, rows: 2, chosen: o.From}
	b.board = panel.NewBoard(o.Theme, b.arrange, func(*panel.Pen) {})
	b.head = panel.NewInlay(b.board, b.paintHead)
	b.invite = panel.NewInlay(b.board, func(p *panel.Pen, s inviteState) { paintInvitation(p, o.Theme, b.invite.Area, s) })
	for range tilesAtMost {
		var c *panel.Cell[tileState]
		c = panel.NewCell(b.board, func(p *panel.Pen, s tileState) { b.paintTile(p, c.Area, s) })
		b.tiles = append(b.tiles, c)
	}
	b.at = make([]classroom.StationID, tilesAtMost)
	b.sheet = newSheet(b.board, b.tapped)
	b.keys = control.NewGrid(func(on bool) { b.keyed = on; b.Refresh() }, b.step, func() { b.open(b.chosen) }, b.sheet.Tapped)
	b.content = b.layout()
	return b
}

// Content is what goes below the window's header.
func (b *Board) Content() fyne.CanvasObject { return b.content }

// Focus puts the keyboard on what is to be done next.
func (b *Board) Focus(w fyne.Window) {
	if b.o.Public {
		return
	}
	if b.o.From != "" {
		w.Canvas().Focus(b.keys)
		return
	}
	next := b.left[0]
	if d, ok := b.o.Class.Drill(); ok && d.State == classroom.Announced {
		next = b.begin
	}
	w.Canvas().Focus(next)
}

func (b *Board) layout() *fyne.Container {
	t := b.o.Theme
	if b.o.Public {
		return control.Placed(fyne.NewSize(640, 400), func(s fyne.Size) { control.Put(b.sheet, 0, 0, s.Width, s.Height) }, b.sheet)
	}
	b.begin = control.NewButton(t, goAll, "", control.Primary, func() {
		if b.bar.outside > 0 {
			b.o.LetIn()
			return
		}
		b.o.Go()
	})
	b.pause = control.NewButton(t, pauseAll, "", control.Plain, func() {
		d, _ := b.o.Class.Drill()
		b.o.Pause(!d.Paused)
	})
	b.end = control.NewButton(t, "End drill", "", control.Plain, b.o.End)
	b.review = control.NewButton(t, "Debrief", "", control.Plain, b.o.Debrief)
	b.sort = control.NewButton(t, byNumber, "", control.Quiet, func() {
		b.byHelp = !b.byHelp
		b.sort.SetText(map[bool]string{true: byNumber, false: "Help first"}[b.byHelp])
		b.Refresh()
	})
	b.left = []*control.Button{
		control.NewButton(t, "Sequence", "", control.Plain, b.o.Sequence), b.begin, b.pause, b.end,
		control.NewButton(t, "To everybody …", "", control.Plain, b.o.Order), b.review,
	}
	b.more = control.NewButton(t, "More stations", "", control.Quiet, func() { b.page++; b.Refresh() })
	b.more.Hide()
	b.right = []*control.Button{
		b.more, b.sort, control.NewButton(t, "For the room", "", control.Quiet, b.o.Room), control.NewButton(t, "Close class", "", control.Quiet, b.o.Close),
	}
	children := []fyne.CanvasObject{b.sheet, b.keys}
	for _, x := range slices.Concat(b.left, b.right) {
		children = append(children, x)
	}
	return control.Placed(fyne.NewSize(980, 560), func(s fyne.Size) {
		const bar = 68
		control.Put(b.sheet, 0, 0, s.Width, s.Height-bar)
		control.Put(b.keys, 0, 0, s.Width, s.Height-bar)
		putBar(b.left, b.right, s.Width, s.Height-bar+10)
	}, children...)
}

const (
	goAll    = "Go"
	pauseAll = "Pause all"
	byNumber = "By number"
)

// putBar lays buttons out in a line: some from the left, some from the right.
func putBar(left, right []*control.Button, width, y float32) {
	x := float32(24)
	for _, b := range left {
		w := b.MinSize().Width
		control.Put(b, x, y, w, 46)
		x += w + 8
	}
	x = width - 24
	for _, b := range slices.Backward(right) {
		if b.Hidden {
			continue
		}
		w := b.MinSize().Width
		x -= w
		control.Put(b, x, y, w, 46)
	}
}

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
	for _, g := range [][2]int{{2, 2}, {3, 2}, {4, 3}, {5, 4}, {6, 5}, {8, 6}} {
		if n <= g[0]*g[1] {
			return g[0], g[1]
		}
	}
	return 8, 6
}

// Refresh shows the class as it stands. Call it on the window's goroutine.
func (b *Board) Refresh() {
	rows := b.o.Class.Rows(b.byHelp)
	b.pages = (len(rows) + tilesAtMost - 1) / tilesAtMost
	if b.page >= b.pages {
		b.page = 0
	}
	rows = rows[min(len(rows), b.page*tilesAtMost):min(len(rows), (b.page+1)*tilesAtMost)]
	if b.keyed && len(rows) > 0 && !slices.ContainsFunc(rows, func(r classroom.Row) bool { return r.Station == b.chosen }) {
		b.chosen = rows[0].Station
	}
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
		tile := tileOf(rows[i], b.o.Public)
		tile.keyed = b.keyed && rows[i].Station == b.chosen
		c.Show(tile)
	}
	head := b.headNow()
	if len(rows) == 0 && head.address != "" {
		b.invite.Show(invitationOf(b.o.Class))
		head.invited = true
	} else {
		b.invite.Hide()
	}
	b.head.Show(head)
	b.board.Commit()
	if !b.o.Public {
		b.enable()
	}
	b.sheet.Refresh()
}

// enable lets be pressed what means something as the drill stands.
func (b *Board) enable() {
	d, ok := b.o.Class.Drill()
	if more := b.pages > 1; more == b.more.Hidden {
		b.more.Hidden = !more
		b.content.Refresh()
	}
	now := barState{state: d.State, begin: goAll, pause: pauseAll, drill: ok}
	if d.Paused {
		now.pause = "Go on"
	}
	if d.State == classroom.Going {
		now.outside = b.o.Class.Tally().Outside
	}
	if now.outside > 0 {
		now.begin = fmt.Sprintf("Let %d in", now.outside)
	}
	if now != b.bar {
		b.bar = now
		b.begin.Disable(d.State != classroom.Announced && now.outside == 0)
		b.begin.SetText(now.begin)
		b.pause.Disable(d.State != classroom.Going)
		b.end.Disable(d.State != classroom.Announced && d.State != classroom.Going)
		b.review.Disable(!ok)
		b.pause.SetText(now.pause)
		b.content.Refresh()
	}
}

// barState is what the buttons depend on.
type barState struct {
	state        classroom.DrillState
	begin, pause string // what the buttons say
	outside      int    // who wait to be let in
	drill        bool
}

func (b *Board) tapped(x, y float64) {
	for i, c := range b.tiles {
		if c.Visible() && c.Area.Contains(x, y) {
			b.open(b.at[i])
			return
		}
	}
}

func (b *Board) open(s classroom.StationID) {
	if s != "" && b.o.Open != nil {
		b.o.Open(s)
	}
}

// step takes the keyboard to another tile, and past the last of a page to the
// next.
func (b *Board) step(columns, rows int) {
	all := b.o.Class.Rows(b.byHelp)
	at := slices.IndexFunc(all, func(r classroom.Row) bool { return r.Station == b.chosen })
	if to := at + columns + rows*b.columns; at >= 0 && to >= 0 && to < len(all) {
		b.chosen, b.page = all[to].Station, to/tilesAtMost
	}
	b.Refresh()
}
