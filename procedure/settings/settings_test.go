package settings_test

import (
	"errors"
	"strings"
	"testing"

	"kickover/procedure/settings"
	"kickover/procedure/units"
)

var chosen = settings.Settings{
	Who:    settings.Pilot,
	Units:  units.Units{Lever: "in", Temperature: "degF", Altitude: "ft", Pressure: "psi", FuelFlow: "gal/h"},
	Sound:  settings.Sound{Voice: "rms", VoiceLevel: 80, EngineLevel: 0, Muted: true, Device: "Built-in: Headphones"},
	Window: settings.Window{Theme: "night", Text: "larger", Width: 1024, Height: 700, X: -8, Y: 31, Placed: true},
	Data:   "/home/somebody/flying: data", Moved: "/home/somebody", Store: "postgres://school.example/kickover",
	School: "/home/somebody/school.json",
}

func TestWhatIsWrittenIsRead(t *testing.T) {
	for _, want := range []settings.Settings{settings.Default(), chosen} {
		file, _, err := settings.Encode(want, nil)
		if err != nil {
			t.Fatal(err)
		}
		got, notes, err := settings.Decode(file)
		if got != want || len(notes) > 0 || err != nil {
			t.Errorf("read %+v, %v, %v from\n%s", got, notes, err, file)
		}
	}
}

// A person's own keys and remarks outlive a change made in the window.
func TestUnknownKeysAndCommentsStay(t *testing.T) {
	file := []byte("# mine\nversion: 1\ncolour_of_socks: [red, blue]\nunits:\n  temperature: degF # as at home\n  tyre: bar\n")
	s, notes, err := settings.Decode(file)
	if err != nil || len(notes) > 0 || s.Units.Temperature != "degF" || s.Units.Pressure != "kPa" {
		t.Fatalf("%+v %v %v", s, notes, err)
	}
	s.Window.Theme = "day"
	out, kept, err := settings.Encode(s, file)
	if err != nil || !kept {
		t.Fatalf("kept: %v, %v", kept, err)
	}
	for _, want := range []string{"# mine", "colour_of_socks:", "red", "tyre: bar", "# as at home", "theme: day", "temperature: degF"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("%q is lost from\n%s", want, out)
		}
	}
	if again, _, err := settings.Decode(out); again != s || err != nil {
		t.Errorf("read %+v, %v from\n%s", again, err, out)
	}
}

func TestAValueNotUnderstoodLeavesTheOthers(t *testing.T) {
	s, notes, err := settings.Decode([]byte("window: { theme: mauve, text: larger, width: -3 }\nsound: loud\nwho: 7\n"))
	if err != nil || s.Window.Theme != "dusk" || s.Window.Text != "larger" || s.Sound.VoiceLevel != 100 || s.Who != "" {
		t.Errorf("%+v %v", s, err)
	}
	all := strings.Join(notes, "\n")
	for _, want := range []string{"window.theme: expected one of dusk, day, night, found mauve; the default is used", "window.width", "sound: expected keys", "who: expected one of student"} {
		if !strings.Contains(all, want) {
			t.Errorf("no sentence has %q:\n%s", want, all)
		}
	}
}

func TestDamaged(t *testing.T) {
	for _, file := range []string{"\x00\x01\x02", "window: [", "- a\n- list\n", "just words"} {
		if s, _, err := settings.Decode([]byte(file)); !errors.Is(err, settings.ErrDamaged) || s != settings.Default() {
			t.Errorf("%q: %+v, %v", file, s, err)
		}
	}
	if s, _, err := settings.Decode(nil); err != nil || s != settings.Default() {
		t.Errorf("an empty file: %+v, %v", s, err)
	}
}

// Whatever the file, reading ends; what is then written reads the same, and a
// file that was understood is not damaged by writing into it.
func FuzzSettings(f *testing.F) {
	whole, _, _ := settings.Encode(chosen, nil)
	for _, s := range []string{"", "version: 1", string(whole), "window: {theme: day}", "a: &x [*x]", "? [a]: b", "# c\nsound:\n  voice_level: 50 %\n", "units: null", "<<: {who: pilot}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		s, _, err := settings.Decode(file)
		out, kept, werr := settings.Encode(s, file)
		if werr != nil {
			t.Fatalf("cannot be written: %v", werr)
		}
		again, notes, rerr := settings.Decode(out)
		if rerr != nil || again != s || len(notes) > 0 {
			t.Fatalf("%q (%v) was written as %q, which reads %+v, %v, %v", file, err, out, again, notes, rerr)
		}
		if kept && err != nil {
			t.Fatalf("%q is damaged and was written into", file)
		}
	})
}
