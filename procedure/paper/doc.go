// Package paper makes what is printed: a training record to sign and file, a
// card for the knee, and a strip at true scale from which the throttle's marks
// are drawn.
//
// Fill a [Record], a [Card] or a [Marks], then call its Preview for pictures of its
// pages, or its Write for the PDF, for a [Sheet].
//
// Promises: a length on a [Marks] strip is that length on paper when it is
// printed at 100 %; everything is readable in black and white; every page names
// the aeroplane's own handbook as the authority; the same input, dates included,
// gives the same bytes.
//
// Lengths are in millimetres. Names of people are the user's own and go nowhere
// but onto the page. The typeface has Latin letters only; others are printed as
// a question mark.
package paper
