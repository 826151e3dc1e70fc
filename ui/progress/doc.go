// Package progress is the screen that says how somebody gets better: what to
// practise next and whether it is working at a glance, and below it each step,
// the prime, where the time goes and what is taken for what.
//
// Call [New] with what the screen needs from outside; show [Screen.Content].
// What it says comes from packages proficiency and practice, its drawings from
// package chart; nothing is worked out here. Everything belongs to the goroutine
// of the window.
package progress
