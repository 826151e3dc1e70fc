//go:build linux && cgo

package audio

// #cgo pkg-config: alsa
// #cgo LDFLAGS: -ldl
// #include <alsa/asoundlib.h>
// #include <dlfcn.h>
//
// static void silent_alsa(const char *file, int line, const char *function, int err, const char *fmt, ...) {}
// static void silent_jack(const char *message) {}
//
// // ALSA tries JACK among others where its plug-in is installed, and JACK's own
// // library, which this program need not have, reports that no server runs.
// static void silence(void) {
//	snd_lib_error_set_handler(silent_alsa);
//	void *jack = dlopen("libjack.so.0", RTLD_LAZY);
//	if (!jack) return;
//	void (*set_error)(void (*)(const char *)) = dlsym(jack, "jack_set_error_function");
//	void (*set_info)(void (*)(const char *)) = dlsym(jack, "jack_set_info_function");
//	if (set_error) set_error(silent_jack);
//	if (set_info) set_info(silent_jack);
// }
import "C"

import "sync"

// silenceDrivers keeps the sound libraries from writing a screenful to standard
// error each time no device can be opened. What matters of it comes back as an
// error and is told in a sentence.
var silenceDrivers = sync.OnceFunc(func() { C.silence() })
