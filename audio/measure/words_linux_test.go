package main

import (
	"os/exec"
	"strings"
	"testing"

	"kickover/audio/speech"
)

// The grammar of lines that begin alike holds each of them once.
func TestAlternatives(t *testing.T) {
	got := alternatives([][]string{{"boost", "pump"}, {"boost", "pump", "off"}, {"boost", "pump", "on"}, {"ready"}})
	if want := "/3/ boost (/3/ pump (/1/ <NULL> | /1/ off | /1/ on)) | /1/ ready"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A recogniser that hears every shipped line and chooses among all of them takes
// none for another in silence, and at most one in thirty 10 dB above each of the
// engine's own sounds.
// That takes minutes, so here each line that is told in time is heard, and every
// sixteenth explanation; make bench has all of them heard.
// Other systems than Linux have no package of the recogniser.
// The program is kinder: its engine idles 8 dB below a line and is turned down
// by another 10.5 dB while one is heard.
func TestLinesAreUnderstood(t *testing.T) {
	if _, err := exec.LookPath("pocketsphinx_batch"); err != nil {
		t.Fatal("the recogniser is not installed, and this test listens with it; install the packages pocketsphinx and pocketsphinx-en-us (.ci/setup test does)")
	}
	for _, name := range []string{"slt", "rms"} {
		t.Run(name, func(t *testing.T) { isUnderstood(t, name) })
	}
}

func isUnderstood(t *testing.T, voice string) {
	h, err := listen(voice, 10, func(number int, e speech.Entry) []string {
		if e.Length >= toldInTime && number%16 != 0 {
			return nil
		}
		return everywhere(number, e)
	})
	if err != nil {
		t.Fatal(err)
	}
	for in, n := range h.heard {
		most := n / 30
		if in == clean {
			most = 0
		}
		if len(h.wrong[in]) > most {
			t.Errorf("%s: %d of %d misheard, at most %d may be:\n%s", in, len(h.wrong[in]), n, most, strings.Join(h.wrong[in], "\n"))
		}
	}
}
