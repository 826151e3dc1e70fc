// Package planner works out how long to prime: for the conditions of a day, how
// likely each length of prime is to start the engine and how likely to flood it,
// flown many times with a simulated engine, always beside the handbook's own
// window.
//
// Call [NewAeroplane] with an aircraft and its flows; ask a [Question]; fly the
// [Survey] it gives, by [Survey.Fly] or, on several cores, with package pool;
// then read each row's [Row.Points] and [Row.Advice]. [Question.Chart] asks about
// one day, [Question.Map] about a range of temperatures.
//
// Promises:
//
//   - The package is pure: no clock, no file, no goroutine. A survey is a list
//     of [Strip] that know nothing of each other, so that whoever flies them, in
//     whatever order and on however many cores, gets the same counts for a seed.
//   - Advice never lies outside the handbook's window, and there is none where
//     the handbook primes not at all. The simulation is a fit to common practice
//     and a validation of nothing: where the two differ, the handbook rules.
//   - Every probability carries its 95 % interval (Wilson's score), and a cell is
//     flown until its intervals are narrow or its trials are spent.
//
// # What it learns from real starts
//
// What differs from start to start is the pilot's hand, the fuel and the day, and
// no number of starts takes that away. What differs from aeroplane to aeroplane
// stays, and can be learnt. The model has four such numbers; changed by a fifth,
// three of them move the odds of a start:
//
//   - the prime flow, in g/s: both ends of the range of primes that work;
//   - the transfer of fuel from the walls to the air: the short end, in the cold;
//   - what the walls hold before they drain: the long end, where it floods.
//
// The fourth, how much fuel wets the wall, moved no cell by more than chance. How
// uneven the nozzles are is left in the scatter: one start says next to nothing
// of four numbers. [Traits] are the three as factors of the model's own value. A
// [Belief] is a probability over them. With no starts it is the spread that the
// model itself gives to aeroplanes ([powerplant.UsualScatter]), so that the plan
// is the model's, to the last count. Each start then multiplies in how likely its
// outcome was ([Learn]), and the trials of a plan draw their aeroplane from what
// is left: a few starts move it little.
//
// How likely an outcome was for traits that nobody flew is read from a
// [Surrogate]: a pair of logistic regressions, "too little" and "then flooded",
// fitted once to seeded trials by the program in procedure/planner/fit and kept
// with the package. The posterior is summed over a grid of 17 x 17 x 17 traits:
// three dimensions are few enough that no sampling is needed, and a grid has no
// chance in it.
//
// Starts inside the handbook's window say little, since nearly all succeed:
// what is learnt from them is that the aeroplane is not far off. That is as it
// should be. Nobody should prime badly to teach a program.
//
// An engine with a hand primer teaches nothing: its flows give one number of
// strokes, the cockpit timer does not count them, and starts that are all primed
// alike say nothing of another prime. [Aeroplane.WhyNotLearn] says so.
package planner
