//go:build !linux

package main

// askLargePages does nothing: only Linux is asked for them.
func askLargePages() {}
