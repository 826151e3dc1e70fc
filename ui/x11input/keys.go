package x11input

import "fyne.io/fyne/v2"

// names are the keys that are no letter or digit, by keysym, as X.Org's
// keysymdef.h has them.
var names = map[uint32]fyne.KeyName{
	0x0020: fyne.KeySpace,
	0x002c: fyne.KeyComma,
	0x002d: fyne.KeyMinus,
	0x002e: fyne.KeyPeriod,
	0x003b: fyne.KeySemicolon,
	0xff0d: fyne.KeyReturn,
	0xff8d: fyne.KeyEnter,
	0xff51: fyne.KeyLeft,
	0xff52: fyne.KeyUp,
	0xff53: fyne.KeyRight,
	0xff54: fyne.KeyDown,
	0xffc6: fyne.KeyF9,
	0xffc7: fyne.KeyF10,
}

// name is the toolkit's name for a keysym: that of the key's own legend,
// whatever shift is down.
func name(sym uint32) (fyne.KeyName, bool) {
	switch {
	case sym >= 'a' && sym <= 'z':
		return fyne.KeyName(string(rune(sym - 'a' + 'A'))), true
	case sym >= 'A' && sym <= 'Z', sym >= '0' && sym <= '9':
		return fyne.KeyName(string(rune(sym))), true
	}
	n, ok := names[sym]
	return n, ok
}
