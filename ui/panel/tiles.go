package panel

import (
	"image"
	"image/color"
	"image/draw"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
)

// tiling shows the parts of a picture that are worth showing.
type tiling struct {
	tiles []*tile
}

type tile struct {
	at     image.Rectangle
	img    *image.RGBA
	raster *canvas.Raster
}

func newTile() *tile {
	t := &tile{}
	t.raster = canvas.NewRaster(func(int, int) image.Image { return picture(t.img) })
	t.raster.ScaleMode = canvas.ImageScalePixels
	return t
}

func (g *tiling) objects() []fyne.CanvasObject {
	objs := make([]fyne.CanvasObject, 0, len(g.tiles)+32)
	for _, t := range g.tiles {
		objs = append(objs, t.raster)
	}
	return objs
}

// cover tiles a picture, leaving out what is plain and what lies under the live
// rectangles. Tiles that neither moved nor lie in a dirty region are kept.
func (g *tiling) cover(img *image.RGBA, plain color.NRGBA, live, dirty []image.Rectangle, ratio float32) {
	want := tilesFor(img, plain, live)
	old := map[image.Rectangle]*tile{}
	var spare []*tile
	for _, t := range g.tiles {
		if _, twice := old[t.at]; !twice && !touches(t.at, dirty) {
			old[t.at] = t
		} else {
			spare = append(spare, t)
		}
	}
	next := make([]*tile, len(want))
	for i, r := range want {
		next[i] = old[r]
		delete(old, r)
	}
	for _, t := range old {
		spare = append(spare, t)
	}
	for i, r := range want {
		if next[i] != nil {
			continue
		}
		t := newTile()
		if n := len(spare); n > 0 {
			t, spare = spare[n-1], spare[:n-1]
		}
		t.fill(img, r, ratio)
		next[i] = t
	}
	for _, t := range spare {
		t.raster.Hide()
		t.img = nil // the toolkit holds on to the raster for another minute
	}
	g.tiles = next
}

func (g *tiling) free() {
	for _, t := range g.tiles {
		t.img = nil
	}
	g.tiles = nil
}

func (t *tile) fill(img *image.RGBA, r image.Rectangle, ratio float32) {
	t.at = r
	if t.img == nil || t.img.Rect.Dx() != r.Dx() || t.img.Rect.Dy() != r.Dy() {
		t.img = image.NewRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	}
	draw.Draw(t.img, t.img.Rect, img, r.Min, draw.Src)
	spread(t.raster, r, ratio)
	t.raster.Refresh()
}

func touches(r image.Rectangle, dirty []image.Rectangle) bool {
	for _, d := range dirty {
		if r.Overlaps(d) {
			return true
		}
	}
	return false
}

// A tile costs the painter as much as this many pixels do, so that leaving out
// fewer is not worth another tile.
const tilePrice = 4000

// block is the side of the squares in which a picture is looked at, in pixels.
const block = 8

// tilesFor cuts a picture into rectangles that hold everything worth showing.
func tilesFor(img *image.RGBA, plain color.NRGBA, live []image.Rectangle) []image.Rectangle {
	rects := []image.Rectangle{img.Rect}
	for _, l := range live {
		var rest []image.Rectangle
		for _, r := range rects {
			rest = append(rest, without(r, l)...)
		}
		rects = rest
	}
	busy := busyBlocks(img, plain)
	var out []image.Rectangle
	for _, r := range rects {
		out = busy.cut(r, out)
	}
	return out
}

// without is a rectangle less another, in at most four pieces.
func without(r, hole image.Rectangle) []image.Rectangle {
	hole = hole.Intersect(r)
	if hole.Empty() {
		return []image.Rectangle{r}
	}
	var out []image.Rectangle
	for _, p := range []image.Rectangle{
		{r.Min, image.Pt(r.Max.X, hole.Min.Y)},
		{image.Pt(r.Min.X, hole.Max.Y), r.Max},
		{image.Pt(r.Min.X, hole.Min.Y), image.Pt(hole.Min.X, hole.Max.Y)},
		{image.Pt(hole.Max.X, hole.Min.Y), image.Pt(r.Max.X, hole.Max.Y)},
	} {
		if !p.Empty() {
			out = append(out, p)
		}
	}
	return out
}

