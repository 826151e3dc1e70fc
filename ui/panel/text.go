package panel

import (
	"image"
	"image/color"
	"math"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/math/fixed"

	"kickover/assets/fonts"
)

// Type is a size in units, a weight, and the space added between letters.
type Type struct {
	Size   float64
	Weight fonts.Weight
	Track  float64 // units
}

// The scale of type.
var (
	Tiny    = Type{Size: 11, Weight: fonts.WeightMedium}
	Small   = Type{Size: 12, Weight: fonts.WeightRegular}
	Label   = Type{Size: 13, Weight: fonts.WeightSemiBold}
	Body    = Type{Size: 14, Weight: fonts.WeightMedium}
	Lead    = Type{Size: 17, Weight: fonts.WeightMedium}
	Title   = Type{Size: 17, Weight: fonts.WeightBold}
	Head    = Type{Size: 30, Weight: fonts.WeightBold}
	Group   = Type{Size: 12, Weight: fonts.WeightSemiBold, Track: 1.6}
	Value   = Type{Size: 26, Weight: fonts.WeightBold}
	Numeral = Type{Size: 72, Weight: fonts.WeightBold}
)

// Sized gives the type at another size.
func (t Type) Sized(size float64) Type { t.Size = size; return t }

// Weighted gives the type in another weight.
func (t Type) Weighted(w fonts.Weight) Type { t.Weight = w; return t }

// Anchor says which part of a line of text stands at its x.
type Anchor int

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

func (p *Pen) face(t Type) font.Face {
	f, err := fonts.Face(t.Weight, math.Max(6, t.Size*p.scale))
	if err != nil {
		// The fonts are embedded and a test opens all four.
		panic(err)
	}
	return f
}

// Text draws one line with its baseline at y and gives its width in units.
func (p *Pen) Text(s string, x, y float64, a Anchor, t Type, c color.NRGBA) float64 {
	f := p.face(t)
	w := p.Measure(s, t)
	switch a {
	case Middle:
		x -= w / 2
	case End:
		x -= w
	}
	dot := fixed.Point26_6{X: fixed.Int26_6(p.px(x) * 64), Y: fixed.I(int(math.Round(p.py(y))))}
	src := image.NewUniform(c)
	track := fixed.Int26_6(t.Track * p.scale * 64)
	prev := rune(-1)
	for _, r := range s {
		if prev >= 0 {
			dot.X += f.Kern(prev, r) + track
		}
		dr, mask, mp, adv, ok := f.Glyph(dot, r)
		if ok {
			drawMask(p.img, dr, src, mask, mp)
		}
		dot.X += adv
		prev = r
	}
	return w
}

// Measure gives the width of a line in units.
func (p *Pen) Measure(s string, t Type) float64 {
	f := p.face(t)
	var w fixed.Int26_6
	prev := rune(-1)
	for _, r := range s {
		if prev >= 0 {
			w += f.Kern(prev, r) + fixed.Int26_6(t.Track*p.scale*64)
		}
		a, ok := f.GlyphAdvance(r)
		if !ok {
			a, _ = f.GlyphAdvance('?')
		}
		w += a
		prev = r
	}
	return float64(w) / 64 / p.scale
}

// Fit is the largest size of t, down to least, at which s is no wider than w.
func (p *Pen) Fit(s string, t Type, w, least float64) Type {
	for t.Size > least && p.Measure(s, t) > w {
		t.Size -= 0.5
	}
	return t
}

// Wrap breaks a text into lines no wider than w.
func (p *Pen) Wrap(s string, t Type, w float64) []string {
	var lines []string
	for _, par := range strings.Split(s, "\n") {
		line := ""
		for _, word := range strings.Fields(par) {
			if line != "" && p.Measure(line+" "+word, t) > w {
				lines = append(lines, line)
				line = word
				continue
			}
			line = strings.TrimSpace(line + " " + word)
		}
		lines = append(lines, line)
	}
	return lines
}

// Paragraph draws wrapped text, its first baseline at y, at most max lines
// (zero is no limit; what does not fit ends in an ellipsis), and gives the
// baseline of the line that would follow.
func (p *Pen) Paragraph(s string, x, y, w, leading float64, max int, a Anchor, t Type, c color.NRGBA) float64 {
	lines := p.Wrap(s, t, w)
	if max > 0 && len(lines) > max {
		lines = lines[:max]
		last := lines[max-1]
		for last != "" && p.Measure(last+"…", t) > w {
			last = last[:strings.LastIndexByte(strings.TrimSuffix(" "+last, " "), ' ')]
		}
		lines[max-1] = last + "…"
	}
	for _, l := range lines {
		p.Text(l, x, y, a, t, c)
		y += leading
	}
	return y
}
