//go:build linux && cgo

package audio

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// A machine without sound is asked for it again every half minute, all day long.
func TestTriesWithoutADeviceLeaveNothingBehind(t *testing.T) {
	none := filepath.Join(t.TempDir(), "none.conf") // an ALSA that knows no device
	if err := os.WriteFile(none, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("ALSA_CONFIG_PATH", none)
	silenceDrivers()
	before := runtime.NumGoroutine()
	for range 20 {
		if s, err := openOto("", DefaultBuffer, nil); err == nil {
			s.Close()
			t.Fatal("a device was opened where there is none")
		}
	}
	if n := runtime.NumGoroutine(); n > before+1 {
		t.Errorf("20 tries left %d goroutines more", n-before)
	}
}
