package motion

import (
	"errors"
	"fmt"
	"io"
	"os"
	"sync/atomic"
	"syscall"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/ui/rehearse"
	"kickover/ui/theme"
)

// Options say what to show and how long.
type Options struct {
	Scene  Scene
	Theme  theme.Tokens
	Width  float32       // of the window, in toolkit units; zero is 1280
	Height float32       // zero is 800
	Rate   float64       // snapshots a second; zero is 30
	For    time.Duration // zero is until the window is closed
	Events io.Writer     // what the hands did, a line each; nil is nowhere
}

// Cost is what showing it took.
type Cost struct {
	Wall      time.Duration
	CPU       time.Duration // of this process, user and system
	Frames    int           // snapshots that were shown
	FirstShow time.Duration // from the call of Run to the first snapshot shown
}

// Share is the processor time used, in parts of one core.
func (c Cost) Share() float64 { return c.CPU.Seconds() / c.Wall.Seconds() }

// settle is left out of the measurement: the first frames upload every texture.
const settle = time.Second

// Run opens a window, feeds it, and closes it after Options.For. It must be
// called on the main goroutine, once.
func Run(o Options) (Cost, error) {
	begun := time.Now()
	now := func() time.Duration { return time.Since(begun) }
	if o.Rate <= 0 {
		o.Rate = 30
	}
	if o.Width == 0 {
		o.Width, o.Height = 1280, 800
	}
	if o.Theme.Name == "" {
		o.Theme = theme.Dusk
	}
	if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
		return Cost{}, errors.New("no display to show the screen on: set DISPLAY, or start a virtual one")
	}
	a := app.NewWithID("kickover.motion")
	a.Settings().SetTheme(o.Theme.Fyne())
	w := a.NewWindow("Kickover")
	w.SetPadded(false)
	nothing := func() {}
	s := rehearse.New(rehearse.Options{Theme: o.Theme, Now: now, SkipRest: nothing, Pause: nothing, Leave: nothing, Finish: nothing,
		Emit: func(e procedure.Event) {
			if o.Events != nil {
				fmt.Fprintf(o.Events, "%v %s %s %g\n", e.At.Round(time.Microsecond), e.Kind, e.Subject, e.Value)
			}
		}})
	w.SetContent(s.Content())
	w.Resize(fyne.NewSize(o.Width, o.Height))
	var cost Cost
	a.Lifecycle().SetOnStarted(func() {
		s.Show(At(o.Scene, 0))
		s.Focus(w)
		cost.FirstShow = now()
		go feed(o, s, &cost, a.Quit)
	})
	w.ShowAndRun()
	return cost, nil
}

// feed publishes snapshots at the rate, never more than one waiting to be shown.
func feed(o Options, s *rehearse.Screen, cost *Cost, quit func()) {
	var latest atomic.Pointer[rehearsal.Snapshot]
	var pending atomic.Bool
	shown := 0
	tick := time.NewTicker(time.Duration(float64(time.Second) / o.Rate))
	defer tick.Stop()
	begun := time.Now()
	var from time.Time
	var cpu time.Duration
	for range tick.C {
		gone := time.Since(begun)
		if from.IsZero() && gone > settle {
			from, cpu = time.Now(), processTime()
			fyne.DoAndWait(func() { shown = 0 })
		}
		if o.For > 0 && gone > settle+o.For {
			break
		}
		at := gone
		if o.Scene != Full {
			at = 0
		}
		latest.Store(At(o.Scene, at))
		if pending.CompareAndSwap(false, true) {
			fyne.Do(func() {
				pending.Store(false)
				shown++
				s.Show(latest.Load())
			})
		}
	}
	fyne.DoAndWait(func() {
		cost.Wall, cost.CPU, cost.Frames = time.Since(from), processTime()-cpu, shown
	})
	fyne.Do(quit)
}

// processTime is the processor time of this process so far.
func processTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
