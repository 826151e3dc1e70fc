// Package settings is what a person has chosen about the program, and the file
// that it is written in.
//
// Begin with [Default]; read a file's bytes with [Decode]; write with [Encode].
// Package settingsfile keeps the file.
//
// Promises: pure. A value that is not understood is left out with a sentence and
// the default stands; only what is no settings file at all is an error. Keys
// that are not known, comments and their order survive being written again.
package settings

import (
	"slices"

	"kickover/procedure/units"
)

// Version of the file's form.
const Version = 1

// Who somebody is today. Empty is not asked yet.
type Who string

// The users.
const (
	Student    Who = "student"
	Instructor Who = "instructor"
	Pilot      Who = "pilot"
)

// Settings are what a person has chosen.
type Settings struct {
	Who    Who
	Units  units.Units
	Sound  Sound
	Window Window
	// Data is the folder that holds the program's own folder of runs; empty is
	// the desktop's own. Moved is where the data was before, to be brought over
	// when the program starts next; empty when there is nothing to bring.
	Data, Moved string
	// Store is a school's PostgreSQL ("postgres://…"); empty is a file of one's own.
	Store string
	// School is the file that tells of a school's own servers for classes; empty is
	// a server in this program.
	School string
}

// Sound is what is heard and how loud. Levels are per cent of a fader.
type Sound struct {
	Voice       string
	Volume      int // of everything
	VoiceLevel  int // of lines and tones
	EngineLevel int
	Muted       bool
	Device      string // as the sound system names it; empty is its default
}

// Window is how it looks, and how large it was when it was last closed.
type Window struct {
	Theme         string // "dusk", "day" or "night"
	Text          string // "normal", "large" or "larger"
	Width, Height int    // of the content, in units of normal text; 0 is the program's choice
	X, Y          int    // on the screen, in pixels
	Placed        bool   // X and Y are known
}

// The choices of a window's look.
var (
	Themes = []string{"dusk", "day", "night"}
	Texts  = []string{"normal", "large", "larger"}
)

// Scale is how much larger than normal a text size is. The toolkit takes whole
// tenths.
func Scale(text string) float64 {
	return []float64{1, 1.2, 1.4}[max(0, slices.Index(Texts, text))]
}

// Default is what stands before anything was chosen.
func Default() Settings {
	return Settings{
		Units:  units.Units{Lever: "mm", Temperature: "degC", Altitude: "m", Pressure: "kPa", FuelFlow: "L/h"},
		Sound:  Sound{Volume: 100, VoiceLevel: 100, EngineLevel: 100},
		Window: Window{Theme: "dusk", Text: "normal"},
	}
}
