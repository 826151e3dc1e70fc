package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"kickover/procedure/settings"
	"kickover/ui/theme"
)

// The timer's colours are remembered apart from the window's: a screen at home is
// not a screen in the sun.

func dressFile() string { return filepath.Join(timerFolder(), "dress") }

// dressBefore is the colours that the timer had last. Before there were any it is
// day's, for a cockpit in the sun, unless the window is dressed for the night.
func dressBefore() string {
	text, _ := os.ReadFile(dressFile()) // none, or one that cannot be read, is none
	if name := strings.TrimSpace(string(text)); slices.Contains(settings.Themes, name) {
		return name
	}
	if preferences.Settings().Window.Theme == theme.Night.Name {
		return theme.Night.Name
	}
	return theme.Day.Name
}

// dressed is the name of the colours chosen last; dressing lets one goroutine at a
// time write it.
var (
	dressed  atomic.Value
	dressing sync.Mutex
)

// checkDress says of a name that no dress has which there are.
func checkDress(name string) error {
	if name == "" || slices.Contains(settings.Themes, name) {
		return nil
	}
	return fmt.Errorf("--dress %q: there are %s", name, strings.Join(settings.Themes, ", "))
}

// rememberDress keeps the colours for the next time, at once and without a wait
// for the disk: a program that is killed at night is not to come back in white.
func rememberDress(t theme.Tokens) {
	dressed.Store(t.Name)
	go func() {
		dressing.Lock()
		defer dressing.Unlock()
		_ = writeDress(dressed.Load().(string)) // it can be chosen by hand
	}()
}

func writeDress(name string) error {
	if err := os.MkdirAll(timerFolder(), 0o755); err != nil {
		return err
	}
	return os.WriteFile(dressFile(), []byte(name+"\n"), 0o644)
}
