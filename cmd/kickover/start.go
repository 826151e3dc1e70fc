package main

import (
	"runtime/debug"
	"sync"
	"time"
)

// How long, and up to how much memory, a start goes without the garbage collector: far
// more than any takes, and little enough for a small machine.
const (
	startPatience = 10 * time.Second
	startMemory   = 512 << 20 // bytes
)

// atLatest bounds a start without the garbage collector: a display that never paints
// must not keep it away for good. It is brought back when begun is called, or else by
// itself after a while, and works before that where memory runs short.
func atLatest(back func()) (begun func()) {
	usual := debug.SetMemoryLimit(-1)
	debug.SetMemoryLimit(min(usual, startMemory))
	once := sync.OnceFunc(func() {
		debug.SetMemoryLimit(usual)
		back()
	})
	late := time.AfterFunc(startPatience, once)
	return func() {
		late.Stop()
		once()
	}
}
