package theme

import (
	"image/color"

	"fyne.io/fyne/v2"
	fynetheme "fyne.io/fyne/v2/theme"

	"kickover/assets/fonts"
)

var (
	regular  = fyne.NewStaticResource("Inter-Regular.otf", fonts.Regular)
	medium   = fyne.NewStaticResource("Inter-Medium.otf", fonts.Medium)
	semiBold = fyne.NewStaticResource("Inter-SemiBold.otf", fonts.SemiBold)
	bold     = fyne.NewStaticResource("Inter-Bold.otf", fonts.Bold)
)

// Font gives a weight as the toolkit wants it, for canvas.Text.FontSource.
func Font(w fonts.Weight) fyne.Resource {
	return []fyne.Resource{regular, medium, semiBold, bold}[w]
}

// Fyne is the toolkit's theme in this dress.
func (t Tokens) Fyne() fyne.Theme { return dress{t} }

type dress struct{ t Tokens }

// Color answers for every name the toolkit asks for. The variant the desktop
// prefers is ignored: the dress is the person's choice.
func (d dress) Color(name fyne.ThemeColorName, _ fyne.ThemeVariant) color.Color {
	t := d.t
	switch name {
	case fynetheme.ColorNameBackground:
		return cleared(t.Ground)
	case fynetheme.ColorNameForeground, fynetheme.ColorNameHeaderBackground:
		return t.Ink
	case fynetheme.ColorNameButton, fynetheme.ColorNameInputBackground, fynetheme.ColorNameMenuBackground, fynetheme.ColorNameOverlayBackground:
		return t.Panel
	case fynetheme.ColorNameHover, fynetheme.ColorNamePressed, fynetheme.ColorNameDisabledButton:
		return t.Raised
	case fynetheme.ColorNameInputBorder, fynetheme.ColorNameSeparator, fynetheme.ColorNameScrollBar:
		return t.Line
	case fynetheme.ColorNamePlaceHolder, fynetheme.ColorNameDisabled:
		return t.Ink3
	case fynetheme.ColorNamePrimary, fynetheme.ColorNameFocus, fynetheme.ColorNameHyperlink:
		return t.Now
	case fynetheme.ColorNameSelection:
		return Mix(t.Panel, t.Now, 0.3)
	case fynetheme.ColorNameForegroundOnPrimary, fynetheme.ColorNameForegroundOnSuccess, fynetheme.ColorNameForegroundOnWarning:
		return t.Ground
	case fynetheme.ColorNameForegroundOnError:
		return t.OnAlarm
	case fynetheme.ColorNameError:
		return t.Warn
	case fynetheme.ColorNameWarning:
		return t.Caution
	case fynetheme.ColorNameSuccess:
		return t.OK
	case fynetheme.ColorNameShadow:
		return color.NRGBA{A: 0x50}
	default:
		return t.Panel
	}
}

// cleared is the colour to which the toolkit's OpenGL painter clears a window when
// it is to come out as c: it divides sixteen bits by 255², and not by 65,535. No
// screen needs to paint its ground again, which on software OpenGL costs as much as
// all that stands on it.
func cleared(c color.NRGBA) color.Color {
	return color.RGBA64{R: uint16(c.R) * 255, G: uint16(c.G) * 255, B: uint16(c.B) * 255, A: 0xffff}
}

// Font gives Inter for every style; there is no italic and none is faked.
func (d dress) Font(s fyne.TextStyle) fyne.Resource {
	if s.Bold {
		return semiBold
	}
	return regular
}

// Icon leaves the toolkit's own, which no screen shows.
func (d dress) Icon(name fyne.ThemeIconName) fyne.Resource {
	return fynetheme.DefaultTheme().Icon(name)
}

// Size follows the 12/14/17/30 scale and spacing in steps of four.
func (d dress) Size(name fyne.ThemeSizeName) float32 {
	switch name {
	case fynetheme.SizeNameCaptionText:
		return 12
	case fynetheme.SizeNameText:
		return 16 // of an entry: every other text says its own size
	case fynetheme.SizeNameSubHeadingText:
		return 17
	case fynetheme.SizeNameHeadingText:
		return 30
	case fynetheme.SizeNamePadding:
		return 4
	case fynetheme.SizeNameInnerPadding:
		return 11 // an entry is 44 units high, as the controls beside it
	case fynetheme.SizeNameInputRadius:
		return 10
	case fynetheme.SizeNameSelectionRadius:
		return 8
	case fynetheme.SizeNameScrollBar:
		return 8
	case fynetheme.SizeNameScrollBarSmall:
		return 3
	default:
		return fynetheme.DefaultTheme().Size(name)
	}
}
