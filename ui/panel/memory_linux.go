//go:build cgo

package panel

/*
#include <malloc.h>

// The toolkit frees the picture of all that moves with every frame and takes as much
// anew. By its own lights the C library gives that memory back to the system in
// between, and an eighth of a frame's work was the system's, clearing the same pages
// again. It also takes the first large picture that is freed for a sign to keep later
// ones of its size among all small things, where they leave holes that are never given
// back. A threshold that is set does not move (mallopt(3)).
static void keepFreedPictures(void) {
#ifdef __GLIBC__
	mallopt(M_MMAP_THRESHOLD, 1 << 20);
	mallopt(M_TRIM_THRESHOLD, 4 << 20);
#endif
}
*/
import "C"

func init() { C.keepFreedPictures() }
