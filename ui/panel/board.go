package panel

import (
	"image"
	"image/draw"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"kickover/ui/theme"
)

// The smallest board that every part has room on, in units.
const (
	LeastW = 1280
	LeastH = 800
)

// Board is a picture that stands still with cells over it that change.
type Board struct {
	tokens  theme.Tokens
	arrange func(w, h float64)
	scenery func(*Pen)
	cells   []cell
	back    *canvas.Raster
	img     *image.RGBA
	size    fyne.Size
	ratio   float64 // device pixels per toolkit unit
	scale   float64 // device pixels per board unit
	// Rebuilt counts how often the scenery was rendered.
	Rebuilt int
}

// cell is what a board needs of a Cell, whatever it shows.
type cell interface {
	object() *canvas.Raster
	place(*Board)
	repaint()
}

// NewBoard makes a board. Arrange is called with the board's size in units,
// at least LeastW by LeastH, whenever that changes, and must set every cell's
// Area; scenery then draws what stands still.
func NewBoard(t theme.Tokens, arrange func(w, h float64), scenery func(*Pen)) *Board {
	b := &Board{tokens: t, arrange: arrange, scenery: scenery, ratio: 1}
	b.back = canvas.NewRaster(b.background)
	return b
}

// Objects are the board's canvas objects, the scenery first.
func (b *Board) Objects() []fyne.CanvasObject {
	objs := []fyne.CanvasObject{b.back}
	for _, c := range b.cells {
		objs = append(objs, c.object())
	}
	return objs
}

// Resize fits the board to a window's content, in toolkit units, with ratio
// device pixels to each. Nothing is rendered when neither has changed.
func (b *Board) Resize(size fyne.Size, ratio float64) {
	if size == b.size && ratio == b.ratio || size.Width < 1 || size.Height < 1 {
		return
	}
	b.size, b.ratio = size, ratio
	b.Rebuild()
}

// Dress changes the colours.
func (b *Board) Dress(t theme.Tokens) {
	b.tokens = t
	b.Rebuild()
}

// Rebuild renders the scenery and every cell anew. Call it when what stands
// still has changed: another aircraft, another size.
func (b *Board) Rebuild() {
	w, h := int(math.Round(float64(b.size.Width)*b.ratio)), int(math.Round(float64(b.size.Height)*b.ratio))
	if w < 1 || h < 1 {
		return
	}
	b.render(w, h)
	b.back.Resize(b.size)
	b.back.Refresh()
	for _, c := range b.cells {
		c.object().Refresh()
	}
}

func (b *Board) render(w, h int) {
	b.Rebuilt++
	b.scale = math.Min(float64(w)/LeastW, float64(h)/LeastH)
	b.img = image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(b.img, b.img.Rect, image.NewUniform(b.tokens.Ground), image.Point{}, draw.Src)
	b.arrange(float64(w)/b.scale, float64(h)/b.scale)
	b.scenery(newPen(b.img, b.scale, image.Point{}, b.tokens))
	for _, c := range b.cells {
		c.place(b)
		c.repaint()
	}
}

// background is asked for by the painter, which alone knows the true number of
// device pixels; where the guess was wrong the board is rendered again.
func (b *Board) background(w, h int) image.Image {
	if b.img == nil || b.img.Rect.Dx() != w || b.img.Rect.Dy() != h {
		if b.size.Width > 0 {
			b.ratio = float64(w) / float64(b.size.Width)
		}
		b.render(w, h)
	}
	return b.img
}

// Units turns a place on the canvas into the board's units.
func (b *Board) Units(pos fyne.Position) (x, y float64) {
	if b.scale == 0 {
		return 0, 0
	}
	k := b.ratio / b.scale
	return float64(pos.X) * k, float64(pos.Y) * k
}

// Tokens are the colours the board is dressed in.
func (b *Board) Tokens() theme.Tokens { return b.tokens }

