package classroom_test

import (
	"path/filepath"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/classroom"
)

// What an instructor tapped is there when the class's file is opened again, with
// the times that each step took.
func TestWhatWasCalledAloudIsKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "class.db")
	b, err := classroom.OpenBook(path)
	if err != nil {
		t.Fatal(err)
	}
	f := &procedure.Flow{ID: "cold", Aircraft: "one", Steps: []procedure.Step{{ID: "a"}, {ID: "b"}, {ID: "c"}}}
	a := classroom.NewAloud(f, 10*time.Second) // the clock does not begin with the drill
	for _, tap := range []struct {
		tap classroom.Tap
		at  time.Duration
	}{{classroom.Called, 12}, {classroom.Wrong, 13}, {classroom.Hesitated, 17}} {
		if err := a.Tap(tap.tap, tap.at*time.Second); err != nil {
			t.Fatal(err)
		}
	}
	begun := time.Date(2026, 3, 3, 9, 0, 0, 0, time.UTC)
	if err := b.KeepAloud("cold", begun, a); err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	if b, err = classroom.OpenBook(path); err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	kept, err := b.CalledAloud()
	if err != nil || len(kept) != 1 || kept[0].Flow != "cold" || !kept[0].Begun.Equal(begun) {
		t.Fatalf("%+v, %v", kept, err)
	}
	s := kept[0].Again(f).Steps()
	if !s[0].Done || s[0].Elapsed != 2*time.Second || s[1].Wrong != 1 || !s[1].Slow || s[1].Elapsed != 5*time.Second || s[2].Done {
		t.Errorf("%+v", s)
	}
	// A flow that was made shorter since holds what it can.
	f.Steps = f.Steps[:1]
	if s := kept[0].Again(f).Steps(); len(s) != 1 || !s[0].Done {
		t.Errorf("%+v", s)
	}
}
