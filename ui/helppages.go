package ui

import (
	"fmt"

	"fyne.io/fyne/v2"

	"kickover/procedure"
	"kickover/ui/help"
	"kickover/ui/rehearse"
)

// The names of screens that no place of the header leads to.
const (
	runScreen     = "Rehearse"
	debriefScreen = "Debrief"
	welcomeScreen = "Welcome"
	peopleScreen  = "People"
	troubleScreen = "Trouble"
	waitingScreen = "Waiting"
)

// purposes say what each screen is for.
var purposes = map[string]string{
	homePlace:     "Choose the aeroplane, the flow, the phase and the day; then begin. What is chosen already is a good start: press Enter.",
	runScreen:     "Fly the flow with the keys under your two hands, or with the mouse. The strip at the left says which step is now; the clock at the right times what is held.",
	debriefScreen: "See what became of the run: which step was late and by how much, what was in the cylinders, and why the engine started or did not.",
	"Timer":       "Time the prime and the crank at the aeroplane with one button, eyes outside.",
	"Plan":        "See how long to prime on a day, from many simulated starts, beside the handbook's own window.",
	"Runs":        "Find an earlier run and open its debrief.",
	"Progress":    "See how runs of a flow change over the weeks, and what to practise next.",
	"Paper":       "Make cards of a flow, records of training and a strip of lever marks, to print.",
	classPlace:    "Hold a class on the local network, or join one: the instructor sets the day and the faults, everybody flies at once.",
	settingsPlace: "Choose units, sound, colours, the size of text and where runs are kept. Everything is remembered.",
	peopleScreen:  "Say who is flying, so that runs are kept under a name; write what names somebody to a file, or delete it for good.",
	waitingScreen: "See what is being waited for; it goes on by itself if you do not wait.",
	troubleScreen: "Read what did not work and what to do about it.",
	welcomeScreen: "Say who you are today, and the window opens where you want to be.",
}

// hazards are the cautions of screens on which a hand learns what can hurt.
var hazards = map[string][]string{
	homePlace: {"What is learnt here is for the aeroplane's own handbook to overrule, then for local rules and your instructor."},
	runScreen: {
		"Before every attempt: brakes held, look left, ahead and right, call CLEAR, wait for an answer. A propeller that moves kills.",
		"Smoke or flame from the intake: keep cranking, mixture to cut-off, fuel off, and the handbook's drill. Fuel on the ground: do not crank.",
		"Rest the starter between attempts as the handbook says.",
	},
	"Plan":     {"A plan is worked out from a simulated engine. The handbook's window is the one to keep to."},
	"Paper":    {"A printed card is no handbook: check it against the aeroplane's own before it goes into a cockpit."},
	classPlace: {"Nobody practises hands on a real aeroplane in a class: propellers stay untouched, keys stay on the hook."},
}

// pageOf is the help of a screen.
func (s *shell) pageOf(where string) help.Page {
	p := help.Page{Where: where, For: purposes[where], Cautions: hazards[where]}
	if where == runScreen {
		p.Leave = "Esc stops the run, and pressed again leaves it; F10 leaves at once. What was done until then is debriefed."
		if s.pause != nil {
			p.Leave += " The run stands still while this page is open."
		}
		if s.pause == nil {
			p.Leave = "This run is the class's: the instructor begins, pauses and ends it. It goes on while this page is open."
		}
		p.Keys = append(rehearseKeys(s.o.Libraries, s.flying), help.Key{Key: fyne.KeyF1, Does: "this page"})
		p.Notes = []string{"With the mouse: press switches and gauges, drag levers or roll the wheel over them, hold START down. While the mouse holds START, the wheel moves the mixture, wherever the pointer is, and the right button throws it fully forward. What you say has buttons below the steps."}
		return p
	}
	p.Leave = "Esc goes back to " + homePlace + ". Control with a digit goes to any place from anywhere but a run and the timer."
	if s.back != nil {
		p.Leave = "Esc goes back to the screen before. Control with a digit goes to any place from anywhere but a run and the timer."
	}
	if where == homePlace {
		p.Leave = "Control with a digit goes to any other place. Closing the window ends the program; every run is kept as it is flown."
	}
	p.Keys = s.commonKeys()
	return p
}

// commonKeys are those that mean the same on every screen but a run.
func (s *shell) commonKeys() []help.Key {
	keys := []help.Key{
		{Key: fyne.KeyF1, Does: "this page"}, {Key: fyne.KeyEscape, Does: "back"},
		{Key: fyne.KeyTab, Does: "next, Shift: before"},
		{Key: fyne.KeyReturn, Does: "press, open"}, {Key: fyne.KeySpace, Does: "press, open"},
		{Key: fyne.KeyUp, Does: "above, more"}, {Key: fyne.KeyDown, Does: "below, less"},
		{Key: fyne.KeyLeft, Does: "less, before"}, {Key: fyne.KeyRight, Does: "more, after"},
		{Key: help.Control, Does: "with 1 to " + fmt.Sprint(len(s.header.places))},
	}
	for i, p := range s.header.places {
		if i < len(placeKeys) {
			keys = append(keys, help.Key{Key: placeKeys[i], Does: p.name})
		}
	}
	return keys
}

// rehearseKeys are the cockpit's, from the map that they work by.
func rehearseKeys(libraries []*procedure.Library, a *procedure.Aircraft) []help.Key {
	if a == nil {
		a = libraries[0].Aircraft
	}
	var keys []help.Key
	for _, l := range rehearse.Legends(a) {
		keys = append(keys, help.Key(l))
	}
	return keys
}