// Cell is a piece of a board that shows a value of type T.
type Cell[T comparable] struct {
	// Area is where it is, set by the board's arrange function.
	Area  Rect
	paint func(*Pen, T)
	// base, if any, draws what lies under the value and is kept while same holds.
	base   func(*Pen, T)
	same   func(a, b T) bool
	under  *image.RGBA
	based  T
	board  *Board
	raster *canvas.Raster
	img    *image.RGBA
	pen    *Pen
	at     image.Point
	value  T
	hidden bool
	// Painted counts repaints, for benchmarks and tests.
	Painted int
}

// NewCell puts a cell on a board, above those that were put there before. It
// is hidden until it is given something to show.
func NewCell[T comparable](b *Board, paint func(*Pen, T)) *Cell[T] {
	c := &Cell[T]{board: b, paint: paint, hidden: true}
	c.raster = canvas.NewRaster(c.picture)
	c.raster.ScaleMode = canvas.ImageScalePixels
	c.raster.Hide()
	b.cells = append(b.cells, c)
	return c
}

// Base gives the cell a picture of its own to paint over. It is rendered anew
// only between two values that are not the same.
func (c *Cell[T]) Base(same func(a, b T) bool, paint func(*Pen, T)) *Cell[T] {
	c.same, c.base = same, paint
	return c
}

// nothing is what a cell without an area shows.
var nothing = image.NewRGBA(image.Rect(0, 0, 1, 1))

func (c *Cell[T]) picture(int, int) image.Image {
	if c.img == nil {
		return nothing
	}
	return c.img
}

// Show gives the cell its value; it repaints only if that is another one.
func (c *Cell[T]) Show(v T) {
	if !c.hidden && v == c.value {
		return
	}
	c.value = v
	if c.hidden {
		c.hidden = false
		c.repaint()
		c.raster.Show()
		return
	}
	c.repaint()
	c.raster.Refresh()
}

// Hide takes the cell off the board.
func (c *Cell[T]) Hide() {
	if !c.hidden {
		c.hidden = true
		c.raster.Hide()
	}
}

// Visible reports whether the cell is shown.
func (c *Cell[T]) Visible() bool { return !c.hidden }

// Value is what the cell was last given to show.
func (c *Cell[T]) Value() T { return c.value }

func (c *Cell[T]) object() *canvas.Raster { return c.raster }

func (c *Cell[T]) place(b *Board) {
	x0, y0 := int(math.Floor(c.Area.X*b.scale)), int(math.Floor(c.Area.Y*b.scale))
	x1, y1 := int(math.Ceil((c.Area.X+c.Area.W)*b.scale)), int(math.Ceil((c.Area.Y+c.Area.H)*b.scale))
	c.at = image.Pt(x0, y0)
	if x1 <= x0 || y1 <= y0 {
		c.img, c.pen = nil, nil
		return
	}
	c.img = image.NewRGBA(image.Rect(0, 0, x1-x0, y1-y0))
	c.under = nil
	c.pen = newPen(c.img, b.scale, c.at, b.tokens)
	k := float32(1 / b.ratio)
	c.raster.Move(fyne.NewPos(float32(x0)*k, float32(y0)*k))
	c.raster.Resize(fyne.NewSize(float32(x1-x0)*k, float32(y1-y0)*k))
}

func (c *Cell[T]) repaint() {
	if c.hidden || c.img == nil {
		return
	}
	c.Painted++
	if c.base == nil {
		draw.Draw(c.img, c.img.Rect, c.board.img, c.at, draw.Src)
	} else {
		c.rebase()
		copy(c.img.Pix, c.under.Pix)
	}
	c.paint(c.pen, c.value)
}

func (c *Cell[T]) rebase() {
	if c.under != nil && c.same(c.based, c.value) {
		return
	}
	if c.under == nil {
		c.under = image.NewRGBA(c.img.Rect)
	}
	draw.Draw(c.under, c.under.Rect, c.board.img, c.at, draw.Src)
	c.base(newPen(c.under, c.board.scale, c.at, c.board.tokens), c.value)
	c.based = c.value
}
