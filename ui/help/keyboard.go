package help

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"kickover/assets/fonts"
	"kickover/procedure"
	"kickover/ui/control"
	"kickover/ui/theme"
)

// keycap is a key as it lies on the board.
type keycap struct {
	key    fyne.KeyName
	legend string
	wide   float32 // in keys
}

// rows are the keys of a keyboard of the common kind (ISO/IEC 9995-2 lays letters
// and digits out so; the legends are those of the English layout).
var rows = [][]keycap{
	{{fyne.KeyEscape, "Esc", 1}, {"", "", 0.5}, {fyne.KeyF1, "F1", 1}, {fyne.KeyF2, "F2", 1}, {fyne.KeyF3, "F3", 1}, {fyne.KeyF4, "F4", 1}, {"", "", 0.4},
		{fyne.KeyF5, "F5", 1}, {fyne.KeyF6, "F6", 1}, {fyne.KeyF7, "F7", 1}, {fyne.KeyF8, "F8", 1}, {"", "", 0.4},
		{fyne.KeyF9, "F9", 1}, {fyne.KeyF10, "F10", 1}, {fyne.KeyF11, "F11", 1}},
	{{fyne.KeyBackTick, "`", 0.7}, {fyne.Key1, "1", 1}, {fyne.Key2, "2", 1}, {fyne.Key3, "3", 1}, {fyne.Key4, "4", 1}, {fyne.Key5, "5", 1}, {fyne.Key6, "6", 1},
		{fyne.Key7, "7", 1}, {fyne.Key8, "8", 1}, {fyne.Key9, "9", 1}, {fyne.Key0, "0", 1}, {fyne.KeyMinus, "-", 1}, {fyne.KeyEqual, "=", 1}, {fyne.KeyBackspace, "⟵", 1.3}},
	{{fyne.KeyTab, "Tab", 1.2}, {fyne.KeyQ, "Q", 1}, {fyne.KeyW, "W", 1}, {fyne.KeyE, "E", 1}, {fyne.KeyR, "R", 1}, {fyne.KeyT, "T", 1}, {fyne.KeyY, "Y", 1},
		{fyne.KeyU, "U", 1}, {fyne.KeyI, "I", 1}, {fyne.KeyO, "O", 1}, {fyne.KeyP, "P", 1}, {fyne.KeyLeftBracket, "[", 1}, {fyne.KeyRightBracket, "]", 1}, {fyne.KeyBackslash, "\\", 0.8}},
	{{"", "", 1.5}, {fyne.KeyA, "A", 1}, {fyne.KeyS, "S", 1}, {fyne.KeyD, "D", 1}, {fyne.KeyF, "F", 1}, {fyne.KeyG, "G", 1}, {fyne.KeyH, "H", 1},
		{fyne.KeyJ, "J", 1}, {fyne.KeyK, "K", 1}, {fyne.KeyL, "L", 1}, {fyne.KeySemicolon, ";", 1}, {fyne.KeyApostrophe, "'", 1}, {fyne.KeyReturn, "Enter", 1.5}},
	{{"", "", 2}, {fyne.KeyZ, "Z", 1}, {fyne.KeyX, "X", 1}, {fyne.KeyC, "C", 1}, {fyne.KeyV, "V", 1}, {fyne.KeyB, "B", 1}, {fyne.KeyN, "N", 1},
		{fyne.KeyM, "M", 1}, {fyne.KeyComma, ",", 1}, {fyne.KeyPeriod, ".", 1}, {fyne.KeySlash, "/", 1}, {fyne.KeyUp, "↑", 1}},
	{{Control, "Ctrl", 1.5}, {"", "", 1.5}, {fyne.KeySpace, "Space", 6}, {"", "", 2}, {fyne.KeyLeft, "←", 1}, {fyne.KeyDown, "↓", 1}, {fyne.KeyRight, "→", 1}},
}

// Control is the key that is held while another is pressed; the toolkit has two.
const Control fyne.KeyName = "Control"

const boardKeys = 14 // the board's width, in keys

// CapText is the size of the words on a cap: two lines of them have to fit.
const CapText = 12

// keyboard draws the keys, with words on those that do something.
type keyboard struct {
	box  *fyne.Container
	t    theme.Tokens
	keys map[fyne.KeyName]Key
	wide float32
}

func newKeyboard(t theme.Tokens, keys []Key) *keyboard {
	b := &keyboard{t: t, keys: map[fyne.KeyName]Key{}}
	for _, k := range keys {
		b.keys[k.Key] = k
	}
	b.box = container.NewWithoutLayout()
	b.box.Layout = b
	return b
}

// roomy is a cap that has room for words.
const roomy = 66

func (b *keyboard) pitch(width float32) (x, y float32) {
	x = min(width/boardKeys, 88)
	if x < roomy {
		return x, 40
	}
	return x, 64
}

