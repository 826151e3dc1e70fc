package powerplant

import (
	"slices"
	"testing"
	"time"
)

// A start and a shutdown, as a person in the seat would tell it.
func TestSignalsOfAStart(t *testing.T) {
	c := sit(t, injected180(), mild)
	c.prime(4.2)
	c.crank(6)
	c.catch()
	c.set(func(x *Controls) { x.Mixture = 0 })
	c.wait(20)
	// The flow that the running engine draws levels off, too.
	c.heard = slices.DeleteFunc(c.heard, func(s Signal) bool { return s == SignalLevelsOff })
	if want := []Signal{SignalFires, SignalRuns, SignalDies, SignalStops}; !slices.Equal(c.heard, want) {
		t.Errorf("heard %v, want %v", c.heard, want)
	}
}

func TestSignalsOfAStartThatDies(t *testing.T) {
	c := sit(t, injected180(), mild)
	c.prime(4.2)
	c.crank(6) // and nobody catches it
	c.wait(20)
	if !slices.Equal(c.heard, []Signal{SignalFires, SignalRuns, SignalDies, SignalStops}) &&
		!slices.Equal(c.heard, []Signal{SignalFires, SignalDies, SignalStops}) {
		t.Errorf("heard %v, want it to fire, die and stop", c.heard)
	}
}

func TestSignalsOfAVainCrank(t *testing.T) {
	c := sit(t, injected180(), mild)
	c.crank(5)
	c.wait(5)
	if !slices.Equal(c.heard, []Signal{SignalStops}) {
		t.Errorf("heard %v, want only that it stops", c.heard)
	}
}

// The moments do not depend on how often they are looked for.
func TestSignalsDoNotDependOnHowOftenOneLooks(t *testing.T) {
	moments := func(every time.Duration) map[Signal]time.Duration {
		p := mustNew(t, injected180(), mild)
		var d Detector
		at := map[Signal]time.Duration{}
		c := Controls{Battery: true, BoostPump: true, Magnetos: MagnetosBoth, ThrottleMM: 28}
		for p.Elapsed() < 30*time.Second {
			s := p.Elapsed().Seconds()
			c.Mixture = 0
			if s >= 2 && s < 6.2 || s > 14 {
				c.Mixture = 1
			}
			if s >= 8 {
				c.ThrottleMM = 9
			}
			c.Starter = s >= 12 && s < 14.5
			p.SetControls(c)
			p.Advance(every)
			for _, sig := range d.Observe(p.Elapsed(), p) {
				if _, heard := at[sig]; !heard {
					at[sig] = p.Elapsed()
				}
			}
		}
		return at
	}
	want := moments(4 * time.Millisecond)
	for _, every := range []time.Duration{10 * time.Millisecond, 20 * time.Millisecond, 40 * time.Millisecond} {
		got := moments(every)
		for _, s := range []Signal{SignalLevelsOff, SignalFires, SignalRuns} {
			if _, ok := got[s]; !ok {
				t.Errorf("looking every %v: never %s", every, s)
			}
			if d := (got[s] - want[s]).Abs(); d > 80*time.Millisecond {
				t.Errorf("looking every %v: %s at %v, every 4 ms at %v", every, s, got[s], want[s])
			}
		}
	}
}
