package chart

import (
	"fmt"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// outlined is a canvas whose letters are drawn as outlines. PDF would otherwise
// need the font in a form that its writer cannot embed, SVG would need it
// installed, and each would set the text a little differently.
type outlined struct{ vg.Canvas }

// FillString draws a line of text with its baseline's left end at a point.
func (o outlined) FillString(face font.Face, at vg.Point, text string) {
	var buf sfnt.Buffer
	em := fixed.Int26_6(face.Face.UnitsPerEm())
	scale := face.Font.Size / vg.Length(em)
	var path vg.Path
	var before sfnt.GlyphIndex
	x := at.X
	for i, r := range text {
		glyph, err := face.Face.GlyphIndex(&buf, r)
		if err != nil {
			panic(fmt.Sprintf("chart: the embedded font has no index for %q: %v", r, err))
		}
		if kern, err := face.Face.Kern(&buf, before, glyph, em, 0); err == nil && i > 0 {
			x += vg.Length(kern) * scale
		}
		path = append(path, glyphPath(face.Face, &buf, glyph, em, scale, vg.Point{X: x, Y: at.Y})...)
		advance, err := face.Face.GlyphAdvance(&buf, glyph, em, 0)
		if err != nil {
			panic(fmt.Sprintf("chart: the embedded font has no width for %q: %v", r, err))
		}
		x += vg.Length(advance) * scale
		before = glyph
	}
	if len(path) > 0 {
		o.Fill(path)
	}
}

// glyphPath is a letter's outline with its origin at a point.
func glyphPath(f *sfnt.Font, buf *sfnt.Buffer, glyph sfnt.GlyphIndex, em fixed.Int26_6, scale vg.Length, at vg.Point) vg.Path {
	segments, err := f.LoadGlyph(buf, glyph, em, nil)
	if err != nil {
		panic(fmt.Sprintf("chart: the embedded font has no outline for glyph %d: %v", glyph, err))
	}
	point := func(p fixed.Point26_6) vg.Point {
		return vg.Point{X: at.X + vg.Length(p.X)*scale, Y: at.Y - vg.Length(p.Y)*scale}
	}
	var path vg.Path
	for i, s := range segments {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if i > 0 {
				path.Close()
			}
			path.Move(point(s.Args[0]))
		case sfnt.SegmentOpLineTo:
			path.Line(point(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			path.QuadTo(point(s.Args[0]), point(s.Args[1]))
		case sfnt.SegmentOpCubeTo:
			path.CubeTo(point(s.Args[0]), point(s.Args[1]), point(s.Args[2]))
		}
	}
	if len(path) > 0 {
		path.Close()
	}
	return path
}