// high is how high the board is at a width, with the list that stands for the
// words where the caps are too small for them.
func (b *keyboard) high(width float32) float32 {
	x, y := b.pitch(width)
	h := y*float32(len(rows)) + 34
	if x < roomy {
		h += float32((len(b.list())+1)/2)*26 + 8
	}
	return h
}

// list is the keys that do something, in the order in which they lie.
func (b *keyboard) list() []keycap {
	var out []keycap
	for _, row := range rows {
		for _, c := range row {
			if _, ok := b.keys[c.key]; ok && c.key != "" {
				out = append(out, c)
			}
		}
	}
	return out
}

// MinSize implements fyne.Layout.
func (b *keyboard) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(1, 1) }

// Layout implements fyne.Layout: the board is drawn anew for each width.
func (b *keyboard) Layout(_ []fyne.CanvasObject, s fyne.Size) {
	if s.Width == b.wide {
		return
	}
	b.wide = s.Width
	b.box.Objects = nil
	px, py := b.pitch(s.Width)
	for r, row := range rows {
		x := float32(0)
		for _, c := range row {
			if c.legend != "" {
				b.draw(c, x, float32(r)*py, c.wide*px-5, py-5, px >= roomy)
			}
			x += c.wide * px
		}
	}
	y := py*float32(len(rows)) + 6
	if b.handed() {
		b.key(0, y)
	}
	if px < roomy {
		b.lines(y+28, s.Width)
	}
}

func (b *keyboard) handed() bool {
	for _, k := range b.keys {
		if k.Hand != "" || k.Held {
			return true
		}
	}
	return false
}

func (b *keyboard) add(o fyne.CanvasObject, x, y, w, h float32) {
	control.Put(o, x, y, w, h)
	b.box.Objects = append(b.box.Objects, o)
}

func (b *keyboard) text(s string, size float32, w fonts.Weight, on bool, x, y float32) {
	ink := b.t.Ink3
	if on {
		ink = b.t.Ink
	}
	text := control.Text(s, size, w, ink)
	control.PutText(text, x, y)
	b.box.Objects = append(b.box.Objects, text)
}

func (b *keyboard) draw(c keycap, x, y, w, h float32, words bool) {
	k, on := b.keys[c.key]
	box := &canvas.Rectangle{CornerRadius: 7, StrokeWidth: 1, StrokeColor: b.t.Line, FillColor: b.t.Ground}
	if on {
		box.FillColor, box.StrokeColor = b.t.Raised, b.t.Ink3
	}
	b.add(box, x, y, w, h)
	b.hand(k.Hand, x, y, w, h)
	b.text(c.legend, CapText, fonts.WeightSemiBold, on, x+9, y+4)
	if k.Held {
		b.add(canvas.NewRectangle(b.t.Ink2), x+14+control.Width(c.legend, CapText, fonts.WeightSemiBold), y+12, 12, 2)
	}
	if !on || !words {
		return
	}
	at := y + 22
	for i, l := range control.Lines(k.Does, CapText, fonts.WeightMedium, w-14) {
		if i == 2 {
			break // three lines do not fit, and no words here need them
		}
		b.text(l, CapText, fonts.WeightMedium, true, x+9, at)
		at += 15
	}
}

// hand marks whose control a key works: a bar at that hand's side of the cap.
func (b *keyboard) hand(h procedure.Hand, x, y, w, high float32) {
	bar := &canvas.Rectangle{FillColor: b.t.Ink2, CornerRadius: 1.5}
	switch h {
	case procedure.Left:
		b.add(bar, x+2, y+8, 3, high-16)
	case procedure.Right:
		b.add(bar, x+w-5, y+8, 3, high-16)
	}
}

// key says what the marks on the caps mean.
func (b *keyboard) key(x, y float32) {
	bar := func() { b.add(&canvas.Rectangle{FillColor: b.t.Ink2, CornerRadius: 1.5}, x, y+2, 3, 14) }
	say := func(s string, after float32) {
		b.text(s, control.Small, fonts.WeightRegular, true, x+8, y)
		x += control.Width(s, control.Small, fonts.WeightRegular) + after
	}
	bar()
	say("bar at the left: the left hand's control", 34)
	bar()
	say("at the right: the right hand's", 34)
	b.add(canvas.NewRectangle(b.t.Ink2), x-8, y+9, 12, 2)
	say("works as long as it is held", 0)
}

// lines list the keys where the caps have no room for words.
func (b *keyboard) lines(y, width float32) {
	list := b.list()
	half := (len(list) + 1) / 2
	for i, c := range list {
		x, row := float32(0), i
		if i >= half {
			x, row = width/2, i-half
		}
		k := b.keys[c.key]
		at := y + float32(row)*26
		b.text(c.legend, control.Label, fonts.WeightBold, true, x, at)
		b.text(control.Cut(k.Does, control.Label, fonts.WeightRegular, width/2-70), control.Label, fonts.WeightRegular, true, x+60, at)
	}
}
