package x11input

import (
	"testing"
	"time"

	"fyne.io/fyne/v2"
)

func at(ms int) time.Duration { return time.Duration(ms) * time.Millisecond }

// told is what a listener passes on for strokes that are followed by silence.
func told(strokes ...stroke) []stroke {
	var f repeats
	var out []stroke
	for _, s := range strokes {
		out = append(out, f.feed(s)...)
	}
	return append(out, f.flush()...)
}

func TestHeldKeyThatRepeatsIsOneStroke(t *testing.T) {
	// As an X server with the usual repeat sends it: 660 ms, then every 40.
	got := told(
		stroke{code: 41, down: true, time: 1000, at: at(1)},
		stroke{code: 41, time: 1660, at: at(661)},
		stroke{code: 41, down: true, time: 1660, at: at(661)},
		stroke{code: 41, time: 1700, at: at(701)},
		stroke{code: 41, down: true, time: 1700, at: at(701)},
		stroke{code: 41, time: 1733, at: at(734)},
	)
	if len(got) != 2 || !got[0].down || got[1].down || got[0].at != at(1) || got[1].at != at(734) {
		t.Errorf("got %+v, want one press at 1 ms and one release at 734 ms", got)
	}
}

func TestReleaseKeepsItsOwnStampWhenAnotherKeyFollows(t *testing.T) {
	got := told(
		stroke{code: 41, down: true, time: 1000, at: at(0)},
		stroke{code: 41, time: 2000, at: at(1000)},
		stroke{code: 32, down: true, time: 2003, at: at(1003)},
	)
	if len(got) != 3 || got[1].code != 41 || got[1].at != at(1000) || got[2].code != 32 {
		t.Errorf("got %+v", got)
	}
}

func TestTwoKeysHeldTogetherAreTwo(t *testing.T) {
	got := told(
		stroke{code: 41, down: true, time: 10, at: at(10)},
		stroke{code: 32, down: true, time: 20, at: at(20)},
		stroke{code: 32, time: 700, at: at(700)},
		stroke{code: 32, down: true, time: 700, at: at(700)},
		stroke{code: 41, time: 800, at: at(800)},
		stroke{code: 32, time: 900, at: at(900)},
	)
	want := []struct {
		code byte
		down bool
	}{{41, true}, {32, true}, {41, false}, {32, false}}
	if len(got) != len(want) {
		t.Fatalf("got %+v", got)
	}
	for i, w := range want {
		if got[i].code != w.code || got[i].down != w.down {
			t.Errorf("stroke %d is %+v, want %+v", i, got[i], w)
		}
	}
}

func TestReleaseOfAKeyThatWasNotHeldIsDropped(t *testing.T) {
	// The window got the foreground while the key was down.
	if got := told(stroke{code: 41, time: 5, at: at(5)}); len(got) != 0 {
		t.Errorf("got %+v", got)
	}
}

func TestKeyWhoseReleaseWentToAnotherWindowCanBePressedAgain(t *testing.T) {
	got := told(
		stroke{code: 41, down: true, time: 10, at: at(10)},
		stroke{code: 41, down: true, time: 5000, at: at(5000)},
		stroke{code: 41, time: 5100, at: at(5100)},
	)
	if len(got) != 3 || !got[1].down || got[1].at != at(5000) || got[2].down {
		t.Errorf("got %+v", got)
	}
}

// Keysyms from X.Org's keysymdef.h: XK_f, XK_F, XK_7, XK_space, XK_Return, XK_F9.
func TestKeysymsHaveTheToolkitsNames(t *testing.T) {
	for sym, want := range map[uint32]fyne.KeyName{
		0x66: fyne.KeyF, 0x46: fyne.KeyF, 0x37: fyne.Key7, 0x20: fyne.KeySpace, 0xff0d: fyne.KeyReturn, 0xffc6: fyne.KeyF9,
	} {
		if got, ok := name(sym); !ok || got != want {
			t.Errorf("keysym %#x is %q, want %q", sym, got, want)
		}
	}
	if got, ok := name(0xffe1); ok {
		t.Errorf("Shift has the name %q", got)
	}
}
