// Package hands reads and writes what the hands, eyes and voice of a student did
// in a run, as JSON Lines: one act a line, each with its time since the run
// began. What [Write] makes of a run's events, [Parse] gives back, so that any
// run can be flown again.
//
//	{"at":"1.2s","control":"battery","to":"on"}
//	{"at":"6s","control":"throttle","to":"28 mm"}
//	{"at":"8s","control":"mixture","to":1}
//	{"at":"15s","look":"left"}
//	{"at":"17s","call":"clear"}
//	{"at":"21s","report":"bus_volts"}
//	{"at":"90s","choose":"prime-again"}
//
// Controls, their positions and instruments are named as in the aircraft's file.
// A switch goes to a detent; a lever with a scale to a distance from its stop, in
// mm or in; a lever without one to a fraction of its travel; any lever to one of
// its marks, or to what its near or far end is called. A sprung switch stays
// where it is held until a line lets it go: "start", and later "both".
//
// Lines may stand in any order. Everything that is wrong with a file is told at
// once, each with its line.
package hands
