package control

import (
	"sort"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

// Row is one of a list that can be chosen or opened: a title, a quieter line
// under it, and a word at its end.
type Row struct {
	pressable
	chosen bool
	box    *canvas.Rectangle
	bar    *canvas.Rectangle
	title  *canvas.Text
	note   *canvas.Text
	end    *canvas.Text
	name   string
	full   string
	size   fyne.Size
}

// NewRow makes a row.
func NewRow(t theme.Tokens, title, note, end string, do func()) *Row {
	r := &Row{
		box: &canvas.Rectangle{CornerRadius: 10}, bar: &canvas.Rectangle{CornerRadius: 2},
		title: Text(title, Body, fonts.WeightSemiBold, t.Ink),
		note:  Text(note, Label, fonts.WeightRegular, t.Ink2),
		end:   Text(end, Label, fonts.WeightSemiBold, t.Ink2),
		name:  title,
		full:  note,
	}
	r.tokens, r.press, r.redraw = t, do, r.paint
	r.adopt(r)
	r.paint()
	return r
}

// Choose marks it as the chosen one, or not.
func (r *Row) Choose(on bool) {
	r.chosen = on
	r.paint()
}

// Tapped opens or chooses it.
func (r *Row) Tapped(*fyne.PointEvent) { r.press() }

func (r *Row) paint() {
	t := r.tokens
	r.box.FillColor, r.box.StrokeColor, r.box.StrokeWidth = t.Panel, t.Line, 1
	r.bar.FillColor = t.Panel
	if r.hovered {
		r.box.FillColor = theme.Mix(t.Panel, t.Raised, 0.6)
		r.bar.FillColor = r.box.FillColor
	}
	if r.chosen {
		r.box.FillColor, r.bar.FillColor = t.Raised, t.Now
	}
	if r.focused {
		r.box.StrokeColor, r.box.StrokeWidth = t.Now, 3
	}
	r.box.Refresh()
	r.bar.Refresh()
}

// CreateRenderer lays out the row. A note that has no room beside the word at the
// end has it above itself, and is cut to what fits.
func (r *Row) CreateRenderer() fyne.WidgetRenderer {
	return &layoutRenderer{objects: []fyne.CanvasObject{r.box, r.bar, r.title, r.note, r.end},
		min: func() fyne.Size { return fyne.NewSize(220, 64) },
		layout: func(s fyne.Size) {
			r.size = s
			r.box.Resize(s)
			r.bar.Move(fyne.NewPos(7, 12))
			r.bar.Resize(fyne.NewSize(4, s.Height-24))
			e := r.end.MinSize()
			end, room := (s.Height-e.Height)/2, s.Width-36-e.Width-12
			if e.Width > 0 && Width(r.full, Label, fonts.WeightRegular) > room {
				end, room = 12, s.Width-36
			}
			r.title.Text = Cut(r.name, Body, fonts.WeightSemiBold, s.Width-36-e.Width-12)
			r.note.Text = Cut(r.full, Label, fonts.WeightRegular, room)
			r.title.Move(fyne.NewPos(20, 10))
			r.note.Move(fyne.NewPos(20, 34))
			r.end.Move(fyne.NewPos(s.Width-e.Width-18, end))
		}}
}

// Cut shortens a line to what fits in a width, with an ellipsis.
func Cut(s string, size float32, w fonts.Weight, room float32) string {
	if Width(s, size, w) <= room {
		return s
	}
	runes := []rune(s)
	cut := func(n int) string { return string(runes[:n]) + "…" }
	// The first length that no longer fits; setting type is slow, so few tries.
	n := sort.Search(len(runes), func(n int) bool { return Width(cut(n), size, w) > room })
	if n < 2 {
		return ""
	}
	return cut(n - 1)
}
