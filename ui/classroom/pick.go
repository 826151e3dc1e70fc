package classroom

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/procedure/units"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// newPick is a list of every aeroplane's flows, one to be taken; focus puts the
// keyboard on the first.
func newPick(t theme.Tokens, u units.Units, libraries []*procedure.Library, take func(*procedure.Flow), back func()) (content fyne.CanvasObject, focus func(fyne.Window)) {
	title := control.Text("Which flow does the class call?", control.Title, fonts.WeightBold, t.Ink)
	var rows []fyne.CanvasObject
	for _, l := range libraries {
		for _, f := range l.Flows {
			if f.Entry {
				rows = append(rows, control.NewRow(t, f.Title, u.Words(f.KnownBy), l.Aircraft.Name, func() { take(f) }))
			}
		}
	}
	list := container.NewVScroll(container.NewVBox(rows...))
	leave := control.NewButton(t, "Back", "", control.Quiet, back)
	focus = func(w fyne.Window) {
		if len(rows) > 0 {
			w.Canvas().Focus(rows[0].(*control.Row))
		}
	}
	content = control.Placed(fyne.NewSize(640, 560), func(z fyne.Size) {
		control.PutText(title, 48, 24)
		control.Put(list, 48, 84, min(z.Width-96, 760), z.Height-180)
		control.Put(leave, 48, z.Height-72, 110, 46)
	}, title, list, leave)
	return content, focus
}
