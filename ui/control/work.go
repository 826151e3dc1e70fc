package control

import (
	"context"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"
)

// Work is what a screen has done beside the window's goroutine, since it waits for
// a disk or a network or takes long: meanwhile the window goes on painting. It is
// one thing at a time: a newer one calls off the one before. Its zero value does
// nothing yet. Everything here is called on the window's goroutine.
type Work struct {
	cancel context.CancelFunc // nil while nothing is done
}

// moment is how long the window may stand still for something: nobody sees it, and
// a page that is nearly always there at once does not flicker.
const moment = 80 * time.Millisecond

// Start does something in a goroutine of its own and then calls show, which it
// gives, on the window's, unless it was called off by then. When it takes longer
// than a moment waiting is called, and again whenever it has news.
func (w *Work) Start(do func(ctx context.Context, news func(string)) (show func()), waiting func(news string)) {
	w.Stop()
	ctx, cancel := context.WithCancel(context.Background())
	w.cancel = cancel
	var latest atomic.Pointer[string]
	var pending atomic.Bool
	news := func(words string) {
		latest.Store(&words)
		if pending.CompareAndSwap(false, true) {
			fyne.Do(func() {
				pending.Store(false)
				if ctx.Err() == nil {
					waiting(*latest.Load())
				}
			})
		}
	}
	done := make(chan func(), 1)
	go func() { done <- do(ctx, news) }()
	select {
	case show := <-done:
		w.Stop()
		show()
		return
	case <-time.After(moment):
	}
	waiting("")
	go func() {
		show := <-done
		fyne.Do(func() {
			if ctx.Err() != nil {
				return
			}
			w.Stop()
			show()
		})
	}()
}

// Stop calls off what is being done: it is told by its context, and what it gives
// is not shown. What it has stored by then stays stored.
func (w *Work) Stop() {
	if w.cancel != nil {
		w.cancel()
		w.cancel = nil
	}
}

// Busy reports whether something is being done.
func (w *Work) Busy() bool { return w.cancel != nil }
