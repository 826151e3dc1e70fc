package timer

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/procedure/starter"
	"kickover/procedure/timer"
	"kickover/ui/theme"
)

const (
	ms  = time.Millisecond
	sec = time.Second
)

// library is a small aircraft of our own; its numbers are common practice, no
// source.
func library() *procedure.Library {
	line := func(s string) procedure.Line { return procedure.Line{Caption: s} }
	step := func(title string, c procedure.ControlID) procedure.Step {
		return procedure.Step{Title: title, Kind: procedure.StepSet, Prompt: line(title), Targets: []procedure.Target{{Control: c}}}
	}
	cold := &procedure.Flow{
		ID: "cold", Title: "Cold start", Situation: "cold", Entry: true,
		Steps: []procedure.Step{
			step("Boost pump on", procedure.ControlPump),
			{Title: "Prime", Kind: procedure.StepHold, Window: procedure.Window{Min: 3 * sec, Ideal: 4 * sec, Max: 5 * sec}, Hold: &procedure.Hold{Control: procedure.ControlMixture}},
			step("Throttle to the start mark", procedure.ControlThrottle),
			{Title: "Propeller area", Kind: procedure.StepPropClear, AnswerWait: 3 * sec, ValidFor: 30 * sec},
			{Title: "Crank", Kind: procedure.StepCrank},
			{Title: "Oil pressure", Kind: procedure.StepCheck, Window: procedure.Window{Max: 30 * sec}, Conditions: []procedure.Condition{{Instrument: procedure.InstrumentOilPressure}}},
			step("Alternator on", procedure.ControlAlternator),
		},
	}
	flooded := &procedure.Flow{
		ID: "flooded", Title: "Flooded", Situation: "flooded", Entry: true,
		Steps: []procedure.Step{step("Throttle half open", procedure.ControlThrottle), {Title: "Propeller area", Kind: procedure.StepPropClear}, {Title: "Crank", Kind: procedure.StepCrank}},
	}
	return &procedure.Library{
		Aircraft: &procedure.Aircraft{ID: "test", Starter: procedure.StarterLimits{Crank: 10 * sec, Rest: time.Minute, Attempts: 1, LongRest: time.Hour}},
		Flows:    []*procedure.Flow{cold, flooded},
	}
}

// world is what a driver talks to, and notes what it hears.
type world struct {
	mu      sync.Mutex
	began   time.Time
	asleep  time.Duration // time that passed without the program
	heard   []string
	beats   map[string]time.Duration
	starts  []realstart.Start
	display []bool
	shown   []*picture
	refuse  error
}

func newWorld() *world { return &world{began: time.Now(), beats: map[string]time.Duration{}} }

func (w *world) note(format string, args ...any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.heard = append(w.heard, fmt.Sprintf(format, args...))
}

func (w *world) Ledger() *starter.Ledger         { return starter.New(library().Aircraft.Starter) }
func (w *world) Shutdown() (time.Duration, bool) { return -3 * time.Hour, true }
func (w *world) Ran() bool                       { return false }
func (w *world) Notices() []string               { return nil }
func (w *world) Now() time.Duration {
	w.mu.Lock()
	defer w.mu.Unlock()
	return time.Since(w.began) + w.asleep
}
func (w *world) Engaged(at time.Duration)        { w.note("engaged %v", at) }
func (w *world) Released(at, rest time.Duration) { w.note("released %v, rest %v", at, rest) }
func (w *world) Resumed(at time.Duration)        { w.note("resumed %v", at) }
func (w *world) Struck(at time.Duration)         { w.note("struck %v", at) }
func (w *world) Rested(at time.Duration)         { w.note("rested %v", at) }
func (w *world) Runs(at time.Duration)           { w.note("runs %v", at) }
func (w *world) Stopped(at time.Duration)        { w.note("stopped %v", at) }
func (w *world) Tick()                           {}

func (w *world) Say(u Utterance) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if _, again := w.beats[u.Line.Caption]; !again {
		w.beats[u.Line.Caption] = u.Beat.Sub(w.began) + w.asleep
	}
}
func (w *world) Hush(string) {}

func (w *world) Keep(s realstart.Start) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.starts = append(w.starts, s)
	return w.refuse
}

