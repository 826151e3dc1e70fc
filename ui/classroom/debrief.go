package classroom

import (
	"fmt"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/ui/control"
	"kickover/ui/panel"
	"kickover/ui/theme"
)

// DebriefOptions are what the class's debrief needs from outside.
type DebriefOptions struct {
	Theme  theme.Tokens
	Title  string // of the drill's flow
	Report classroom.ClassReport
	Left   int // runs that could not be replayed
	// Signs are the runs to be signed off, one by one; only shown when the
	// instructor asks, since it names people.
	Signs  []Sign
	Replay func(classroom.RunID)
	Open   func(classroom.RunID)
	Back   func()
}

// Sign is one person's run.
type Sign struct {
	Run   classroom.RunID
	Who   string // "4 Ada"
	Note  string // "prime 4.2 s, 1 attempt"
	State string // "✓ started", "signed"
}

// Debrief is what the class made of a drill, for the projector: it names nobody
// until somebody is to be signed off.
type Debrief struct {
	o       DebriefOptions
	board   *panel.Board
	table   *panel.Cell[int]
	back    *control.Button
	page    int
	names   bool
	content *fyne.Container
}

// NewDebrief makes the screen.
func NewDebrief(o DebriefOptions) *Debrief {
	// A branch that nobody took is nothing to speak of.
	o.Report.Steps = slices.DeleteFunc(slices.Clone(o.Report.Steps), func(s classroom.StepSpread) bool { return s.Reached == 0 })
	d := &Debrief{o: o, content: container.NewStack()}
	d.board = panel.NewBoard(o.Theme, d.arrange, func(*panel.Pen) {})
	d.table = panel.NewInlay(d.board, d.paint)
	d.table.Show(0)
	d.build()
	return d
}

// Content is what goes below the window's header.
func (d *Debrief) Content() fyne.CanvasObject { return d.content }

// Focus puts the keyboard on the way back.
func (d *Debrief) Focus(w fyne.Window) { w.Canvas().Focus(d.back) }

func (d *Debrief) build() {
	t := d.o.Theme
	sheet := newSheet(d.board, nil)
	best := control.NewButton(t, "Replay the best", "", control.Plain, func() { d.o.Replay(d.o.Report.Best) })
	worst := control.NewButton(t, "Replay the worst", "", control.Plain, func() { d.o.Replay(d.o.Report.Worst) })
	best.Disable(d.o.Report.Best == "")
	worst.Disable(d.o.Report.Worst == "")
	more := control.NewButton(t, "More steps", "", control.Plain, func() {
		if d.page++; d.page*d.perPage() >= len(d.o.Report.Steps) {
			d.page = 0
		}
		d.table.Show(d.page)
		d.board.Commit()
		sheet.Refresh()
	})
	more.Disable(len(d.o.Report.Steps) <= d.perPage())
	signs := control.NewButton(t, "Sign off, with names", "", control.Plain, func() { d.names = !d.names; d.build() })
	if d.names {
		signs.SetText("Hide the names")
	}
	d.back = control.NewButton(t, "Back to the board", "", control.Primary, d.o.Back)
	buttons := []*control.Button{best, worst, more, signs, d.back}
	children := []fyne.CanvasObject{sheet}
	var list fyne.CanvasObject
	if d.names {
		list = container.NewVScroll(container.NewVBox(d.signRows()...))
		children[0] = list
	}
	for _, b := range buttons {
		children = append(children, b)
	}
	d.content.Objects = []fyne.CanvasObject{control.Placed(fyne.NewSize(980, 560), func(z fyne.Size) {
		const bar = 72
		if list != nil {
			control.Put(list, 40, 24, z.Width-80, z.Height-bar-32)
		} else {
			control.Put(sheet, 0, 0, z.Width, z.Height-bar)
		}
		x := float32(24)
		for _, b := range buttons {
			w := b.MinSize().Width
			control.Put(b, x, z.Height-bar+12, w, 46)
			x += w + 10
		}
	}, children...)}
	d.content.Refresh()
}

func (d *Debrief) signRows() []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for _, s := range d.o.Signs {
		out = append(out, control.NewRow(d.o.Theme, s.Who, s.Note, s.State, func() { d.o.Open(s.Run) }))
	}
	return out
}

func (d *Debrief) arrange(w, h float64) { d.table.Area = panel.Rect{W: w, H: h} }

// The table, in units.
const (
	tableTop  = 166.0
	tableStep = 45.0
	nameWidth = 330.0
	nextWidth = 330.0
)

func (d *Debrief) perPage() int { return 12 }

