// Package proficiency says how somebody gets on over many runs of one flow: how
// long each step takes and how often it falls inside its window, whether that
// has changed, where the time goes, and what to expect of the next runs.
//
// Make a [Run] of each debriefed run with [Observe], oldest first, and call [Of].
//
// Promises: the package is pure; the same runs give the same report; it never
// draws a conclusion from fewer runs than its method needs, but says so
// ([ErrNotEnough]); every share comes with its interval.
//
// Times are in seconds, in the order of the runs. Means, deviations and
// distributions are gonum's; what is computed here is checked against published
// values.
package proficiency
