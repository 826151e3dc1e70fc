package classroom

import (
	"fyne.io/fyne/v2"

	"kickover/ui/rehearse"
)

// Stage is where screens are shown: the window.
type Stage interface {
	// Show puts a screen below the window's header. Escape leads back, nil to where
	// it leads from anywhere. What the screen before did to the keyboard is undone.
	Show(title string, content fyne.CanvasObject, focus func(fyne.Window), back func())
	// Fly gives the whole window to a cockpit, with its keys stamped.
	Fly(cockpit *rehearse.Screen)
}

// Projector is a second window for the room to look at. Nothing in it can be
// pressed.
type Projector interface {
	// Show puts something into the window, which is opened if it is not there.
	Show(content fyne.CanvasObject)
	// Full fills the screen that the window is on, or not.
	Full(on bool)
	// Open reports whether the window is there: a person may have closed it.
	Open() bool
	Close()
}
