package control

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/theme"
)

// Sizes of type, in the toolkit's units. In none is a line so many pixels high that
// it is a power of two, for which software OpenGL makes other machine code: on a
// first frame that is 20 ms.
const (
	Small  = 12.6
	Label  = 14
	Body   = 17
	Title  = 30
	Figure = 44
)

// Text is a line of type in one of the program's weights.
func Text(s string, size float32, w fonts.Weight, c color.Color) *canvas.Text {
	t := canvas.NewText(s, c)
	t.TextSize = size
	t.FontSource = theme.Font(w)
	return t
}

// Heading is a group's title: small letter-spaced capitals.
func Heading(s string, t theme.Tokens) *canvas.Text {
	spaced := make([]rune, 0, 2*len(s))
	for i, r := range s {
		if i > 0 {
			spaced = append(spaced, '\u200a')
		}
		spaced = append(spaced, r)
	}
	return Text(string(spaced), Small, fonts.WeightSemiBold, t.Ink3)
}

// Width is how wide a line is set.
func Width(s string, size float32, w fonts.Weight) float32 {
	return Text(s, size, w, color.Black).MinSize().Width
}

// Lines breaks a text into lines no wider than w.
func Lines(s string, size float32, weight fonts.Weight, w float32) []string {
	var out []string
	line := ""
	for _, word := range fields(s) {
		next := word
		if line != "" {
			next = line + " " + word
		}
		if line != "" && Width(next, size, weight) > w {
			out = append(out, line)
			next = word
		}
		line = next
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// Paragraph lays a text out in lines of a width; its height is its own.
func Paragraph(s string, size float32, weight fonts.Weight, c color.Color, w float32) (*fyne.Container, float32) {
	const leading = 1.45
	box := container.NewWithoutLayout()
	var y float32
	for _, l := range Lines(s, size, weight, w) {
		t := Text(l, size, weight, c)
		t.Move(fyne.NewPos(0, y))
		t.Resize(t.MinSize())
		box.Add(t)
		y += size * leading
	}
	box.Resize(fyne.NewSize(w, y))
	return box, y
}
