// Package theme holds the colours and type that every screen is drawn with, and
// hands them to the toolkit so that nothing of its own look shows through.
//
// Start with [Dusk], [Day] or [Night]; draw with the [Tokens]; call
// [Tokens.Fyne] for the toolkit's theme.
//
// Promises: one accent, Now, which means "the present step, the running time,
// the mark to aim for" and nothing else. Green is normal or done, amber a
// caution, red a warning (14 CFR 23.1322). In night dress nothing is brighter
// than the ink.
package theme

import "image/color"

// Tokens are the colours of one dress of the window.
type Tokens struct {
	Name    string
	Ground  color.NRGBA // the window
	Panel   color.NRGBA // groups
	Raised  color.NRGBA // the present step, keys, rings
	Well    color.NRGBA // sunk faces: dials, slots, small gauges
	Line    color.NRGBA // hairlines
	Ink     color.NRGBA // what must be read in time
	Ink2    color.NRGBA // labels
	Ink3    color.NRGBA // what may be read later
	Now     color.NRGBA // the accent
	OK      color.NRGBA // normal, done
	Caution color.NRGBA
	Warn    color.NRGBA
	Red     color.NRGBA // the mixture's knob, red in every aeroplane
	OnRed   color.NRGBA // lines on it
	OnWarn  color.NRGBA // text on a field of Warn
	Alarm   color.NRGBA // the field of a breach's banner
	OnAlarm color.NRGBA // what is read on it
}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 0xff}
}

// Dusk is the standing dress: a dim room, a projector.
var Dusk = Tokens{
	Name: "dusk", Ground: rgb(0x12161A), Panel: rgb(0x1A2026), Raised: rgb(0x242C34), Well: rgb(0x0C0F12),
	Line: rgb(0x36414B), Ink: rgb(0xF5F2EB), Ink2: rgb(0xB8C1C8), Ink3: rgb(0x88949E), Now: rgb(0x9DB8FF),
	OK: rgb(0x5CCB8A), Caution: rgb(0xFFB22E), Warn: rgb(0xFF5B4D), Red: rgb(0x9C3A33), OnRed: rgb(0xF5F2EB), OnWarn: rgb(0x0A0201), Alarm: rgb(0xFF6E60), OnAlarm: rgb(0x0A0201),
}

// Day is for sunlight and for print.
var Day = Tokens{
	Name: "day", Ground: rgb(0xF3F0E8), Panel: rgb(0xFFFFFF), Raised: rgb(0xE7E2D6), Well: rgb(0xFAF8F2),
	Line: rgb(0xB9B2A2), Ink: rgb(0x14181C), Ink2: rgb(0x3C454D), Ink3: rgb(0x5A646D), Now: rgb(0x1F4FD8),
	OK: rgb(0x0E7A43), Caution: rgb(0xA65A00), Warn: rgb(0xB3261E), Red: rgb(0xB3261E), OnRed: rgb(0xFFFFFF), OnWarn: rgb(0xFFFFFF), Alarm: rgb(0x9E1A13), OnAlarm: rgb(0xFFFFFF),
}

// Night spares eyes that are used to the dark.
var Night = Tokens{
	Name: "night", Ground: rgb(0x050202), Panel: rgb(0x0B0404), Raised: rgb(0x190907), Well: rgb(0x050202),
	Line: rgb(0x4A1C16), Ink: rgb(0xF87453), Ink2: rgb(0xE0624A), Ink3: rgb(0xD0543B), Now: rgb(0xF87453),
	OK: rgb(0xCC5138), Caution: rgb(0xF87453), Warn: rgb(0xFF7A5C), Red: rgb(0x7A2A1E), OnRed: rgb(0xF87453), OnWarn: rgb(0x0B0404), Alarm: rgb(0xFF7A5C), OnAlarm: rgb(0x0B0404),
}

// All lists the dresses in the order a person steps through them.
func All() []Tokens { return []Tokens{Dusk, Day, Night} }

// Named finds a dress by its name; an unknown name is dusk.
func Named(name string) Tokens {
	for _, t := range All() {
		if t.Name == name {
			return t
		}
	}
	return Dusk
}

// Mix blends a towards b; t of 0 is a, 1 is b. Opaque colours only.
func Mix(a, b color.NRGBA, t float64) color.NRGBA {
	ch := func(x, y uint8) uint8 { return uint8(float64(x) + (float64(y)-float64(x))*t + 0.5) }
	return color.NRGBA{R: ch(a.R, b.R), G: ch(a.G, b.G), B: ch(a.B, b.B), A: 0xff}
}

// Tint is a panel with a share of a colour, on which ink must be read in time. At
// night, where ink is no brighter than it must be, it is hardly more than the panel:
// there the edge and the words say which colour it is.
func (t Tokens) Tint(c color.NRGBA, share float64) color.NRGBA {
	if t.Name == Night.Name {
		share *= 0.22
	}
	return Mix(t.Panel, c, share)
}
