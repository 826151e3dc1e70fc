package powerplant

import (
	"testing"
	"time"
)

// cockpit is a seat with all controls at hand, for scenarios that read as a
// pilot would tell them. Its plant is not scattered.
type cockpit struct {
	t        *testing.T
	p        *Plant
	c        Controls
	detector Detector
	heard    []Signal
	lowVolts float64 // least bus voltage seen while cranking
}

func sit(t *testing.T, spec Spec, cond Conditions, faults ...Fault) *cockpit {
	t.Helper()
	c := &cockpit{t: t, p: mustNew(t, spec, cond, faults...)}
	c.c.Battery, c.c.Magnetos = true, MagnetosBoth
	c.wait(2)
	return c
}

// set moves the hands.
func (c *cockpit) set(move func(*Controls)) {
	move(&c.c)
	c.p.SetControls(c.c)
}

// wait lets time pass, in seconds.
func (c *cockpit) wait(s float64) {
	c.until(s, func() bool { return false })
}

// until waits at most s seconds for done, and reports whether it came.
func (c *cockpit) until(s float64, done func() bool) bool {
	c.p.SetControls(c.c)
	for end := c.p.Elapsed() + seconds(s); c.p.Elapsed() < end; {
		c.p.Advance(10 * time.Millisecond)
		c.heard = append(c.heard, c.detector.Observe(c.p.Elapsed(), c.p)...)
		if c.c.Starter {
			c.lowVolts = min(c.lowVolts, c.p.busVolts())
		}
		if done() {
			return true
		}
	}
	return false
}

func (c *cockpit) hears(s Signal) bool {
	for _, h := range c.heard {
		if h == s {
			return true
		}
	}
	return false
}

// prime is the cold prime's own steps.
func (c *cockpit) prime(s float64) {
	c.set(func(x *Controls) { x.BoostPump, x.ThrottleMM, x.Mixture = true, 28, 0 })
	c.wait(2)
	c.set(func(x *Controls) { x.Mixture = 1 })
	c.wait(s)
	c.set(func(x *Controls) { x.Mixture, x.ThrottleMM = 0, 9 })
	c.wait(4)
}

// crank holds the starter until it fires, at most s seconds, and lets go a
// second after it fired. It reports whether it fired.
func (c *cockpit) crank(s float64) bool {
	c.heard, c.lowVolts = nil, 1e9
	c.set(func(x *Controls) { x.Starter = true })
	fired := c.until(s, func() bool { return c.hears(SignalFires) })
	if fired {
		c.wait(1)
	}
	c.set(func(x *Controls) { x.Starter = false })
	return fired
}

// catch puts the mixture forward and waits ten seconds.
func (c *cockpit) catch() {
	c.set(func(x *Controls) { x.Mixture = 1 })
	c.wait(10)
}

// start is prime, crank and catch; it reports whether it runs.
func (c *cockpit) start(prime float64) bool {
	c.prime(prime)
	if !c.crank(6) {
		c.wait(3)
		return false
	}
	c.catch()
	return c.runs()
}

func (c *cockpit) runs() bool {
	return c.p.Readings().RPM > 600 && c.p.Inside().Firing > 0.7
}

func (c *cockpit) mustStart() *cockpit {
	c.t.Helper()
	if !c.start(4.2) {
		c.t.Fatal("it did not start on a proper cold start")
	}
	return c
}
