package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/adrg/xdg"

	"kickover/procedure/settings"
	"kickover/procedure/settings/settingsfile"
)

// own gives a test folders of its own, as the desktop's standard names them.
func own(t *testing.T) (data string) {
	t.Helper()
	home := t.TempDir()
	data = filepath.Join(home, "data")
	t.Setenv(dataVariable, data)
	t.Setenv("XDG_CONFIG_HOME", filepath.Join(home, "config"))
	xdg.Reload()
	t.Cleanup(func() { preferences = nil; xdg.Reload() })
	return data
}

// Runs are brought whole to the folder that was chosen, the old ones stay, and the
// program finds the new ones.
func TestRunsMoveAtTheNextStart(t *testing.T) {
	data := own(t)
	old := filepath.Join(data, "kickover")
	if err := os.MkdirAll(filepath.Join(old, "timer"), 0o700); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"runs.db": "runs", "timer/ledger": "ledger"} {
		if err := os.WriteFile(filepath.Join(old, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	to := filepath.Join(t.TempDir(), "elsewhere")
	if err := settingsfile.Open(settingsPath()).Change(func(s *settings.Settings) { s.Data, s.Moved = to, old }); err != nil {
		t.Fatal(err)
	}
	var said strings.Builder
	file := settle(&said)
	if said.Len() > 0 || file.Settings().Moved != "" || userFolder() != filepath.Join(to, "kickover") {
		t.Errorf("it said %q; %+v; the data is in %s", said.String(), file.Settings(), userFolder())
	}
	for _, folder := range []string{old, userFolder()} {
		if got, err := os.ReadFile(filepath.Join(folder, "timer", "ledger")); string(got) != "ledger" {
			t.Errorf("%s holds %q, %v", folder, got, err)
		}
	}
	left, _ := filepath.Glob(filepath.Join(to, ".kickover-*"))
	if len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// A folder that cannot be used leaves everything where it was, with a sentence, to
// be tried again.
func TestRunsThatCannotMoveStay(t *testing.T) {
	data := own(t)
	old := filepath.Join(data, "kickover")
	wall := filepath.Join(t.TempDir(), "a file")
	for _, err := range []error{os.MkdirAll(old, 0o700), os.WriteFile(wall, nil, 0o600)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := settingsfile.Open(settingsPath()).Change(func(s *settings.Settings) { s.Data, s.Moved = wall, old }); err != nil {
		t.Fatal(err)
	}
	var said strings.Builder
	file := settle(&said)
	if userFolder() != old || file.Settings().Moved != old || !strings.Contains(said.String(), "used where they were") {
		t.Errorf("it said %q; the data is in %s", said.String(), userFolder())
	}
}

func TestAFolderMustBeOneThatCanHoldRuns(t *testing.T) {
	own(t)
	for folder, want := range map[string]string{
		"flying":                            "write the folder out in full",
		filepath.Join(userFolder(), "deep"): "choose one outside it",
	} {
		if _, err := folderFor(folder); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", folder, err)
		}
	}
	good := filepath.Join(t.TempDir(), "new", "folder")
	if got, err := folderFor(good); got != good || err != nil {
		t.Errorf("%s: %s, %v", good, got, err)
	}
}
