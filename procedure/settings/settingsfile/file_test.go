package settingsfile_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kickover/procedure/settings"
	"kickover/procedure/settings/settingsfile"
)

func TestWhatIsChosenIsRemembered(t *testing.T) {
	path := filepath.Join(t.TempDir(), "deep", "settings.yaml")
	f := settingsfile.Open(path)
	if !f.New() || f.Settings() != settings.Default() || len(f.Notices()) > 0 {
		t.Fatalf("a first start shows %+v, %v", f.Settings(), f.Notices())
	}
	if err := f.Change(func(s *settings.Settings) { s.Who, s.Window.Theme = settings.Pilot, "night" }); err != nil {
		t.Fatal(err)
	}
	again := settingsfile.Open(path)
	if s := again.Settings(); again.New() || s.Who != settings.Pilot || s.Window.Theme != "night" {
		t.Errorf("it remembers %+v", s)
	}
	left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".settings-*"))
	if len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestADamagedFileIsSetAside(t *testing.T) {
	path := filepath.Join(t.TempDir(), "settings.yaml")
	for n, broken := range []string{"window: [", strings.Repeat("# long\n", 50000)} {
		if err := os.WriteFile(path, []byte(broken), 0o600); err != nil {
			t.Fatal(err)
		}
		f := settingsfile.Open(path)
		if f.Settings() != settings.Default() || len(f.Notices()) != 1 || !strings.Contains(f.Notices()[0], "damaged, and the defaults are used") {
			t.Errorf("%+v %v", f.Settings(), f.Notices())
		}
		if err := f.Change(func(s *settings.Settings) { s.Who = settings.Student }); err != nil {
			t.Fatal(err)
		}
		aside, err := os.ReadFile(path + ".damaged-" + string(rune('1'+n)))
		if err != nil || string(aside) != broken {
			t.Errorf("set aside: %d bytes, %v", len(aside), err)
		}
	}
}

// What cannot be written still holds, and says so.
func TestWhatCannotBeWrittenHolds(t *testing.T) {
	file := filepath.Join(t.TempDir(), "in-the-way")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	f := settingsfile.Open(filepath.Join(file, "settings.yaml"))
	err := f.Change(func(s *settings.Settings) { s.Window.Theme = "day" })
	if err == nil || !strings.Contains(err.Error(), "hold until the program ends") {
		t.Errorf("it said %v", err)
	}
	if f.Settings().Window.Theme != "day" {
		t.Error("the choice was lost")
	}
}