func (d *Debrief) paint(p *panel.Pen, page int) {
	t, r := d.o.Theme, d.o.Report
	area := d.table.Area
	p.Text(d.o.Title+": the class", 40, 46, panel.Start, panel.Head, t.Ink)
	sum := fmt.Sprintf("%d runs   ✓ %d started   ■ %d unsafe", r.Runs, r.Started, r.Unsafe)
	if d.o.Left > 0 {
		sum += fmt.Sprintf("   %d could not be read", d.o.Left)
	}
	p.Text(sum, 40, 78, panel.Start, panel.Lead, t.Ink2)
	if r.Runs == 0 {
		p.Text("No run of this drill has been delivered yet.", 40, 150, panel.Start, panel.Lead, t.Ink2)
		return
	}
	right := area.W - 40 - nextWidth - 40
	x0 := 40 + nameWidth
	p.Text("STEP", 40, 122, panel.Start, panel.Group, t.Ink3)
	p.Text("TIME: LEAST, MIDDLE HALF, MOST; WINDOW BELOW", x0, 122, panel.Start, panel.Group, t.Ink3)
	p.Text("AS IT SHOULD", right, 122, panel.End, panel.Group, t.Ink3)
	for i := page * d.perPage(); i < min(len(r.Steps), (page+1)*d.perPage()); i++ {
		y := tableTop + float64(i-page*d.perPage())*tableStep
		if y > area.H-20 {
			break
		}
		d.row(p, r.Steps[i], y, x0, right-120)
		good := r.Steps[i].Reached - int(r.Steps[i].Trouble()*float64(r.Steps[i].Reached)+0.5)
		p.Text(fmt.Sprintf("%d of %d", good, r.Steps[i].Reached), right, y, panel.End, panel.Lead, t.Ink)
	}
	d.next(p, area.W-40-nextWidth)
}

// row draws a step: its name, and how its time spread.
func (d *Debrief) row(p *panel.Pen, s classroom.StepSpread, y, x0, x1 float64) {
	t := d.o.Theme
	p.Text(p.Clip(s.Title, panel.Lead, nameWidth-40), 66, y, panel.Start, panel.Lead, t.Ink)
	switch {
	case s.Verdicts[procedure.Unsafe] > 0:
		p.Square(50, y-6, 14, t.Warn)
	case s.Trouble() >= 0.25:
		p.Triangle(50, y-6, 14, t.Caution)
	case s.Reached > 0 && s.Trouble() == 0:
		p.Tick(50, y-6, 14, t.OK)
	}
	longest := max(s.Most, s.Window.Max, time.Second)
	at := func(v time.Duration) float64 { return x0 + (x1-x0-70)*float64(v)/float64(longest) }
	if !s.Window.Zero() {
		p.Box(panel.Rect{X: at(s.Window.Min), Y: y + 5, W: at(s.Window.Max) - at(s.Window.Min), H: 4}, 2, t.OK, t.OK, 0)
	}
	if s.Most == 0 {
		return
	}
	p.Segment(at(s.Least), y-6, at(s.Most), y-6, 2, t.Ink3)
	p.Box(panel.Rect{X: at(s.Lower), Y: y - 13, W: max(3, at(s.Upper)-at(s.Lower)), H: 14}, 3, t.Raised, t.Ink2, 1.5)
	p.Segment(at(s.Median), y-14, at(s.Median), y+2, 3, t.Ink)
	p.Text(fmt.Sprintf("%.1f s", s.Median.Seconds()), x1, y, panel.End, panel.Body, t.Ink2)
}

// next says what to drill.
func (d *Debrief) next(p *panel.Pen, x float64) {
	t := d.o.Theme
	p.Text("DRILL NEXT", x, 122, panel.Start, panel.Group, t.Ink3)
	if len(d.o.Report.DrillNext) == 0 {
		p.Text("Every step went as it should.", x, tableTop, panel.Start, panel.Lead, t.Ink2)
		return
	}
	for i, s := range d.o.Report.DrillNext {
		y := tableTop + float64(i)*96
		p.Box(panel.Rect{X: x, Y: y - 26, W: nextWidth, H: 82}, 10, t.Panel, t.Line, 1)
		p.Text(p.Clip(s.Title, panel.Title, nextWidth-32), x+16, y+2, panel.Start, panel.Title.Weighted(fonts.WeightSemiBold), t.Ink)
		p.Text(p.Clip(verdictWords(s), panel.Body, nextWidth-32), x+16, y+30, panel.Start, panel.Body, t.Ink2)
	}
}

func verdictWords(s classroom.StepSpread) string {
	text := fmt.Sprintf("of %d:", s.Reached)
	for _, v := range []procedure.Verdict{procedure.Unsafe, procedure.Missed, procedure.OutOfOrder, procedure.Late, procedure.Early} {
		if n := s.Verdicts[v]; n > 0 {
			text += fmt.Sprintf("  %d %s", n, v)
		}
	}
	return text
}
