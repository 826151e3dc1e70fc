package classroom

import (
	"testing"
	"time"

	"fyne.io/fyne/v2/test"

	"kickover/procedure/classroom"
	"kickover/ui/theme"
)

// Beside the code stands how long it is good, and when it has changed which one is
// good no more.
func TestWhatIsSaidOfACode(t *testing.T) {
	for _, c := range []struct {
		door classroom.Door
		want string
	}{
		{classroom.Door{Left: 15 * time.Minute}, "lets you in for 15 min, then another code stands here"},
		{classroom.Door{Left: 14*time.Minute + time.Second}, "lets you in for 15 min, then another code stands here"},
		{classroom.Door{Left: 14 * time.Minute}, "lets you in for 14 min, then another code stands here"},
		{classroom.Door{Left: 41 * time.Second}, "lets you in for 50 s, then another code stands here"},
		{classroom.Door{Left: time.Second}, "lets you in for 10 s, then another code stands here"},
		{classroom.Door{Left: 15 * time.Minute, Old: "482913"}, "482 913 is no longer valid: this is the new code"},
		{classroom.Door{Left: 11 * time.Minute, Old: "482913", OldFor: 4 * time.Minute}, "lets you in for 11 min, then another code stands here"},
		{classroom.Door{Left: 15 * time.Minute, Old: "482913", Shut: true}, nobodyNew},
	} {
		if got := doorOf(c.door).String(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.door, got, c.want)
		}
	}
}

// The screen for the room makes another code when it is asked to.
func TestANewCodeFromTheScreen(t *testing.T) {
	test.NewTempApp(t)
	made := 0
	r := NewRoom(RoomOptions{Theme: theme.Dusk, Class: thirty(), NewCode: func() { made++ }})
	show(t, r.Content())
	if test.Tap(r.another); made != 1 {
		t.Errorf("made %d, want 1", made)
	}
}
