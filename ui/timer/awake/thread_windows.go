package awake

import (
	"errors"
	"runtime"

	"golang.org/x/sys/windows"
)

func system() inhibitor { return &execution{} }

// execution holds a thread for as long as the display must stay on: Windows ties
// the request to the thread that made it.
type execution struct{ stop chan struct{} }

// From winbase.h.
const (
	systemRequired  = 0x00000001
	displayRequired = 0x00000002
	continuous      = 0x80000000
)

var setThreadExecutionState = windows.NewLazySystemDLL("kernel32.dll").NewProc("SetThreadExecutionState")

func (e *execution) hold(_, _ string) error {
	stop, done := make(chan struct{}), make(chan error)
	go func() {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		if before, _, _ := setThreadExecutionState.Call(continuous | systemRequired | displayRequired); before == 0 {
			done <- errors.New("Windows refused")
			return
		}
		done <- nil
		<-stop
		setThreadExecutionState.Call(continuous)
	}()
	if err := <-done; err != nil {
		return err
	}
	e.stop = stop
	return nil
}

func (e *execution) release() error {
	if e.stop != nil {
		close(e.stop)
		e.stop = nil
	}
	return nil
}
