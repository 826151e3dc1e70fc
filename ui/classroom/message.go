package classroom

import (
	"image/color"
	"strings"
	"unicode"
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// message is a sentence that says what is the matter, in as many lines as it
// needs.
type message struct {
	text   string
	colour color.Color
	size   float32
	box    *fyne.Container
}

func newMessage(t theme.Tokens) *message {
	return &message{colour: t.Caution, size: control.Label, box: container.NewWithoutLayout()}
}

// put writes it at a place, no wider than w.
func (m *message) put(x, y, w float32) {
	lines, h := control.Paragraph(m.text, m.size, fonts.WeightMedium, m.colour, w)
	m.box.Objects = lines.Objects
	control.Put(m.box, x, y, w, h)
	m.box.Refresh()
}

// sentence makes of an error's words a sentence: with a capital and an end.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(s)
	s = string(unicode.ToUpper(first)) + s[size:]
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s
}
