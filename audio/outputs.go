package audio

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"sync"
	"time"
)

// Device is an output that can be chosen.
type Device struct {
	ID   string // empty is the system's default
	Name string // as the system shows it
}

// SystemDefault is whatever output the system has chosen.
var SystemDefault = Device{Name: "System default"}

// listTimeout is for a sound server that hangs.
const listTimeout = 2 * time.Second

// Devices lists the outputs that can be chosen, SystemDefault first. There are
// others only where a PulseAudio or PipeWire server lists them; on Windows and
// macOS the choice is the system's own setting. It asks a program, which may
// take up to two seconds: call it away from the window.
func Devices() []Device {
	devices := []Device{SystemDefault}
	if runtime.GOOS != "linux" {
		return devices
	}
	ctx, cancel := context.WithTimeout(context.Background(), listTimeout)
	defer cancel()
	ask := exec.CommandContext(ctx, "pactl", "list", "sinks")
	ask.Env = append(os.Environ(), "LC_ALL=C.UTF-8") // the words below are translated otherwise
	printed, err := ask.Output()
	if err != nil {
		return devices
	}
	return append(devices, parseSinks(printed)...)
}

// parseSinks reads what pactl list sinks prints: for each, among much else, its
// name and then its description.
func parseSinks(printed []byte) []Device {
	var devices []Device
	for scan := bufio.NewScanner(bytes.NewReader(printed)); scan.Scan(); {
		// One tab: deeper rows are properties of the sink and of its ports.
		row, ok := strings.CutPrefix(scan.Text(), "\t")
		if !ok {
			continue
		}
		if id, ok := strings.CutPrefix(row, "Name: "); ok {
			devices = append(devices, Device{ID: id, Name: id})
		}
		if name, ok := strings.CutPrefix(row, "Description: "); ok && len(devices) > 0 && name != "" {
			devices[len(devices)-1].Name = name
		}
	}
	return devices
}

// sinkVariable tells the sound server's client which output to play on.
const sinkVariable = "PULSE_SINK"

// sinkBefore is what the system had, looked up before the first choice.
var sinkBefore = sync.OnceValues(func() (string, bool) { return os.LookupEnv(sinkVariable) })

// chooseDevice has the next device opened be this one.
func chooseDevice(id string) error {
	before, had := sinkBefore()
	switch {
	case id == "" && had:
		return os.Setenv(sinkVariable, before)
	case id == "":
		return os.Unsetenv(sinkVariable)
	case runtime.GOOS != "linux":
		return fmt.Errorf("the output cannot be chosen here, so the system's default plays; choose it in the system's own settings")
	default:
		return os.Setenv(sinkVariable, id)
	}
}
