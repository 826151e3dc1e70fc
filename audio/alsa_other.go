//go:build !linux || !cgo

package audio

// silenceDrivers has nothing to do here: only Linux's sound libraries write to
// standard error.
func silenceDrivers() {}

// tryDevices leaves it to oto to find a device.
func tryDevices() error { return nil }
