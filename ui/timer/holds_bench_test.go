package timer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
	"github.com/jezek/xgb/xtest"

	"kickover/procedure/timer"
	"kickover/ui/theme"
)

// The benchmark of holds runs this binary again: a window wants the process's
// first thread.
const (
	holdsEnv = "TIMER_HOLDS" // "stamped" or "toolkit": be the window that is measured
	burnEnv  = "TIMER_BURN"  // keep a core busy
)

func TestMain(m *testing.M) {
	switch {
	case os.Getenv(burnEnv) != "":
		for n := 0; ; n++ {
		}
	case os.Getenv(holdsEnv) != "":
		measureHolds(os.Getenv(holdsEnv) == "stamped")
	default:
		os.Exit(m.Run())
	}
}

// BenchmarkHold injects holds of the space key through the X server, with the
// screen animating and two cores busy, and reports how far what the timer made
// of them was out. It needs a display of its own.
func BenchmarkHold(b *testing.B) {
	if os.Getenv("DISPLAY") == "" {
		b.Skip("no display")
	}
	for _, by := range []string{"stamped", "toolkit"} {
		b.Run(by, func(b *testing.B) {
			for range runtime.NumCPU() {
				burn := exec.Command(os.Args[0])
				burn.Env = append(os.Environ(), burnEnv+"=1")
				if err := burn.Start(); err != nil {
					b.Fatal(err)
				}
				defer func() { burn.Process.Kill(); burn.Wait() }()
			}
			for b.Loop() {
				cmd := exec.Command(os.Args[0])
				cmd.Env = append(os.Environ(), holdsEnv+"="+by)
				cmd.Stderr = os.Stderr
				out, err := cmd.Output()
				if err != nil {
					b.Fatalf("%v\n%s", err, out)
				}
				var errors []float64 // ms
				for _, line := range strings.Fields(string(out)) {
					var x float64
					if _, err := fmt.Sscan(line, &x); err != nil {
						b.Fatal(err)
					}
					errors = append(errors, math.Abs(x))
				}
				slices.Sort(errors)
				b.ReportMetric(errors[len(errors)/2], "ms-median")
				b.ReportMetric(errors[(len(errors)*99-1)/100], "ms-p99")
				b.ReportMetric(errors[len(errors)-1], "ms-worst")
				b.ReportMetric(float64(len(errors)), "holds")
			}
		})
	}
}

const holds = 200

// measureHolds opens a window, injects holds, and prints by how many milliseconds
// each was out.
func measureHolds(stamped bool) {
	a := app.New()
	a.Settings().SetTheme(theme.Day.Fyne())
	w := a.NewWindow("holds")
	s, err := New(Options{Dress: theme.Day, Library: library(), Celsius: 10, AltitudeM: math.NaN()})
	if err != nil {
		fail(err)
	}
	w.SetPadded(false)
	w.SetContent(s.Content())
	w.Resize(fyne.NewSize(1024, 600))
	s.Focus(w)
	a.Lifecycle().SetOnStarted(func() {
		if stamped {
			if _, err := s.Stamp(w); err != nil {
				fail(err)
			}
		}
		go func() {
			if err := inject(s); err != nil {
				fail(err)
			}
			fyne.Do(a.Quit)
		}()
	})
	w.ShowAndRun()
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

// inject holds the space key, again and again, and compares what the timer made
// of each hold with the server's own times of its two ends.
func inject(s *Screen) error {
	conn, err := xgb.NewConn()
	if err != nil {
		return err
	}
	defer conn.Close()
	if err := xtest.Init(conn); err != nil {
		return err
	}
	space, err := keycode(conn, ' ')
	if err != nil {
		return err
	}
	if err := focus(conn); err != nil {
		return err
	}
	key := func(kind byte) (uint32, error) {
		if err := xtest.FakeInputChecked(conn, kind, byte(space), 0, xproto.WindowNone, 0, 0, 0).Check(); err != nil {
			return 0, err
		}
		for {
			ev, err := conn.WaitForEvent()
			if err != nil {
				return 0, err
			}
			switch e := ev.(type) {
			case nil:
				return 0, fmt.Errorf("the X server is gone")
			case xproto.KeyPressEvent:
				if kind == xproto.KeyPress {
					return uint32(e.Time), nil
				}
			case xproto.KeyReleaseEvent:
				if kind == xproto.KeyRelease {
					return uint32(e.Time), nil
				}
			}
		}
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range holds {
		down, err := key(xproto.KeyPress)
		if err != nil {
			return err
		}
		time.Sleep(300*ms + time.Duration(rng.Int64N(int64(300*ms)))) // before a held key repeats
		up, err := key(xproto.KeyRelease)
		if err != nil {
			return err
		}
		given, err := given(s)
		if err != nil {
			return err
		}
		fmt.Printf("%.3f\n", given.Seconds()*1000-float64(up-down))
		s.driver.send(timer.Event{Kind: timer.Undo})
	}
	return nil
}

// given waits for the end of the hold, and reads how long it was.
func given(s *Screen) (time.Duration, error) {
	for range 100 {
		time.Sleep(20 * ms)
		got := make(chan timer.View)
		s.driver.do(func() { got <- s.driver.machine.View(s.driver.now()) })
		if v := <-got; v.State == timer.Setting {
			return v.Clock.Elapsed, nil
		}
	}
	return 0, fmt.Errorf("the key did not reach the window")
}

// keycode finds the key of a legend.
func keycode(conn *xgb.Conn, sym xproto.Keysym) (xproto.Keycode, error) {
	setup := xproto.Setup(conn)
	n := byte(setup.MaxKeycode - setup.MinKeycode + 1)
	m, err := xproto.GetKeyboardMapping(conn, setup.MinKeycode, n).Reply()
	if err != nil {
		return 0, err
	}
	for i, k := range m.Keysyms {
		if k == sym {
			return setup.MinKeycode + xproto.Keycode(i/int(m.KeysymsPerKeycode)), nil
		}
	}
	return 0, fmt.Errorf("no key for %q", rune(sym))
}

// focus gives the keyboard to the one window of a display without a window
// manager.
func focus(conn *xgb.Conn) error {
	tree, err := xproto.QueryTree(conn, xproto.Setup(conn).DefaultScreen(conn).Root).Reply()
	if err != nil {
		return err
	}
	for _, w := range tree.Children {
		if a, err := xproto.GetWindowAttributes(conn, w).Reply(); err == nil && a.MapState == xproto.MapStateViewable {
			if err := xproto.SetInputFocusChecked(conn, xproto.InputFocusParent, w, xproto.TimeCurrentTime).Check(); err != nil {
				return err
			}
			// The keys are the window's, and the server tells us of them too.
			mask := []uint32{xproto.EventMaskKeyPress | xproto.EventMaskKeyRelease}
			if err := xproto.ChangeWindowAttributesChecked(conn, w, xproto.CwEventMask, mask).Check(); err != nil {
				return err
			}
		}
	}
	time.Sleep(500 * ms)
	return nil
}
