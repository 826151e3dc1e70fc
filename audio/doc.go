// Package audio is what the cockpit sounds like: spoken lines on time, the
// engine, and the tones of cautions and warnings.
//
// Call [Open] first; it never fails hard. Then [Player.Prepare] with the lines
// that may be spoken, [Player.Say] with each line and the time its beat is to
// fall, and [Player.SetEngine] as often as the engine's state is known. Captions
// come out of [Player.Captions] with or without a sound device.
//
// There is one continuous stream of samples. A [Mixer] fills it and knows the
// time of each sample only by what it is told; it owns no clock, device or
// goroutine, and allocates nothing while it streams, so it can be pulled by a
// test as well as by a device. A [Player] is a Mixer with a device, or, while
// there is none, with a clock that pulls in its place.
//
// The package knows nothing of flows or steps: it is given lines and times. All
// times carry Go's monotonic reading. Every method may be called from any
// goroutine; none of them waits for the device.
package audio
