package motion

import (
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"

	"kickover/procedure"
	"kickover/procedure/rehearsal"
	"kickover/ui/panel"
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
	Stamp  bool          // take keys from the display server, stamped
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
	if err := panel.OneRasterThread(); err != nil {
		return Cost{}, fmt.Errorf("choosing how software OpenGL draws: %w", err)
	}
	a := app.NewWithID("kickover.motion")
	a.Settings().SetTheme(o.Theme.Fyne())
	w := a.NewWindow("Kickover")
	w.SetPadded(false)
	nothing := func() {}
	var e echo
	s := rehearse.New(rehearse.Options{Theme: o.Theme, Now: now, SkipRest: nothing, Pause: nothing, Leave: nothing, Finish: nothing,
		Emit: func(ev procedure.Event) { e.hear(ev, o.Events) }})
	w.SetContent(s.Content())
	w.Resize(fyne.NewSize(o.Width, o.Height))
	var cost Cost
	a.Lifecycle().SetOnStarted(func() {
		s.Show(At(o.Scene, 0))
		s.Focus(w)
		cost.FirstShow = now()
		if o.Stamp {
			if _, err := s.Stamp(w); err != nil {
				fyne.LogError("keys are not stamped", err)
			}
		}
		go feed(o, s, &e, now, &cost, a.Quit)
	})
	w.ShowAndRun()
	return cost, nil
}

// feed publishes snapshots at the rate, never more than one waiting to be shown.
func feed(o Options, s *rehearse.Screen, e *echo, now func() time.Duration, cost *Cost, quit func()) {
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
		n := At(o.Scene, at)
		e.show(n, now())
		latest.Store(n)
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

// echo moves an invented snapshot's controls as the hands did, so that they can
// be seen to.
type echo struct {
	mu sync.Mutex
	at map[string]float64
}

func (e *echo) hear(ev procedure.Event, to io.Writer) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if ev.Kind == procedure.EventMove {
		if e.at == nil {
			e.at = map[string]float64{}
		}
		e.at[ev.Subject] = ev.Value
	}
	if to != nil {
		fmt.Fprintf(to, "%v %s %s %g\n", ev.At.Round(time.Microsecond), ev.Kind, ev.Subject, ev.Value)
	}
}

// show also puts the snapshot's moment after the last move, which it shows.
func (e *echo) show(n *rehearsal.Snapshot, now time.Duration) {
	e.mu.Lock()
	defer e.mu.Unlock()
	for i, c := range n.Aircraft.Controls {
		if p, ok := e.at[string(c.ID)]; ok {
			n.Positions[i] = procedure.Position(p)
		}
	}
	if e.at != nil {
		n.At = now
	}
}
