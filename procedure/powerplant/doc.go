// Package powerplant simulates the engine of a small piston aeroplane with its
// fuel system, starter and battery, from cold and still to settled at idle.
//
// Call [ByName] for an engine, then [New] with the conditions of the day and a
// seed. Put the levers where the hands put them with [Plant.SetControls],
// advance with [Plant.Step] or [Plant.Advance], and look at the gauges with
// [Plant.Readings]. [Plant.Inside] shows what nobody in the seat can see, for a
// debrief. A [Detector] turns readings into the moments a person would notice:
// it fires, it runs, it dies. [Trial] flies one whole start with a simulated
// pilot, and [Explain] prints the quantities behind a start.
//
// Promises:
//
//   - The package is pure: no clock, no file, no goroutine. One step is always
//     [StepSize]; who turns the crank, and how fast, is the caller's affair.
//   - The same spec, conditions, faults, seed and controls give the same
//     numbers to the last bit, on any machine: no sum here may be fused into a
//     multiply-add, and exponentials and sines are the package's own, because
//     the standard library's differ between processors.
//   - Step allocates nothing.
//   - Every parameter is a field of [Spec] with its unit and its source beside
//     it; [Parameters] lists them. Many are fitted or estimated, and say so.
//
// The model reaches from a still engine to one that idles. With the throttle
// well open it races as it should, but its power there is not to be relied on.
//
// It is a lumped model fitted to common practice. It is not a validation of
// anything, and it is no real aeroplane: the aircraft's own handbook rules.
//
// Words: the film is fuel lying on the walls of the intake ports; the charge is
// what one cylinder draws in; the vapour fraction is the part by volume of a
// charge that is fuel vapour, which must lie inside the band that burns; wet is
// fuel lying liquid in the cylinders.
//
// Masses are in grams, pressures in kPa, temperatures in degC unless a name
// says otherwise. A Plant belongs to one caller at a time; it does no locking.
package powerplant
