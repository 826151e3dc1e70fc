// Package picture shows a chart in a card, in the window's colours.
//
// Make one with [New], place it with [Picture.Place], and give it another chart
// with [Picture.Draw]. A chart is drawn anew for each size, larger than on paper,
// so that its smallest letters are 14 units high.
package picture

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure/chart"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// enlarged is by how much a chart is drawn larger than on paper, where its
// smallest letters are 11 points high.
const enlarged = float64(control.Label) / 11

// Picture is a chart in a card with a title.
type Picture struct {
	Box *fyne.Container

	t     theme.Tokens
	bare  bool
	card  *canvas.Rectangle
	title *canvas.Text
	image *canvas.Image
	chart *chart.Chart
	size  fyne.Size
}

// New makes a picture. An empty title takes the chart's own.
func New(t theme.Tokens, title string, c *chart.Chart) *Picture {
	p := &Picture{
		t: t, card: Card(t),
		title: control.Text(title, control.Body, fonts.WeightSemiBold, t.Ink),
		image: &canvas.Image{FillMode: canvas.ImageFillStretch},
	}
	p.Box = container.NewWithoutLayout(p.card, p.title, p.image)
	p.take(c)
	return p
}

// NewBare makes a picture without card and title, to lie on somebody else's card.
func NewBare(t theme.Tokens, c *chart.Chart) *Picture {
	p := New(t, " ", c)
	p.bare = true
	p.Box.Objects = []fyne.CanvasObject{p.image}
	return p
}

// Card is what a picture lies on.
func Card(t theme.Tokens) *canvas.Rectangle {
	return &canvas.Rectangle{FillColor: t.Panel, StrokeColor: t.Line, StrokeWidth: 1, CornerRadius: 14}
}

// Draw shows another chart under its own title.
func (p *Picture) Draw(c *chart.Chart) {
	p.title.Text = c.Title
	p.title.Refresh()
	p.take(c)
	p.paint()
}

func (p *Picture) take(c *chart.Chart) {
	if p.title.Text == "" {
		p.title.Text = c.Title
	}
	bare := *c
	bare.Title = ""
	p.chart = bare.In(Dress(p.t))
}

// Dress is the window's colours as a chart takes them.
func Dress(t theme.Tokens) chart.Dress {
	return chart.Dress{
		Paper: t.Panel, Hair: t.Line, Faint: theme.Mix(t.Panel, t.Line, .6),
		Ink: t.Ink, Ink2: t.Ink2, Ink3: t.Ink2, Now: t.Now,
		OK: t.OK, OKTint: theme.Mix(t.Panel, t.OK, .16), OKHatch: theme.Mix(t.Panel, t.OK, .34),
		Caution: t.Caution, Warn: t.Warn,
	}
}

// Margins of a card around its drawing.
const edge, head, foot = 20, 46, 14

// HeightFor is how high a picture must be for a drawing of so many points.
func HeightFor(points float64) float32 { return float32(points*enlarged) + head + foot }

// Place puts the picture where it belongs and draws it in that size.
func (p *Picture) Place(x, y, w, h float32) {
	control.Put(p.Box, x, y, w, h)
	control.Put(p.card, 0, 0, w, h)
	control.PutText(p.title, edge, 13)
	inner, top := fyne.NewSize(w-2*edge, h-head-foot), float32(head)
	if p.bare {
		inner, top = fyne.NewSize(w-2*edge, h), 0
	}
	control.Put(p.image, edge, top, inner.Width, inner.Height)
	if inner != p.size {
		p.size = inner
		p.paint()
	}
}

func (p *Picture) paint() {
	if p.size.Width < 60 || p.size.Height < 40 {
		return
	}
	scale := 1.0
	if c := fyne.CurrentApp().Driver().CanvasForObject(p.image); c != nil {
		scale = float64(c.Scale())
	}
	p.image.Image = p.chart.Image(float64(p.size.Width)/enlarged, float64(p.size.Height)/enlarged, scale*enlarged)
	p.image.Refresh()
}
