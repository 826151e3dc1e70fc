//go:build !unix

package main

// freeBytes is not known here.
func freeBytes(string) (bytes uint64, known bool) { return 0, false }
