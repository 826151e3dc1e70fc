package control

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	fynetheme "fyne.io/fyne/v2/theme"

	"kickover/ui/theme"
)

// Field gives a text entry the height and the type of the controls beside it.
// Place the field; read and focus the entry.
func Field(t theme.Tokens, e fyne.CanvasObject) *container.ThemeOverride {
	return container.NewThemeOverride(e, roomy{t.Fyne()})
}

// roomy is a theme whose text is that of a control 44 units high.
type roomy struct{ fyne.Theme }

func (r roomy) Size(name fyne.ThemeSizeName) float32 {
	switch name {
	case fynetheme.SizeNameText:
		return 16
	case fynetheme.SizeNameInnerPadding:
		return 11
	case fynetheme.SizeNameInputRadius:
		return 10
	}
	return r.Theme.Size(name)
}