func (w *world) Set(on bool) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.display = append(w.display, on)
	return w.refuse
}

func (w *world) publish(p *picture) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.shown = append(w.shown, p)
}

func (w *world) latest() *picture {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.shown[len(w.shown)-1]
}

func (w *world) frames() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return len(w.shown)
}

// drive begins a driver in a bubble of invented time.
func drive(t *testing.T, w *world) *driver {
	t.Helper()
	o := Options{Dress: theme.Dusk, Library: library(), Registration: "BR-180", Celsius: -4, AltitudeM: math.NaN(), Ledger: w, Records: w, Voice: w, Display: w}
	m, err := timer.New(timer.Setup{Library: o.Library, Ledger: w.Ledger(), Celsius: o.Celsius})
	if err != nil {
		t.Fatal(err)
	}
	d := newDriver(m, o, func() bool { return false }, w.publish)
	w.publish(d.first())
	d.start()
	return d
}

// pass lets time go by. Tests that drive live in a bubble of testing/synctest, whose
// clock jumps ahead as soon as everybody waits: no test waits for it.
func pass(d time.Duration) { time.Sleep(d) }

// hold presses the button for so long, and waits as long again for what follows.
func (d *driver) hold(long time.Duration) {
	d.button(true, d.now())
	pass(long)
	d.button(false, d.now())
	pass(600 * ms)
}

func (d *driver) cold() {
	d.hold(4 * sec)
	for range 5 { // the levers, and four looks
		d.hold(90 * ms)
	}
	pass(3 * sec)
	d.hold(2500 * ms) // crank
}

func TestAStartIsDriven(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		d := drive(t, w)
		pass(sec)
		d.cold()
		d.hold(90 * ms) // runs
		pass(5 * sec)
		d.hold(90 * ms) // oil
		d.hold(90 * ms) // alternator
		pass(3 * sec)
		if p := w.latest(); p.State != timer.Quiet {
			t.Errorf("%s, want quiet", p.State)
		}
		d.close()
		for line, want := range map[string]time.Duration{"one": 2 * sec, "two": 3 * sec, "mixture… back": 4500 * ms, "five": 6 * sec} {
			if got := w.beats[line]; got != want {
				t.Errorf("%q is heard at %v, want %v", line, got, want)
			}
		}
		heard := strings.Join(w.heard, "; ")
		if want := "engaged 12.05s; released 14.55s, rest 1h0m0s; runs 14.55s"; heard != want {
			t.Errorf("the ledger heard %q, want %q", heard, want)
		}
		if len(w.starts) != 1 || w.starts[0].Prime != 4*sec || w.starts[0].Outcome != procedure.Started || w.starts[0].Situation != "cold" {
			t.Errorf("kept %+v", w.starts)
		}
		if got := fmt.Sprint(w.display); got != "[true false]" {
			t.Errorf("display %s, want [true false]", got)
		}
	})
}

// A start that runs is kept though the window is closed within the two seconds in
// which it could be undone.
func TestClosingLosesNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		d := drive(t, w)
		d.cold()
		d.hold(90 * ms)
		d.close()
		if len(w.starts) != 1 || !strings.Contains(strings.Join(w.heard, "; "), "runs") {
			t.Errorf("kept %d starts, the ledger heard %q", len(w.starts), w.heard)
		}
	})
}

func TestClosingWhileCrankingReleases(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		d := drive(t, w)
		d.hold(4 * sec)
		for range 5 {
			d.hold(90 * ms)
		}
		pass(3 * sec)
		d.button(true, d.now())
		pass(sec)
		d.close()
		if got := strings.Join(w.heard, "; "); !strings.Contains(got, "released") {
			t.Errorf("the ledger heard %q", got)
		}
	})
}

// The window loses the keyboard in the middle of a hold: the hold has ended.
func TestFocusLostMidHold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		d := drive(t, w)
		d.button(true, d.now())
		pass(2 * sec)
		d.lost()
		pass(sec)
		if p := w.latest(); p.State != timer.Setting || p.Clock.Elapsed != 2*sec {
			t.Errorf("%s, %v given; want setting, 2s", p.State, p.Clock.Elapsed)
		}
		d.close()
	})
}

