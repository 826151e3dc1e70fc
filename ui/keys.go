package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"kickover/ui/help"
)

// placeKeys lead to the header's places, each with Control.
var placeKeys = []fyne.KeyName{fyne.Key1, fyne.Key2, fyne.Key3, fyne.Key4, fyne.Key5, fyne.Key6, fyne.Key7, fyne.Key8, fyne.Key9}

// listen hears the keys that mean the same on every screen. What has the focus
// has them first, and passes on what it does not need.
func (s *shell) listen() {
	c := s.window.Canvas()
	c.SetOnTypedKey(s.key)
	c.SetOnTypedRune(s.rune)
	for i, p := range s.header.places {
		if i < len(placeKeys) {
			c.AddShortcut(&desktop.CustomShortcut{KeyName: placeKeys[i], Modifier: fyne.KeyModifierControl}, func(fyne.Shortcut) { s.goTo(p) })
		}
	}
}

// rune hears letters; a screen of a class may hear them first, while it is shown.
func (s *shell) rune(r rune) {
	if r == '?' {
		s.help()
	}
}

// goTo shows a place. A run and a clock are left with their own keys, so that a
// slip of the fingers does not end one.
func (s *shell) goTo(p place) {
	if s.helping != nil || s.whole {
		return
	}
	p.show()
}

func (s *shell) key(e *fyne.KeyEvent) {
	switch enter := e.Name == fyne.KeyReturn || e.Name == fyne.KeyEnter; {
	case enter && s.where == homePlace && s.helping == nil && !s.whole:
		s.home.Begin() // after a click, which leaves the keyboard with nothing
	case e.Name == fyne.KeyF1:
		s.help()
	case e.Name == fyne.KeyEscape && s.helping != nil:
		s.closeHelp()
	case e.Name == fyne.KeyEscape && !s.whole && s.back != nil:
		s.back()
	case e.Name == fyne.KeyEscape && !s.whole && s.where != homePlace:
		s.showHome()
	}
}

// help shows the help of the screen over it, or takes it away. A run stands still
// meanwhile.
func (s *shell) help() {
	if s.helping != nil {
		s.closeHelp()
		return
	}
	goOn := func() {}
	if s.pause != nil {
		goOn = s.pause()
	}
	page := help.New(s.o.Dress, s.pageOf(s.where), s.closeHelp)
	overlay := page.Content()
	canvas := s.window.Canvas()
	focused := canvas.Focused()
	s.helping = func() {
		canvas.Overlays().Remove(overlay)
		if focused != nil {
			canvas.Focus(focused)
		}
		goOn()
	}
	overlay.Resize(canvas.Size())
	canvas.Overlays().Add(overlay)
	page.Focus(s.window)
}

func (s *shell) closeHelp() {
	if s.helping != nil {
		closing := s.helping
		s.helping = nil
		closing()
	}
}
