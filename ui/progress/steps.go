package progress

import (
	"fmt"
	"image/color"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/chart"
	"kickover/procedure/proficiency"
	"kickover/ui/control"
	"kickover/ui/picture"
)

type canvasColor = color.Color

// steps is the table of all steps, and one of them in detail.
func (s *Screen) steps() part {
	t := s.o.Theme
	table, detail := newTable(s), newDetail(s)
	heading := control.Text("Step by step", 22, fonts.WeightBold, t.Ink)
	table.choose = func(i int) {
		table.mark(i)
		detail.show(&s.look.Report.Steps[i])
	}
	table.choose(firstToShow(s.look.Report))
	taken := chart.Confusions(s.look.Report)
	confusions := picture.New(t, "", taken)
	box := container.NewWithoutLayout(heading, table.box, confusions.Box, detail.box)
	return part{box, func(w float32) float32 {
		const top = 46
		control.PutText(heading, 0, 8)
		low := picture.HeightFor(max(taken.Height, 110))
		if w < narrow {
			rows, detailed := table.place(w), detail.place(w)
			control.Put(table.box, 0, top, w, rows)
			control.Put(detail.box, 0, top+rows+gap, w, detailed)
			confusions.Place(0, top+rows+detailed+2*gap, w, low)
			return top + rows + detailed + 2*gap + low
		}
		left := w * .47
		rows, right := table.place(left), detail.place(w-left-gap)
		control.Put(table.box, 0, top, left, rows)
		confusions.Place(0, top+rows+gap, left, low)
		control.Put(detail.box, left+gap, top, w-left-gap, right)
		return top + max(rows+gap+low, right)
	}}
}

// narrow is a width in which a table and a step's charts have no room side by
// side.
const narrow = 1060

// firstToShow is the prime, for it decides the start; else the first step.
func firstToShow(r *proficiency.Report) int {
	for i, s := range r.Steps {
		if s.Kind == procedure.StepHold {
			return i
		}
	}
	return 0
}

// table has a row a step: how long it takes and how often it is as it should be.
type table struct {
	s      *Screen
	box    *fyne.Container
	card   *canvas.Rectangle
	heads  []*canvas.Text
	rows   []*stepRow
	choose func(int)
}

// The columns of the table, by their right ends from the right, in units.
var columns = []struct {
	name string
	from float32
}{{"median", 254}, {"middle half", 158}, {"on time", 80}, {"last ten", 12}}

const rowHeight = 36

func newTable(s *Screen) *table {
	t := &table{s: s, card: picture.Card(s.o.Theme)}
	t.box = container.NewWithoutLayout(t.card)
	for _, c := range columns {
		h := control.Text(c.name, control.Label, fonts.WeightRegular, s.o.Theme.Ink2)
		t.heads = append(t.heads, h)
		t.box.Add(h)
	}
	for i := range s.look.Report.Steps {
		row := newStepRow(s.o.Theme, cellsOf(&s.look.Report.Steps[i]), func() { t.choose(i) })
		t.rows = append(t.rows, row)
		t.box.Add(row)
	}
	return t
}

// cellsOf writes a step's row: its title, then a cell a column.
func cellsOf(s *proficiency.StepReport) []string {
	cells := []string{s.Title, "—", "—", "—", "—"}
	if s.Time.N > 0 {
		cells[1] = fmt.Sprintf("%.1f s", s.Time.Median)
		cells[2] = fmt.Sprintf("%.1f–%.1f s", s.Time.Low, s.Time.High)
	}
	if s.Inside.N > 0 {
		cells[3] = fmt.Sprintf("%d of %d", s.Inside.Of, s.Inside.N)
		cells[4] = fmt.Sprint(s.Recent.Of)
		if s.Recent.N < 10 {
			cells[4] = fmt.Sprintf("%d/%d", s.Recent.Of, s.Recent.N)
		}
	}
	return cells
}

func (t *table) mark(chosen int) {
	for i, r := range t.rows {
		r.Choose(i == chosen)
	}
}

func (t *table) place(w float32) float32 {
	for i, c := range columns {
		m := t.heads[i].MinSize()
		control.PutText(t.heads[i], w-8-c.from-m.Width, 12)
	}
	y := float32(38)
	for _, r := range t.rows {
		control.Put(r, 8, y, w-16, rowHeight-2)
		y += rowHeight
	}
	control.Put(t.card, 0, 0, w, y+10)
	return y + 10
}

// detail is one step: what is said of it, and its charts.
type detail struct {
	s        *Screen
	box      *fyne.Container
	card     *canvas.Rectangle
	text     *fyne.Container
	every    *picture.Picture
	ranges   *picture.Picture
	learning *picture.Picture
	step     *proficiency.StepReport
	width    float32
}

func newDetail(s *Screen) *detail {
	t := s.o.Theme
	empty := &proficiency.StepReport{}
	d := &detail{
		s: s, card: picture.Card(t), text: container.NewWithoutLayout(),
		every: picture.New(t, "", chart.Individuals(empty)), ranges: picture.New(t, "", chart.Ranges(empty)), learning: picture.New(t, "", chart.Learning(empty)),
	}
	d.box = container.NewWithoutLayout(d.card, d.text, d.every.Box, d.ranges.Box, d.learning.Box)
	return d
}

// show turns to another step.
func (d *detail) show(step *proficiency.StepReport) {
	d.step = step
	d.every.Draw(chart.Individuals(step))
	d.ranges.Draw(chart.Ranges(step))
	d.learning.Draw(chart.Learning(step))
	if d.width > 0 {
		d.place(d.width)
		d.box.Refresh()
	}
}

// saidHigh is the room for what is said of a step, so that the charts do not move
// from one step to the next.
const saidHigh = 230

func (d *detail) place(w float32) float32 {
	d.width = w
	t := d.s.o.Theme
	d.text.RemoveAll()
	c := &words{d.text, 16, w - 40}
	c.say(d.step.Title, control.Body, fonts.WeightSemiBold, t.Ink)
	sentences := d.step.Words()
	if p := d.s.look.Report.Prime; p != nil && d.step.Kind == procedure.StepHold {
		sentences = append(p.Words(), sentences...)
	}
	for _, sentence := range sentences {
		c.say(sentence, 15, fonts.WeightRegular, t.Ink2)
	}
	y := max(saidHigh, c.y+12)
	control.Put(d.card, 0, 0, w, y)
	every, ranges, learning := picture.HeightFor(185), picture.HeightFor(100), picture.HeightFor(175)
	y += gap
	d.every.Place(0, y, w, every)
	y += every + gap
	d.ranges.Place(0, y, w, ranges)
	y += ranges + gap
	d.learning.Place(0, y, w, learning)
	return y + learning
}

// habits are how often each step is on time, and where the time goes.
func (s *Screen) habits() part {
	t := s.o.Theme
	share, time := chart.Share(s.look.Report), chart.Hesitation(s.look.Report)
	pictures := []*picture.Picture{picture.New(t, "", share), picture.New(t, "", time)}
	box := container.NewWithoutLayout(pictures[0].Box, pictures[1].Box)
	return part{box, func(w float32) float32 {
		h := picture.HeightFor(max(share.Height, time.Height) - 10)
		if w < stacked {
			pictures[0].Place(0, 0, w, h)
			pictures[1].Place(0, h+gap, w, h)
			return 2*h + gap
		}
		half := (w - gap) / 2
		pictures[0].Place(0, 0, half, h)
		pictures[1].Place(half+gap, 0, half, h)
		return h
	}}
}

func day(t time.Time) string { return t.Local().Format("2 January 2006") }
