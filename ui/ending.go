package ui

import (
	"os"
	"os/signal"
	"sync/atomic"
	"syscall"
	"time"

	"fyne.io/fyne/v2"
)

// ending is how a window's program ends. The toolkit's own end is not come to, since
// on a busy machine it may wait for good: it stops taking what its queue of events
// asks for, and then waits until that queue is empty (fyne 2.8.1, lifecycle.go,
// WaitForEvents). Until the process is gone it also lets every goroutine that has
// something to show do so itself, all at once.
type ending struct {
	hide, leave func()
	over        atomic.Bool // the toolkit's loop is left
}

// endOf has the window, and a signal to end, leave what is under way and then the
// toolkit's loop. All of it happens on the main goroutine.
func endOf(w fyne.Window, leave func()) *ending {
	e := &ending{hide: w.Hide, leave: leave}
	w.SetCloseIntercept(e.quit)
	return e
}

// quit leaves what is under way, and the loop at its next turn.
func (e *ending) quit() {
	e.hide()
	e.leave()
	fyne.Do(func() {
		e.over.Store(true)
		panic(e) // which run takes: there is no other way out of the loop
	})
}

// run runs the toolkit's loop until the window is quit.
func (e *ending) run(loop func()) {
	defer func() {
		if e.over.Load() {
			_ = recover() // any other panic goes on
		}
	}()
	stop := make(chan struct{})
	defer close(stop)
	go e.heed(stop)
	loop()
}

// heed takes a signal to end as the window's being closed.
func (e *ending) heed(stop <-chan struct{}) {
	defer func() {
		if e.over.Load() { // the toolkit ended first, and has what is asked of it done here
			_ = recover()
		}
	}()
	told := make(chan os.Signal, 1)
	takeSignals(told)
	// The toolkit asks for signals too, on a goroutine of its own that its loop starts.
	again, late := time.NewTicker(20*time.Millisecond), time.After(time.Second)
	defer again.Stop()
	for {
		select {
		case <-again.C:
			takeSignals(told)
		case <-late:
			again.Stop()
		case <-told:
			fyne.Do(e.quit)
			return
		case <-stop:
			return
		}
	}
}

// takeSignals has signals to end sent here and nowhere else: the toolkit would end as
// it does.
func takeSignals(told chan<- os.Signal) {
	signal.Reset(os.Interrupt, syscall.SIGTERM)
	signal.Notify(told, os.Interrupt, syscall.SIGTERM)
}
