// Package e2e drives the real window, as a person would: with keys and a mouse
// on a display of its own, through the built program, to what the store says
// afterwards. It holds tests only.
package e2e
