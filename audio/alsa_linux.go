//go:build linux && cgo

package audio

// #cgo pkg-config: alsa
// #cgo LDFLAGS: -ldl
// #include <alsa/asoundlib.h>
// #include <dlfcn.h>
// #include <stdlib.h>
// #include <string.h>
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
//
// static int opens(const char *name) {
//	snd_pcm_t *pcm;
//	int err = snd_pcm_open(&pcm, name, SND_PCM_STREAM_PLAYBACK, 0);
//	if (err >= 0) snd_pcm_close(pcm);
//	return err;
// }
//
// // anything_opens tries what oto tries, in its order, and gives the default's error.
// static int anything_opens(void) {
//	int err = opens("default");
//	if (err >= 0 || opens("plug:default") >= 0) return 0;
//	void **hints;
//	if (snd_device_name_hint(-1, "pcm", &hints) != 0) return err;
//	int found = 0;
//	for (void **h = hints; *h && !found; h++) {
//		char *way = snd_device_name_get_hint(*h, "IOID"), *name = snd_device_name_get_hint(*h, "NAME");
//		if (name && strcmp(name, "null") && strcmp(name, "default") && !(way && !strcmp(way, "Input")))
//			found = opens(name) >= 0;
//		free(way);
//		free(name);
//	}
//	snd_device_name_free_hint(hints);
//	return found ? 0 : err;
// }
import "C"

import (
	"fmt"
	"sync"
)

// silenceDrivers keeps the sound libraries from writing a screenful to standard
// error each time no device can be opened. What matters of it comes back as an
// error and is told in a sentence.
var silenceDrivers = sync.OnceFunc(func() { C.silence() })

// tryDevices is an error where no device can be opened. oto is asked only where one
// can: a context of its that finds none stays in memory for good, with a
// goroutine, and one would be made at every try.
func tryDevices() error {
	if err := C.anything_opens(); err < 0 {
		return fmt.Errorf("no sound device can be opened: %s", C.GoString(C.snd_strerror(err)))
	}
	return nil
}
