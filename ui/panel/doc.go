// Package panel draws the parts that screens are made of: dials, small gauges,
// the trace, levers, switches, the stopwatch face, the step strip, the starter
// ledger, the propeller's area, captions and alerts.
//
// Begin with a [Board]: it holds one picture of everything that stands still,
// rendered once per size and dress, and [Cell]s over it for what moves. A cell
// is given a value to show and repaints only when that value changes, so a
// frame costs what changed in it. Parts are drawn with a [Pen], in units of
// which the smallest window has 1280 by 800.
//
// Promises: parts are given values and draw them; they keep no rule and no
// time. Instrument scales carry the range markings of 14 CFR 23.1549: green arc
// normal, yellow arc caution, red radial limit. Every meaning that has a colour
// has a shape too: tick done, triangle caution, square warning, hatch window.
//
// Everything here belongs to the window's goroutine.
package panel
