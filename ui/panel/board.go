package panel

import (
	"image"
	"image/draw"
	"math"

	"fyne.io/fyne/v2"

	"kickover/ui/theme"
)

// The smallest board that every part has room on, in units.
const (
	LeastW = 1280
	LeastH = 800
)

// Board is a picture that mostly stands still. What moves all the time is in
// live cells, each its own small texture; what changes now and then is in inlays,
// which are copied into the picture. The picture itself is shown in tiles that
// leave out what live cells cover and what is plain window, because on software
// OpenGL the price of a frame is the number of pixels it touches.
type Board struct {
	tokens  theme.Tokens
	arrange func(w, h float64)
	scenery func(*Pen)
	cells   []cell
	base    *image.RGBA // the scenery alone
	img     *image.RGBA // the scenery with the inlays
	tiles   tiling
	dirty   []image.Rectangle // of img, since the tiles were last brought up to date
	moved   bool              // a live cell came or went
	stale   bool              // a cell was given something else to show since the last Commit
	size    fyne.Size
	ratio   float64 // device pixels per toolkit unit
	scale   float64 // device pixels per board unit
	// Rebuilt counts how often the scenery was rendered.
	Rebuilt int
}

// cell is what a board needs of a Cell, whatever it shows.
type cell interface {
	object() fyne.CanvasObject // nil for an inlay
	place(*Board)
	repaint()
	covers() (image.Rectangle, bool) // of the board, while it is visible
	lay(dst *image.RGBA, r image.Rectangle)
	free()
}

// NewBoard makes a board. Arrange is called with the board's size in units,
// at least LeastW by LeastH, whenever that changes, and must set every cell's
// Area; scenery then draws what stands still.
func NewBoard(t theme.Tokens, arrange func(w, h float64), scenery func(*Pen)) *Board {
	return &Board{tokens: t, arrange: arrange, scenery: scenery, ratio: 1}
}

// Objects are the board's canvas objects, lowest first. They change: ask each
// time.
func (b *Board) Objects() []fyne.CanvasObject {
	objs := b.tiles.objects()
	for _, c := range b.cells {
		if o := c.object(); o != nil {
			objs = append(objs, o)
		}
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
// still has changed.
func (b *Board) Rebuild() {
	w, h := int(math.Round(float64(b.size.Width)*b.ratio)), int(math.Round(float64(b.size.Height)*b.ratio))
	if w < 1 || h < 1 {
		return
	}
	b.Rebuilt++
	b.scale = math.Min(float64(w)/LeastW, float64(h)/LeastH)
	all := image.Rect(0, 0, w, h)
	b.base, b.img = image.NewRGBA(all), image.NewRGBA(all)
	draw.Draw(b.base, all, image.NewUniform(b.tokens.Ground), image.Point{}, draw.Src)
	b.arrange(float64(w)/b.scale, float64(h)/b.scale)
	b.scenery(newPen(b.base, b.scale, image.Point{}, b.tokens))
	for _, c := range b.cells {
		c.place(b)
		c.repaint()
	}
	b.dirty, b.moved = []image.Rectangle{all}, true
	b.Commit()
}

// Free lets go of all pictures of a board that was taken away: the toolkit holds
// on to what it has shown for another minute. A board that is fitted again has them
// anew.
func (b *Board) Free() {
	b.base, b.img, b.size = nil, nil, fyne.Size{}
	b.tiles.free()
	for _, c := range b.cells {
		c.free()
	}
}

// Commit brings the picture up to date after cells were given what to show.
// Call it once after all of them were.
func (b *Board) Commit() {
	b.stale = false
	if b.img == nil || len(b.dirty) == 0 && !b.moved {
		return
	}
	for _, r := range b.dirty {
		b.compose(r)
	}
	var live []image.Rectangle
	for _, c := range b.cells {
		if r, ok := c.covers(); ok && c.object() != nil {
			live = append(live, r)
		}
	}
	b.tiles.cover(b.img, b.tokens.Ground, live, b.dirty, float32(b.ratio))
	b.dirty, b.moved = b.dirty[:0], false
}

// Stale reports whether anything has changed since the last Commit: then the window
// is painted again, and what else changes is shown for nothing.
func (b *Board) Stale() bool { return b.stale }

// compose lays the scenery and the inlays over it into a region.
func (b *Board) compose(r image.Rectangle) {
	draw.Draw(b.img, r, b.base, r.Min, draw.Src)
	for _, c := range b.cells {
		if c.object() == nil {
			c.lay(b.img, r)
		}
	}
}

// Units turns a place on the canvas into the board's units.
func (b *Board) Units(pos fyne.Position) (x, y float64) {
	if b.scale == 0 {
		return 0, 0
	}
	k := b.ratio / b.scale
	return float64(pos.X) * k, float64(pos.Y) * k
}
