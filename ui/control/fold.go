package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

// Fold is one of a list of which one is open: a title and a word at its end, and
// on the open one a few lines in full below them.
type Fold struct {
	pressable
	text  string
	open  bool
	box   *canvas.Rectangle
	bar   *canvas.Rectangle
	title *canvas.Text
	end   *canvas.Text
	lines *fyne.Container
}

// Heights of a fold, in units: closed, and what frames the lines of an open one.
const (
	foldClosed = 46
	foldFrame  = 56
)

// NewFold makes a fold that is closed.
func NewFold(t theme.Tokens, title, text, end string, do func()) *Fold {
	f := &Fold{
		text: text,
		box:  &canvas.Rectangle{CornerRadius: 10}, bar: &canvas.Rectangle{CornerRadius: 2},
		title: Text(title, Body, fonts.WeightSemiBold, t.Ink), end: Text(end, Label, fonts.WeightSemiBold, t.Ink2),
		lines: container.NewWithoutLayout(),
	}
	f.tokens, f.press, f.redraw = t, do, f.paint
	f.adopt(f)
	f.paint()
	return f
}

// Open opens it, or closes it.
func (f *Fold) Open(on bool) {
	f.open = on
	f.lines.Objects = nil
	f.paint()
}

// High is how high it stands at a width.
func (f *Fold) High(width float32) float32 {
	if !f.open || f.text == "" {
		return foldClosed
	}
	return foldFrame + float32(len(Lines(f.text, Label, fonts.WeightRegular, width-40)))*Label*1.45
}

// Tapped opens it.
func (f *Fold) Tapped(*fyne.PointEvent) { f.press() }

func (f *Fold) paint() {
	t := f.tokens
	f.box.FillColor, f.box.StrokeColor, f.box.StrokeWidth = t.Ground, t.Line, 1
	f.bar.FillColor, f.title.Color = t.Ground, t.Ink
	if f.hovered {
		f.box.FillColor, f.bar.FillColor = t.Panel, t.Panel
	}
	if f.open {
		f.box.FillColor, f.bar.FillColor = t.Raised, t.Now
	}
	if f.focused {
		f.box.StrokeColor, f.box.StrokeWidth = t.Now, 3
	}
	f.box.Refresh()
	f.bar.Refresh()
}

// CreateRenderer lays the fold out.
func (f *Fold) CreateRenderer() fyne.WidgetRenderer {
	return &layoutRenderer{objects: []fyne.CanvasObject{f.box, f.bar, f.title, f.end, f.lines},
		min: func() fyne.Size { return fyne.NewSize(220, foldClosed) },
		layout: func(s fyne.Size) {
			f.box.Resize(s)
			Put(f.bar, 7, 11, 4, s.Height-22)
			PutText(f.title, 20, (foldClosed-f.title.MinSize().Height)/2)
			e := f.end.MinSize()
			PutText(f.end, s.Width-e.Width-18, (foldClosed-e.Height)/2)
			f.lines.Objects = nil
			if f.open && f.text != "" {
				p, _ := Paragraph(f.text, Label, fonts.WeightRegular, f.tokens.Ink2, s.Width-40)
				p.Move(fyne.NewPos(20, foldClosed-4))
				f.lines.Objects = []fyne.CanvasObject{p}
			}
		}}
}
