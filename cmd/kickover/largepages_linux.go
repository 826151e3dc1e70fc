package main

import (
	"runtime"

	"golang.org/x/sys/unix"
)

// startHeap is what a start fills until its first frame, in bytes, and a little more.
const startHeap = 64 << 20

// askLargePages has the heap that a start fills in large pages, where the kernel gives
// them to who asks. It takes some 10,000 small ones else, and where the machine is a
// guest whose host has a part in each fault, those are a tenth of a second. The runtime
// maps so much at once, untouched, and has it back to give out from then on.
func askLargePages() {
	ahead := make([]byte, startHeap)
	_ = unix.Madvise(ahead, unix.MADV_HUGEPAGE) // without them all goes on as before
	runtime.KeepAlive(ahead)
	runtime.GC()
}
