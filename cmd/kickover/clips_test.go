package main

import (
	"slices"
	"testing"

	"kickover/assets"
	"kickover/assets/voice"
	"kickover/audio/speech"
	"kickover/procedure/flowfile"
)

// Every line that a shipped flow or the engine may say has a clip in both
// voices, so that none depends on the speech program of somebody's machine.
func TestEveryShippedLineHasAClip(t *testing.T) {
	libs, err := flowfile.Load(assets.Library())
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"slt", "rms"} {
		library, err := speech.Open(voice.Files, name, "")
		if err != nil {
			t.Fatal(err)
		}
		var missing []string
		for _, l := range libs {
			for _, line := range spokenLines(l) {
				if _, ok := library.Clip(line); !ok && !slices.Contains(missing, line) {
					missing = append(missing, line)
				}
			}
		}
		if len(missing) > 0 {
			t.Errorf("%s has no clip of %d lines; run make voice: %q", name, len(missing), missing)
		}
	}
}
