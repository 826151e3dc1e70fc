// Package flowfile reads and checks the YAML files that describe aircraft and
// the flows that start them.
//
// Call [Load] for a tree of files (aircraft/*.yaml and flows/AIRCRAFT/*.yaml),
// [LoadUser] for a person's own folder on top of it, [Check] for one file of
// either kind, or [ParseAircraft] and [ParseFlow] when the bytes are at hand.
//
// Promises:
//
//   - Every mistake in a file is reported at once, as a [*Errors]: where it
//     is, an excerpt with a caret under it, what is wrong and how to mend it.
//   - A flow that was read without an error can be flown: its controls,
//     instruments, marks and detents exist, its windows and conditions can be
//     met, and no starter is engaged without a propeller-area check before it.
//   - No input panics or runs away: files are limited in size, in depth and in
//     the length of a line, and anchors and aliases are refused.
//
// Numbers carry units ("28 mm", "3.5 s", "24.2 V", "12 degC"). The key words of
// both files are written out in the JSON Schemas beside the shipped files.
package flowfile
