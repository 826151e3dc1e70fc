// Package motion shows the Rehearse screen with invented snapshots, so that it
// can be looked at and measured without a run behind it.
//
// [At] gives the snapshot of a [Scene] at a moment; [Run] opens a window and
// feeds it snapshots at a rate, and reports what that cost.
//
// Promises: no simulation, no rule, no record. The numbers move as a start's
// would, so that every part that can move does; nothing is to be learnt from
// them.
package motion
