//go:build cgo

package main

/*
#include <malloc.h>

// Pictures for the display come and go by the megabyte. The C library takes the
// first that is freed for a sign to keep later ones of its size among all small
// things, where they leave holes that are never given back. A threshold that is set
// does not move (mallopt(3)).
static void keepPicturesApart(void) {
#ifdef __GLIBC__
	mallopt(M_MMAP_THRESHOLD, 1 << 20);
	mallopt(M_TRIM_THRESHOLD, 4 << 20);
#endif
}
*/
import "C"

func init() { C.keepPicturesApart() }
