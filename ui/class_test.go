package ui

import (
	"testing"

	"fyne.io/fyne/v2"

	"kickover/ui/classroom"
)

// newClassroom is a window with the places of a class in it, on no network.
func newClassroom(t *testing.T) *shell {
	t.Helper()
	s, _ := newShell(t, false)
	s.o.Class = &ClassOptions{
		Desk:  classroom.DeskOptions{Folder: t.TempDir(), Networks: func() []classroom.Network { return nil }},
		Place: classroom.PlaceOptions{Folder: t.TempDir()},
	}
	s.showClass()
	return s
}

// Escape leads from joining a class to Class, and from there home.
func TestEscapeInAClassGoesOneBack(t *testing.T) {
	s := newClassroom(t)
	s.class.place.Start()
	press(s, fyne.KeyEscape)
	if s.where != classPlace || s.back != nil {
		t.Errorf("Escape from joining leads to %s", s.where)
	}
	press(s, fyne.KeyEscape)
	if s.where != homePlace {
		t.Errorf("Escape from Class leads to %s", s.where)
	}
}

// Whatever a screen of a class does with letters, elsewhere they mean what they
// always do.
func TestLettersAreGivenBack(t *testing.T) {
	s := newClassroom(t)
	s.window.Canvas().SetOnTypedRune(func(rune) { t.Error("a screen that is gone hears letters") })
	s.showHome()
	s.window.Canvas().OnTypedRune()('?')
	if s.helping == nil {
		t.Error("a question mark brings no help")
	}
}
