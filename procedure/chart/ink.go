package chart

import (
	"fmt"
	"image/color"
	"sync"

	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"kickover/assets/fonts"
)

// The colours of the light dress: charts are read at a desk and on paper.
var (
	paper   = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	hair    = color.NRGBA{0xb9, 0xb2, 0xa2, 0xff}
	faint   = color.NRGBA{0xe7, 0xe2, 0xd6, 0xff}
	ink     = color.NRGBA{0x14, 0x18, 0x1c, 0xff}
	ink2    = color.NRGBA{0x3c, 0x45, 0x4d, 0xff}
	ink3    = color.NRGBA{0x5a, 0x64, 0x6d, 0xff}
	now     = color.NRGBA{0x1f, 0x4f, 0xd8, 0xff}
	ok      = color.NRGBA{0x0e, 0x7a, 0x43, 0xff}
	okTint  = color.NRGBA{0xdf, 0xec, 0xe4, 0xff}
	okHatch = color.NRGBA{0xb4, 0xd3, 0xc1, 0xff}
	caution = color.NRGBA{0xa6, 0x5a, 0x00, 0xff}
	warn    = color.NRGBA{0xb3, 0x26, 0x1e, 0xff}
)

// typeface sets text in the program's own font, as all its screens do.
var typeface = sync.OnceValue(func() text.Plain {
	var faces font.Collection
	for _, f := range []struct {
		weight xfont.Weight
		data   []byte
	}{
		{xfont.WeightNormal, fonts.Regular}, {xfont.WeightMedium, fonts.Medium},
		{xfont.WeightSemiBold, fonts.SemiBold}, {xfont.WeightBold, fonts.Bold},
	} {
		parsed, err := opentype.Parse(f.data)
		if err != nil {
			panic(fmt.Sprintf("chart: the embedded font cannot be read: %v", err))
		}
		faces = append(faces, font.Face{Font: font.Font{Typeface: "Inter", Weight: f.weight}, Face: parsed})
	}
	return text.Plain{Fonts: font.NewCache(faces)}
})

func style(weight xfont.Weight, size vg.Length, c color.Color) draw.TextStyle {
	return draw.TextStyle{
		Color: c, Font: font.Font{Typeface: "Inter", Weight: weight, Size: size},
		Handler: typeface(),
	}
}

func regular(size vg.Length, c color.Color) draw.TextStyle { return style(xfont.WeightNormal, size, c) }

func medium(size vg.Length, c color.Color) draw.TextStyle { return style(xfont.WeightMedium, size, c) }

func bold(size vg.Length, c color.Color) draw.TextStyle { return style(xfont.WeightSemiBold, size, c) }

// aligned gives a text style another anchor: 0 is its left or bottom, -1 its
// right or top, -0.5 its middle.
func aligned(s draw.TextStyle, x, y float64) draw.TextStyle {
	s.XAlign, s.YAlign = text.XAlignment(x), text.YAlignment(y)
	return s
}

func line(width vg.Length, c color.Color, dashes ...vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: width, Dashes: dashes}
}

// bare is a plot in our dress: hairlines, small figures, no title, no padding.
func bare() *plot.Plot {
	p := plot.New()
	p.TextHandler = typeface()
	p.BackgroundColor = nil
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 0
		a.LineStyle = line(1, hair)
		a.Tick.LineStyle = line(1, hair)
		a.Tick.Length = 5
	}
	p.X.Tick.Label = aligned(regular(11, ink3), -0.5, -1)
	p.Y.Tick.Label = aligned(regular(11, ink3), -1, -0.45)
	p.Y.LineStyle.Width = 0
	return p
}
