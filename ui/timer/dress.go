package timer

import (
	"image/color"

	"fyne.io/fyne/v2"
	fynetheme "fyne.io/fyne/v2/theme"

	"kickover/ui/theme"
)

// Theme is the toolkit's theme for a window that holds nothing but this screen:
// the toolkit clears it to the dress's own ground, so that the screen need not
// paint it again.
func Theme(t theme.Tokens) fyne.Theme { return clearing{t.Fyne(), cleared(t.Ground)} }

type clearing struct {
	fyne.Theme
	ground color.Color
}

func (c clearing) Color(name fyne.ThemeColorName, variant fyne.ThemeVariant) color.Color {
	if name == fynetheme.ColorNameBackground {
		return c.ground
	}
	return c.Theme.Color(name, variant)
}

// cleared is the colour to which the toolkit's OpenGL painter clears a window when
// it is to come out as c: it divides sixteen bits by 255², and not by 65,535.
func cleared(c color.NRGBA) color.Color {
	return color.RGBA64{R: uint16(c.R) * 255, G: uint16(c.G) * 255, B: uint16(c.B) * 255, A: 0xffff}
}

// bare shows no ground where the toolkit clears the window to it: on software
// OpenGL a second coat costs as much as all that stands on it.
func (v *view) bare(t theme.Tokens) {
	app := fyne.CurrentApp().Settings()
	if app.Theme().Color(fynetheme.ColorNameBackground, app.ThemeVariant()) == cleared(t.Ground) {
		v.ground.Hide()
	} else {
		v.ground.Show()
	}
}
