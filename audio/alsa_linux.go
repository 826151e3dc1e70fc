//go:build linux && cgo

package audio

// #cgo pkg-config: alsa
// #include <alsa/asoundlib.h>
//
// static void silent(const char *file, int line, const char *function, int err, const char *fmt, ...) {}
// static void silence(void) { snd_lib_error_set_handler(silent); }
import "C"

// The library writes a screenful to standard error each time no device can be
// opened. What matters of it comes back as an error and is told in a sentence.
func init() { C.silence() }
