package record_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kickover/procedure/record"
)

// A file scribbled on at a hundred places, one after the other: each time it
// opens, what was damaged is set aside as it was and said in one sentence, and
// what is there is right.
func TestDamageAtAHundredPlaces(t *testing.T) {
	const runs, places = 20, 100
	sound := damagedStore(t, filepath.Join(t.TempDir(), "runs.db"), runs, func(content []byte) []byte { return content })
	scribble := bytes.Repeat([]byte{0xA5, 0x00, 0xFF, 0x3C}, 64)
	found := 0
	for place := range places {
		path := filepath.Join(t.TempDir(), "runs.db")
		content := bytes.Clone(sound)
		copy(content[place*(len(content)-len(scribble))/(places-1):], scribble)
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := record.Open(path)
		if err != nil {
			t.Errorf("place %d: %v", place, err)
			continue
		}
		if err := s.Check(context.Background()); err != nil {
			t.Errorf("place %d: what is left cannot be read: %v", place, err)
		}
		if list, err := s.Runs(record.Filter{}, record.Page{Limit: runs + 1}); err != nil || len(list) > runs {
			t.Errorf("place %d: %d runs, %v", place, len(list), err)
		}
		notices := s.Notices()
		if len(notices) > 0 {
			found++
			wantSetAside(t, path, content)
		}
		for _, n := range notices {
			if !strings.Contains(n, "damaged") || !strings.HasSuffix(n, ".") || strings.Contains(n, "\n") {
				t.Errorf("place %d: the notice %q is not a sentence", place, n)
			}
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
	// What lies inside a value, or in unused room, SQLite cannot tell.
	if found < places/2 {
		t.Errorf("the damage was found at %d of %d places", found, places)
	}
}
