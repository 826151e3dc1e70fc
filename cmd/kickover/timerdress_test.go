package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/adrg/xdg"

	"kickover/procedure/settings/settingsfile"
	"kickover/ui/theme"
)

// The timer opens in its own last colours; a first time in day's, unless the window
// is dressed for the night.
func TestTheTimersDress(t *testing.T) {
	before := preferences
	dir := t.TempDir()
	t.Setenv("XDG_DATA_HOME", dir)
	xdg.Reload()
	t.Cleanup(func() {
		preferences = before
		os.Unsetenv("XDG_DATA_HOME")
		xdg.Reload()
	})
	preferences = settingsfile.Open(filepath.Join(dir, "settings.yaml"))
	if got := dressBefore(); got != "day" {
		t.Errorf("the first time it is %q", got)
	}
	night := filepath.Join(dir, "night.yaml")
	if err := os.WriteFile(night, []byte("version: 1\nwindow:\n  theme: night\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	preferences = settingsfile.Open(night)
	if got := dressBefore(); got != "night" {
		t.Errorf("beside a window dressed for the night it is %q", got)
	}
	for _, d := range theme.All() {
		if err := writeDress(d.Name); err != nil {
			t.Fatal(err)
		}
		if got := dressBefore(); got != d.Name {
			t.Errorf("after %s it is %q", d.Name, got)
		}
	}
	if err := os.WriteFile(dressFile(), []byte("pink\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if got := dressBefore(); got != "night" {
		t.Errorf("what is no dress counts as none: %q", got)
	}
}
