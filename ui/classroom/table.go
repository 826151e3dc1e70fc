package classroom

import (
	"fmt"
	"time"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/classroom"
	"kickover/ui/panel"
)

// table draws how the class's times spread on each step, and what to drill
// next: on the instructor's screen and on the projector's.
type table struct {
	o     DebriefOptions
	board *panel.Board
	cell  *panel.Cell[int]
	sheet *sheet
	page  int
}

// stepsOnPage is how many steps are written large enough for a room.
const stepsOnPage = 10

func newTable(o DebriefOptions, page int) *table {
	d := &table{o: o, page: page}
	d.board = panel.NewBoard(o.Theme, func(w, h float64) { d.cell.Area = panel.Rect{W: w, H: h} }, func(*panel.Pen) {})
	d.cell = panel.NewInlay(d.board, d.paint)
	d.cell.Show(page)
	d.sheet = newSheet(d.board, nil)
	return d
}

// turn shows the next page, and after the last the first.
func (d *table) turn() {
	if d.page++; d.page*stepsOnPage >= len(d.o.Report.Steps) {
		d.page = 0
	}
	d.cell.Show(d.page)
	d.board.Commit()
	d.sheet.Refresh()
}

// The table, in units.
const (
	tableTop  = 190.0
	tableStep = 60.0
	nameWidth = 400.0
	nextWidth = 380.0
	tableEdge = 40.0
)

var (
	stepType = panel.Lead.Sized(24).Weighted(fonts.WeightSemiBold)
	timeType = panel.Lead.Sized(22)
	headType = panel.Group.Sized(15)
)

func (d *table) paint(p *panel.Pen, page int) {
	t, r := d.o.Theme, d.o.Report
	area := d.cell.Area
	p.Text(d.o.Title, tableEdge, 52, panel.Start, panel.Head.Sized(34), t.Ink)
	runs := "1 run"
	if r.Runs != 1 {
		runs = fmt.Sprintf("%d runs", r.Runs)
	}
	sum := fmt.Sprintf("%s    ✓ %d started    ■ %d unsafe", runs, r.Started, r.Unsafe)
	if r.Late > 0 {
		sum += fmt.Sprintf("    %d began late, not among the times", r.Late)
	}
	if d.o.Left > 0 {
		sum += fmt.Sprintf("    %d could not be read", d.o.Left)
	}
	p.Text(sum, tableEdge, 94, panel.Start, panel.Head.Sized(26).Weighted(fonts.WeightMedium), t.Ink2)
	if r.Runs == 0 {
		p.Text("No run of this drill has been delivered yet.", tableEdge, tableTop, panel.Start, stepType, t.Ink2)
		return
	}
	right := area.W - tableEdge - nextWidth - 48
	x0 := tableEdge + nameWidth
	p.Text("STEP", tableEdge, 140, panel.Start, headType, t.Ink3)
	const times = "ITS TIME: ALL, THE MIDDLE HALF, THE MEDIAN"
	should := p.Text("AS IT SHOULD", right, 140, panel.End, headType, t.Ink3)
	p.Text(times, x0, 140, panel.Start, p.Fit(times, headType, right-should-24-x0, 10), t.Ink3)
	for i := page * stepsOnPage; i < min(len(r.Steps), (page+1)*stepsOnPage); i++ {
		s := r.Steps[i]
		y := tableTop + float64(i-page*stepsOnPage)*tableStep
		d.row(p, s, y, x0, right-110)
		good := s.Reached - int(s.Trouble()*float64(s.Reached)+0.5)
		p.Text(fmt.Sprintf("%d of %d", good, s.Reached), right, y, panel.End, timeType, t.Ink)
	}
	d.next(p, area.W-tableEdge-nextWidth)
}

// row draws a step: its name, and how its time spread over its window.
func (d *table) row(p *panel.Pen, s classroom.StepSpread, y, x0, x1 float64) {
	t := d.o.Theme
	name := p.Fit(s.Title, stepType, nameWidth-60, 19)
	p.Text(p.Clip(s.Title, name, nameWidth-60), tableEdge+32, y, panel.Start, name, t.Ink)
	mark := tableEdge + 10
	switch {
	case s.Verdicts[procedure.Unsafe] > 0:
		p.Square(mark, y-8, 18, t.Warn)
	case s.Trouble() >= 0.25:
		p.Triangle(mark, y-8, 18, t.Caution)
	case s.Trouble() == 0:
		p.Tick(mark, y-8, 18, t.OK)
	}
	longest := max(s.Most, s.Window.Max, time.Second)
	at := func(v time.Duration) float64 { return x0 + (x1-x0-90)*float64(v)/float64(longest) }
	if !s.Window.Zero() {
		p.Box(panel.Rect{X: at(s.Window.Min), Y: y + 8, W: at(s.Window.Max) - at(s.Window.Min), H: 6}, 2, t.OK, t.OK, 0)
	}
	if s.Most == 0 {
		return
	}
	p.Segment(at(s.Least), y-8, at(s.Most), y-8, 3, t.Ink3)
	p.Box(panel.Rect{X: at(s.Lower), Y: y - 18, W: max(3, at(s.Upper)-at(s.Lower)), H: 20}, 3, t.Raised, t.Ink2, 2)
	p.Segment(at(s.Median), y-20, at(s.Median), y+4, 4, t.Ink)
	p.Text(fmt.Sprintf("%.1f s", s.Median.Seconds()), x1, y, panel.End, timeType, t.Ink2)
}

// next says what to drill.
func (d *table) next(p *panel.Pen, x float64) {
	t := d.o.Theme
	p.Text("DRILL NEXT", x, 140, panel.Start, headType, t.Ink3)
	if len(d.o.Report.DrillNext) == 0 {
		p.Text("Every step went as it should.", x, tableTop, panel.Start, timeType, t.Ink2)
		return
	}
	for i, s := range d.o.Report.DrillNext {
		r := panel.Rect{X: x, Y: tableTop - 34 + float64(i)*124, W: nextWidth, H: 108}
		p.Box(r, 10, t.Panel, t.Line, 1)
		p.Text(p.Clip(s.Title, stepType, nextWidth-40), x+20, r.Y+44, panel.Start, stepType, t.Ink)
		p.Text(p.Clip(verdictWords(s), timeType, nextWidth-40), x+20, r.Y+82, panel.Start, timeType, t.Ink2)
	}
	p.Text("green: the window", x, tableTop+3*124, panel.Start, panel.Body.Sized(18), t.Ink3)
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
