package classroom

import (
	"fyne.io/fyne/v2"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// message is a sentence that says what is the matter, in as many lines as it
// needs.
type message struct {
	t    theme.Tokens
	text string
	box  *fyne.Container
}

func newMessage(t theme.Tokens) *message {
	return &message{t: t, box: fyne.NewContainerWithoutLayout()}
}

// put writes it at a place, no wider than w.
func (m *message) put(x, y, w float32) {
	lines, h := control.Paragraph(m.text, control.Label, fonts.WeightMedium, m.t.Caution, w)
	m.box.Objects = lines.Objects
	control.Put(m.box, x, y, w, h)
	m.box.Refresh()
}
