// Package rehearsal joins a flow, a simulated powerplant, a clock and a voice
// into a live run. It owns the only loop of a run.
//
// Call [New] with what the run begins with; then either turn the crank by hand,
// with [Rehearsal.Advance] and [Rehearsal.Input], or let [Drive] turn it in real
// time. [Rehearsal.Snapshot] is what a screen shows.
//
// Promises:
//
//   - Real time, fast time and replay differ only in who turns the crank: the
//     same inputs at the same offsets give the same events to the last bit.
//   - An input takes effect at its own stamp, before anything later happens. In
//     real time that holds for one that arrives within 10 ms of its stamp; a later
//     one happens when it arrives.
//   - What the flow engine decided on is in the event list, the gauges'
//     readings included, so that a stored run replays without physics.
//
// A Rehearsal has one owner and does no locking; [Drive] is that owner while it
// runs, and its [Live] may be used from any goroutine.
package rehearsal