// An hour's rest with the machine asleep: nothing ran meanwhile, and it is over.
func TestAnHoursRestAsleep(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		d := drive(t, w)
		d.cold()
		d.hold(1100 * ms) // no start
		pass(3 * sec)
		if p := w.latest(); !p.Long || p.Rest < 59*time.Minute {
			t.Fatalf("rest %v, long %v", p.Rest, p.Long)
		}
		w.mu.Lock()
		w.asleep = time.Hour
		w.mu.Unlock()
		pass(2 * sec)
		if p := w.latest(); p.Rest != 0 {
			t.Errorf("after the hour %v is still owed", p.Rest)
		}
		d.close()
		if got := fmt.Sprint(w.display); got != "[true false]" && got != "[true false false]" {
			t.Errorf("display %s: it must be let go when the rest is over", got)
		}
	})
}

// Stopped for a while in the middle of a prime: the clock is right, what was to be
// heard meanwhile is not heard late, and it is said what happened.
func TestHeldUpInThePrime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		d := drive(t, w)
		d.button(true, d.now())
		pass(1500 * ms)
		w.mu.Lock()
		w.asleep = 70 * sec
		w.mu.Unlock()
		pass(sec)
		p := w.latest()
		if p.Clock.Elapsed < 72*sec || p.Clock.Elapsed > 73*sec {
			t.Errorf("the clock shows %v, want 72.5 s", p.Clock.Elapsed)
		}
		if want := "held the program up for a minute. The times are right"; !strings.Contains(p.Notice, want) {
			t.Errorf("notice %q, want %q", p.Notice, want)
		}
		if p.Caption != "" {
			t.Errorf("%q is said late", p.Caption)
		}
		d.button(false, d.now())
		pass(sec)
		if p := w.latest(); p.State != timer.Setting || p.Clock.Elapsed < 72*sec {
			t.Errorf("let go: %s, %v given", p.State, p.Clock.Elapsed)
		}
		d.close()
	})
}

// What is drawn costs what moves: twenty pictures a second while a hand is counted
// for, one while a rest counts down or nothing moves.
func TestPicturesASecond(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		d := drive(t, w)
		in := func(what string, least, most int) {
			t.Helper()
			before := w.frames()
			pass(2 * sec)
			if n := (w.frames() - before) / 2; n < least || n > most {
				t.Errorf("%s: %d pictures a second, want %d to %d", what, n, least, most)
			}
		}
		pass(10 * ms)
		in("still", 1, 1)
		d.button(true, d.now())
		in("priming", 19, 22)
		pass(2 * sec)
		d.button(false, d.now())
		pass(600 * ms)
		for range 5 {
			d.hold(90 * ms)
		}
		pass(3 * sec)
		d.button(true, d.now())
		in("cranking", 19, 22)
		d.button(false, d.now())
		pass(sec)
		d.hold(1100 * ms)
		pass(5 * sec)
		in("resting", 1, 2)
		d.close()
	})
}

// A full disk and a deaf desktop are said, once each, and stop nothing.
func TestWhatDoesNotWorkIsSaid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		w.refuse = errors.New("no room")
		d := drive(t, w)
		d.cold()
		d.hold(90 * ms)
		said := map[string]bool{}
		for range 20 {
			pass(sec)
			said[w.latest().Notice] = true
		}
		d.close()
		for _, want := range []string{"not in your records: no room", "display may go dark"} {
			found := false
			for s := range said {
				found = found || strings.Contains(s, want)
			}
			if !found {
				t.Errorf("%q is not said: %v", want, said)
			}
		}
	})
}

func TestCaptionsStandInForTheVoice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		w := newWorld()
		d := drive(t, w)
		d.button(true, d.now())
		pass(2200 * ms)
		if got := w.latest().Caption; got != "two" {
			t.Errorf("caption %q at 2.2 s, want “two”", got)
		}
		pass(1500 * ms)
		if got := w.latest().Caption; got != "mixture… back" {
			t.Errorf("caption %q at 3.7 s, want “mixture… back”", got)
		}
		d.button(false, d.now())
		pass(5 * sec)
		if got := w.latest().Caption; got == "five" || got == "six" {
			t.Errorf("%q is shown after the prime has ended", got)
		}
		d.close()
	})
}
