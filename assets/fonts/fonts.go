// Package fonts carries the typeface that every screen and every drawing uses:
// Inter, in four weights, with all digits of one width.
//
// Call [Face] for drawing into images, or hand the bytes ([Regular], [Medium],
// [SemiBold], [Bold]) to a toolkit. The licence travels with the files and in
// [License].
package fonts

import (
	_ "embed"
	"fmt"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The font files, OpenType with CFF outlines.
var (
	//go:embed Inter-Regular.otf
	Regular []byte
	//go:embed Inter-Medium.otf
	Medium []byte
	//go:embed Inter-SemiBold.otf
	SemiBold []byte
	//go:embed Inter-Bold.otf
	Bold []byte
	// License is the text of the SIL Open Font License with the copyright line.
	//go:embed OFL.txt
	License string
)

// Weight is one of the four weights.
type Weight int

// The weights.
const (
	WeightRegular Weight = iota
	WeightMedium
	WeightSemiBold
	WeightBold
)

type faceKey struct {
	weight Weight
	size   float64
}

var (
	mu     sync.Mutex
	parsed [4]*opentype.Font
	faces  = map[faceKey]font.Face{}
)

// Face gives the face of a weight at a size in pixels per em. Faces are kept:
// the same weight and size give the same face. A face is not safe for use by
// two goroutines at once; drawing belongs to the window's goroutine.
func Face(w Weight, px float64) (font.Face, error) {
	mu.Lock()
	defer mu.Unlock()
	key := faceKey{w, px}
	if f, ok := faces[key]; ok {
		return f, nil
	}
	if w < WeightRegular || w > WeightBold {
		return nil, fmt.Errorf("font weight %d: there are weights 0 to 3", w)
	}
	if parsed[w] == nil {
		f, err := opentype.Parse([][]byte{Regular, Medium, SemiBold, Bold}[w])
		if err != nil {
			return nil, fmt.Errorf("reading embedded font of weight %d: %w", w, err)
		}
		parsed[w] = f
	}
	// 72 dots to the inch makes a point a pixel.
	f, err := opentype.NewFace(parsed[w], &opentype.FaceOptions{Size: px, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		return nil, fmt.Errorf("font of weight %d at %g px: %w", w, px, err)
	}
	k := kerned{Face: f, font: parsed[w], ppem: fixed.Int26_6(px*64 + 0.5), pairs: map[[2]rune]fixed.Int26_6{}, buf: new(sfnt.Buffer)}
	faces[key] = k
	return k, nil
}

// kerned is a face whose kerning is of its own size: opentype.Face.Kern
// answers in the font's units whatever the size.
type kerned struct {
	font.Face
	font  *sfnt.Font
	ppem  fixed.Int26_6
	pairs map[[2]rune]fixed.Int26_6
	buf   *sfnt.Buffer
}

func (k kerned) Kern(a, b rune) fixed.Int26_6 {
	pair := [2]rune{a, b}
	if v, ok := k.pairs[pair]; ok {
		return v
	}
	v := k.look(a, b)
	k.pairs[pair] = v
	return v
}

// look finds a pair's kerning in the font; a pair it does not know has none.
func (k kerned) look(a, b rune) fixed.Int26_6 {
	x, errA := k.font.GlyphIndex(k.buf, a)
	y, errB := k.font.GlyphIndex(k.buf, b)
	if errA != nil || errB != nil {
		return 0
	}
	v, err := k.font.Kern(k.buf, x, y, k.ppem, font.HintingNone)
	if err != nil {
		return 0
	}
	return v
}
