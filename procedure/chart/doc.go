// Package chart draws what a run and many runs came to: what was in the
// cylinders, when each step was done against when it was due, the prime against
// the fuel flow, and how somebody gets better.
//
// Make a chart of one run with [Vapour], [Timeline] or [Prime], or of many with
// [Individuals], [Learning], [Share], [Hesitation] or [Confusions]; then [Chart.Image] for a screen, [Chart.WritePNG], [Chart.WriteSVG]
// and [Chart.WritePDF] for a file, or [Chart.DrawOn] for a page of something
// larger.
//
// Promises: the same code draws all of them, so a printed chart is the one that
// was seen; every axis carries its unit; whatever a colour says a shape, a hatch
// or a word says too, so a black and white print loses nothing; the same chart
// gives the same bytes.
//
// A length is in points; on a screen at scale 1 a point is a pixel.
package chart
