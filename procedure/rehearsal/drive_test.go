package rehearsal_test

import (
	"context"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/rehearsal"
)

const frame = time.Second / 30

// driven drives a run by a clock that only the test moves.
func driven(t *testing.T, o rehearsal.Options, look func(*rehearsal.Live, func() int)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		run, err := rehearsal.New(o)
		if err != nil {
			t.Fatal(err)
		}
		shown := 0
		live := rehearsal.Drive(t.Context(), run, rehearsal.NewSystem(), frame, func(*rehearsal.Snapshot) { shown++ })
		look(live, func() int { synctest.Wait(); return shown })
		live.End(procedure.EndAbandoned)
		<-live.Done()
	})
}

// pass lets time go by. Tests here live in a bubble of testing/synctest, whose
// clock jumps ahead as soon as everybody waits: an hour takes no time.
func pass(d time.Duration) { time.Sleep(d) }

func TestADrivenRunKeepsPaceWithTheClock(t *testing.T) {
	driven(t, coldStart(t), func(l *rehearsal.Live, shown func() int) {
		pass(10 * time.Second)
		frames := shown()
		if at := l.Latest().At; at < 10*time.Second-2*frame || at > 10*time.Second {
			t.Errorf("after 10 s the screen shows the run at %v", at)
		}
		// A frame is shown at the first turn after it is due, 5 ms late at most.
		if frames < 255 || frames > 301 {
			t.Errorf("%d frames in 10 s, want between 255 and 301", frames)
		}
		l.Input(procedure.Event{At: l.Now(), Kind: procedure.EventMove, Subject: string(procedure.ControlBattery), Value: 1})
		pass(time.Second)
		shown()
		if volts := reading(l.Latest(), procedure.InstrumentBusVolts); volts < 20 {
			t.Errorf("a second after the battery went on the bus shows %.1f V", volts)
		}
	})
}

// heard keeps what a run last asked to be heard.
type heard struct{ last rehearsal.Noise }

func (h *heard) SetEngine(n rehearsal.Noise) { h.last = n }

func TestAPauseStopsTheRunAndItsSoundAndCostsNothing(t *testing.T) {
	sound := &heard{}
	o := coldStart(t)
	o.Sound = sound
	driven(t, o, func(l *rehearsal.Live, shown func() int) {
		l.Input(procedure.Event{At: l.Now(), Kind: procedure.EventMove, Subject: string(procedure.ControlBattery), Value: 1})
		pass(3 * time.Second)
		shown()
		if !sound.last.Battery {
			t.Error("with the battery on there is nothing to hear")
		}
		l.Pause(true)
		before, at := shown(), l.Latest().At
		pass(time.Hour)
		if n := shown(); n != before {
			t.Errorf("%d frames were made in an hour of pause", n-before)
		}
		if s := l.Latest(); !s.Paused || s.At-at > frame {
			t.Errorf("after an hour of pause: paused %v, run time went from %v to %v", s.Paused, at, s.At)
		}
		if sound.last != (rehearsal.Noise{}) {
			t.Errorf("in a pause the aeroplane is heard: %+v", sound.last)
		}
		l.Pause(false)
		pass(time.Second)
		shown()
		if went := l.Latest().At - at; went < time.Second-2*frame || went > time.Second+2*frame {
			t.Errorf("a second after the pause the run has gone on by %v", went)
		}
		if !sound.last.Battery {
			t.Error("the sound did not come back after the pause")
		}
	})
}

// sleeper is a machine that was asleep: its clock jumps while nothing ran.
type sleeper struct {
	rehearsal.System
	slept time.Duration
}

func (s *sleeper) Now() time.Duration { return s.System.Now() + s.slept }

func TestAMachineThatSleptTakesNoTimeOffTheStudent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		run, err := rehearsal.New(coldStart(t))
		if err != nil {
			t.Fatal(err)
		}
		clock := &sleeper{System: rehearsal.NewSystem()}
		ctx, stop := context.WithCancel(t.Context())
		live := rehearsal.Drive(ctx, run, clock, frame, nil)
		pass(2 * time.Second)
		synctest.Wait()
		live.Do(func(*rehearsal.Rehearsal) { clock.slept = time.Minute }) // by the owner: it is not looking
		pass(time.Second)
		synctest.Wait()
		if at := live.Latest().At; at > 3*time.Second+2*frame {
			t.Errorf("after three seconds awake and a minute asleep the run stands at %v", at)
		}
		if n := live.Latest().Notice; !strings.HasPrefix(n, "The computer stood still for 60 s") {
			t.Errorf("of the minute it says %q", n)
		}
		pass(10 * time.Second)
		synctest.Wait()
		if n := live.Latest().Notice; n != "" {
			t.Errorf("ten seconds later it still says %q", n)
		}
		stop()
		<-live.Done()
		if s := live.Latest(); s.Outcome != procedure.Abandoned {
			t.Errorf("a run whose window is gone came to %q", s.Outcome)
		}
	})
}

func reading(s *rehearsal.Snapshot, id procedure.InstrumentID) float64 {
	for i, in := range s.Aircraft.Instruments {
		if in.ID == id {
			return s.Readings[i]
		}
	}
	return 0
}

// coldStart is a run that the test's hands fly.
func coldStart(t testing.TB) rehearsal.Options {
	return rehearsal.Options{
		Library: shipped.Aircraft(t, "brindle-180"), Flow: "cold", Phase: procedure.Perform, Seed: 1,
		Conditions: rehearsal.Conditions{OATCelsius: 10, SinceShutdown: 12 * time.Hour, BatteryCharge: 0.9},
	}
}

// An act is judged at its stamp, to the nanosecond, though it takes its time to
// arrive: of a key's release it is known only milliseconds later that it is one.
func TestAnActThatArrivesLateCountsAtItsStamp(t *testing.T) {
	driven(t, coldStart(t), func(l *rehearsal.Live, _ func() int) {
		move := func(id procedure.ControlID, to float64, arrives time.Duration) time.Duration {
			at := l.Now()
			pass(arrives)
			l.Input(procedure.Event{At: at, Kind: procedure.EventMove, Subject: string(id), Value: to})
			return at
		}
		pass(time.Second + 1)
		moved := []time.Duration{move(procedure.ControlBrakes, 1, 0)}
		for _, arrives := range []time.Duration{0, 4 * time.Millisecond, 9 * time.Millisecond} {
			pass(777*time.Millisecond + 13)
			moved = append(moved, move(procedure.ControlMixture, 1, 0))
			pass(4*time.Second + 1)
			moved = append(moved, move(procedure.ControlMixture, 0, arrives))
		}
		pass(time.Second)
		l.Do(func(r *rehearsal.Rehearsal) {
			i := 0
			for _, e := range r.Events() {
				if e.Kind != procedure.EventMove {
					continue
				}
				if e.At != moved[i] {
					t.Errorf("%s stamped %v happened at %v", e.Subject, moved[i], e.At)
				}
				i++
			}
			if i != len(moved) {
				t.Errorf("%d of %d acts happened", i, len(moved))
			}
		})
		pass(time.Second)
	})
}
