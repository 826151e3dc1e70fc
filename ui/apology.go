package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/control"
)

// apologise shows what went wrong in the place of the screen that could not be
// shown, with a way back.
func (s *shell) apologise(err error) {
	t := s.o.Dress
	title := control.Text("That did not work", control.Title, fonts.WeightBold, t.Ink)
	back := control.NewButton(t, "Back to practising", "↵", control.Primary, s.showHome)
	text := container.NewWithoutLayout()
	content := control.Placed(fyne.NewSize(600, 300), func(size fyne.Size) {
		const edge = 48
		control.PutText(title, edge, 24)
		text.RemoveAll()
		body, h := control.Paragraph(err.Error(), control.Body, fonts.WeightRegular, t.Ink2, min(size.Width-2*edge, 800))
		text.Add(body)
		rest, rh := control.Paragraph("Everything else works, and what was recorded is kept.", control.Body, fonts.WeightRegular, t.Ink2, min(size.Width-2*edge, 800))
		rest.Move(fyne.NewPos(0, h+8))
		text.Add(rest)
		h += rh + 8
		control.Put(text, edge, 84, size.Width-2*edge, h)
		control.Put(back, edge, 84+h+24, back.MinSize().Width, 50)
	}, title, text, back)
	s.page(troubleScreen, content, func(w fyne.Window) { w.Canvas().Focus(back) })
}