// blocks says which squares of a picture hold anything but the plain colour.
type blocks struct {
	w, h int
	busy []bool
}

func busyBlocks(img *image.RGBA, plain color.NRGBA) *blocks {
	b := &blocks{w: (img.Rect.Dx() + block - 1) / block, h: (img.Rect.Dy() + block - 1) / block}
	b.busy = make([]bool, b.w*b.h)
	for y := range img.Rect.Dy() {
		row := img.Pix[y*img.Stride:]
		for x := range img.Rect.Dx() {
			if p := row[4*x : 4*x+3 : 4*x+3]; p[0] != plain.R || p[1] != plain.G || p[2] != plain.B {
				b.busy[y/block*b.w+x/block] = true
			}
		}
	}
	return b
}

// cut shrinks a rectangle to what is busy in it and splits it along its widest
// idle bands for as long as that saves more than a tile costs.
func (b *blocks) cut(r image.Rectangle, out []image.Rectangle) []image.Rectangle {
	r = b.shrink(r)
	if r.Empty() {
		return out
	}
	if band, wide := b.idle(r); band.Dx()*band.Dy() > tilePrice {
		first, second := r, r
		if wide {
			first.Max.Y, second.Min.Y = band.Min.Y, band.Max.Y
		} else {
			first.Max.X, second.Min.X = band.Min.X, band.Max.X
		}
		return b.cut(second, b.cut(first, out))
	}
	return append(out, r)
}

// column and row report whether any square of a line within r is busy; the line
// is given in pixels.
func (b *blocks) column(x int, r image.Rectangle) bool {
	for y := r.Min.Y / block; y*block < r.Max.Y; y++ {
		if b.busy[y*b.w+x/block] {
			return true
		}
	}
	return false
}

func (b *blocks) row(y int, r image.Rectangle) bool {
	for x := r.Min.X / block; x*block < r.Max.X; x++ {
		if b.busy[y/block*b.w+x] {
			return true
		}
	}
	return false
}

func (b *blocks) shrink(r image.Rectangle) image.Rectangle {
	for !r.Empty() && !b.row(r.Min.Y, r) {
		r.Min.Y = (r.Min.Y/block + 1) * block
	}
	for !r.Empty() && !b.row(r.Max.Y-1, r) {
		r.Max.Y = (r.Max.Y - 1) / block * block
	}
	for !r.Empty() && !b.column(r.Min.X, r) {
		r.Min.X = (r.Min.X/block + 1) * block
	}
	for !r.Empty() && !b.column(r.Max.X-1, r) {
		r.Max.X = (r.Max.X - 1) / block * block
	}
	return r
}

// idle finds the largest band across r in which nothing is busy, level (wide)
// or upright.
func (b *blocks) idle(r image.Rectangle) (band image.Rectangle, wide bool) {
	best := 0
	try := func(c image.Rectangle, level bool) {
		if a := c.Dx() * c.Dy(); a > best {
			best, band, wide = a, c, level
		}
	}
	from := r.Min.Y
	for y := r.Min.Y; y < r.Max.Y; y = (y/block + 1) * block {
		if b.row(y, r) {
			from = (y/block + 1) * block
			continue
		}
		try(image.Rect(r.Min.X, from, r.Max.X, min((y/block+1)*block, r.Max.Y)), true)
	}
	from = r.Min.X
	for x := r.Min.X; x < r.Max.X; x = (x/block + 1) * block {
		if b.column(x, r) {
			from = (x/block + 1) * block
			continue
		}
		try(image.Rect(from, r.Min.Y, min((x/block+1)*block, r.Max.X), r.Max.Y), false)
	}
	return band, wide
}
