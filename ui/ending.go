package ui

import (
	"os"
	"os/signal"
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
	over        bool // the toolkit's loop is left
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
		e.over = true
		panic(e) // which run takes: there is no other way out of the loop
	})
}

// run runs the toolkit's loop until the window is quit.
func (e *ending) run(loop func()) {
	defer func() {
		if e.over {
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
	told := make(chan os.Signal, 1)
	takeSignals(told)
	again := time.After(time.Second)
	for {
		select {
		case <-again:
			takeSignals(told)
		case <-told:
			fyne.Do(e.quit)
			return
		case <-stop:
			return
		}
	}
}

// takeSignals has signals to end sent here and nowhere else: the toolkit, which asks
// for them a moment after its loop began, would end as it does.
func takeSignals(told chan<- os.Signal) {
	signal.Reset(os.Interrupt, syscall.SIGTERM)
	signal.Notify(told, os.Interrupt, syscall.SIGTERM)
}
