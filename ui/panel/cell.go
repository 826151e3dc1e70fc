package panel

import (
	"image"
	"image/draw"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
)

// Cell is a piece of a board that shows a value of type T. It repaints only
// when it is given another value.
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
	raster *canvas.Raster // nil for an inlay
	img    *image.RGBA
	pen    *Pen
	at     image.Point
	value  T
	hidden bool
	// Painted counts repaints, for benchmarks and tests.
	Painted int
}

// NewCell puts a live cell on a board, for what moves. It is hidden until it is
// given something to show.
func NewCell[T comparable](b *Board, paint func(*Pen, T)) *Cell[T] {
	c := NewInlay(b, paint)
	c.raster = canvas.NewRaster(func(int, int) image.Image { return picture(c.img) })
	c.raster.ScaleMode = canvas.ImageScalePixels
	c.raster.Hide()
	return c
}

// NewInlay puts a cell on a board for what changes now and then: it costs more
// to change and nothing to keep. Of two that overlap the later is on top; live
// cells are above all inlays.
func NewInlay[T comparable](b *Board, paint func(*Pen, T)) *Cell[T] {
	c := &Cell[T]{board: b, paint: paint, hidden: true}
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

func picture(img *image.RGBA) image.Image {
	if img == nil {
		return nothing
	}
	return img
}

// Show gives the cell its value; it repaints only if that is another one.
func (c *Cell[T]) Show(v T) {
	if !c.hidden && v == c.value {
		return
	}
	was := c.hidden
	c.value, c.hidden, c.board.stale = v, false, true
	c.repaint()
	switch {
	case c.raster == nil:
		c.changed()
	case was:
		c.board.moved = true
		c.raster.Show()
		c.raster.Refresh() // or it shows what it held when it was hidden
	default:
		c.raster.Refresh()
	}
}

// Hide takes the cell off the board.
func (c *Cell[T]) Hide() {
	if c.hidden {
		return
	}
	c.hidden, c.board.stale = true, true
	if c.raster == nil {
		c.changed()
		return
	}
	c.board.moved = true
	c.raster.Hide()
}

func (c *Cell[T]) changed() {
	if c.img != nil {
		c.board.dirty = append(c.board.dirty, c.img.Rect.Add(c.at))
	}
}

// Visible reports whether the cell is shown.
func (c *Cell[T]) Visible() bool { return !c.hidden }

// Value is what the cell was last given to show.
func (c *Cell[T]) Value() T { return c.value }

func (c *Cell[T]) object() fyne.CanvasObject {
	if c.raster == nil {
		return nil
	}
	return c.raster
}

func (c *Cell[T]) covers() (image.Rectangle, bool) {
	if c.hidden || c.img == nil {
		return image.Rectangle{}, false
	}
	return c.img.Rect.Add(c.at), true
}

func (c *Cell[T]) lay(dst *image.RGBA, r image.Rectangle) {
	if !c.hidden && c.img != nil {
		r = r.Intersect(c.img.Rect.Add(c.at))
		draw.Draw(dst, r, c.img, r.Min.Sub(c.at), draw.Src)
	}
}

func (c *Cell[T]) place(b *Board) {
	x0, y0 := int(math.Floor(c.Area.X*b.scale)), int(math.Floor(c.Area.Y*b.scale))
	x1, y1 := int(math.Ceil((c.Area.X+c.Area.W)*b.scale)), int(math.Ceil((c.Area.Y+c.Area.H)*b.scale))
	r := image.Rect(x0, y0, x1, y1).Intersect(b.base.Rect)
	c.at, c.under, c.img, c.pen = r.Min, nil, nil, nil
	if r.Empty() {
		return
	}
	c.img = image.NewRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	c.pen = newPen(c.img, b.scale, c.at, b.tokens)
	if c.raster != nil {
		spread(c.raster, r, float32(b.ratio))
		c.raster.Refresh()
	}
}

func (c *Cell[T]) free() { c.img, c.under, c.pen = nil, nil, nil }

// spread puts a raster over a rectangle of device pixels.
func spread(o *canvas.Raster, r image.Rectangle, ratio float32) {
	o.Move(fyne.NewPos(float32(r.Min.X)/ratio, float32(r.Min.Y)/ratio))
	o.Resize(fyne.NewSize(float32(r.Dx())/ratio, float32(r.Dy())/ratio))
}

func (c *Cell[T]) repaint() {
	if c.hidden || c.img == nil {
		return
	}
	c.Painted++
	if c.base == nil {
		draw.Draw(c.img, c.img.Rect, c.board.base, c.at, draw.Src)
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
	draw.Draw(c.under, c.under.Rect, c.board.base, c.at, draw.Src)
	c.base(newPen(c.under, c.board.scale, c.at, c.board.tokens), c.value)
	c.based = c.value
}
