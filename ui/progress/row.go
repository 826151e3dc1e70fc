package progress

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// stepRow is a row of the table that can be chosen.
type stepRow struct {
	widget.BaseWidget
	t       theme.Tokens
	do      func()
	box     *canvas.Rectangle
	bar     *canvas.Rectangle
	title   string
	texts   []*canvas.Text
	chosen  bool
	hovered bool
	focused bool
}

func newStepRow(t theme.Tokens, cells []string, do func()) *stepRow {
	r := &stepRow{t: t, do: do, title: cells[0], box: &canvas.Rectangle{CornerRadius: 8}, bar: &canvas.Rectangle{CornerRadius: 2}}
	for i, c := range cells {
		weight := fonts.WeightRegular
		if i == 0 {
			weight = fonts.WeightMedium
		}
		r.texts = append(r.texts, control.Text(c, 15, weight, t.Ink))
	}
	r.ExtendBaseWidget(r)
	r.paint()
	return r
}

// Choose marks it as the one that is shown.
func (r *stepRow) Choose(on bool) { r.chosen = on; r.paint() }

func (r *stepRow) Tapped(*fyne.PointEvent)        { r.do() }
func (r *stepRow) MouseIn(*desktop.MouseEvent)    { r.hovered = true; r.paint() }
func (r *stepRow) MouseMoved(*desktop.MouseEvent) {}
func (r *stepRow) MouseOut()                      { r.hovered = false; r.paint() }
func (r *stepRow) FocusGained()                   { r.focused = true; r.paint() }
func (r *stepRow) FocusLost()                     { r.focused = false; r.paint() }
func (r *stepRow) TypedRune(rune)                 {}
func (r *stepRow) Cursor() desktop.Cursor         { return desktop.PointerCursor }

// TypedKey chooses it.
func (r *stepRow) TypedKey(e *fyne.KeyEvent) {
	if e.Name == fyne.KeySpace || e.Name == fyne.KeyReturn || e.Name == fyne.KeyEnter {
		r.do()
	}
}

func (r *stepRow) paint() {
	r.box.FillColor, r.box.StrokeWidth, r.box.StrokeColor = r.t.Panel, 0, r.t.Panel
	r.bar.FillColor = r.t.Panel
	if r.hovered {
		r.box.FillColor = theme.Mix(r.t.Panel, r.t.Raised, .6)
		r.bar.FillColor = r.box.FillColor
	}
	if r.chosen {
		r.box.FillColor, r.bar.FillColor = r.t.Raised, r.t.Now
	}
	if r.focused {
		r.box.StrokeWidth, r.box.StrokeColor = 3, r.t.Now
	}
	r.box.Refresh()
	r.bar.Refresh()
}

// CreateRenderer lays the cells out under the table's heads.
func (r *stepRow) CreateRenderer() fyne.WidgetRenderer {
	objects := []fyne.CanvasObject{r.box, r.bar}
	for _, t := range r.texts {
		objects = append(objects, t)
	}
	return &rowRenderer{r, objects}
}

type rowRenderer struct {
	r       *stepRow
	objects []fyne.CanvasObject
}

func (l *rowRenderer) Layout(s fyne.Size) {
	r := l.r
	r.box.Resize(s)
	control.Put(r.bar, 4, 8, 4, s.Height-16)
	y := (s.Height - r.texts[0].MinSize().Height) / 2
	r.texts[0].Text = control.Cut(r.title, 15, fonts.WeightMedium, s.Width-columns[0].from-70)
	r.texts[0].Move(fyne.NewPos(14, y))
	for i, c := range columns {
		t := r.texts[i+1]
		t.Move(fyne.NewPos(s.Width-c.from-t.MinSize().Width, y))
	}
}

func (l *rowRenderer) MinSize() fyne.Size           { return fyne.NewSize(300, rowHeight-2) }
func (l *rowRenderer) Refresh()                     {}
func (l *rowRenderer) Objects() []fyne.CanvasObject { return l.objects }
func (l *rowRenderer) Destroy()                     {}
