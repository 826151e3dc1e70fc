package timer_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/timer"

	"pgregory.net/rapid"
)

var kinds = []timer.EventKind{
	timer.Press, timer.Release, timer.Press, timer.Release, timer.Press, timer.Release,
	timer.Lost, timer.Undo, timer.Choose, timer.PrimeBy, timer.Air, timer.Since, timer.Note,
}

var flows = []procedure.FlowID{"cold", "warm", "flooded", "again", "nothing"}

// genEvents draws a pilot without a plan: presses of all lengths, mistakes, and
// long waits between.
func genEvents(t *rapid.T) []timer.Event {
	var out []timer.Event
	var at time.Duration
	for range rapid.IntRange(1, 120).Draw(t, "events") {
		at += rapid.SampledFrom([]time.Duration{0, 90 * ms, 300 * ms, 450 * ms, sec, 1200 * ms, 3100 * ms, 5 * sec, 20 * sec, time.Minute, 40 * time.Minute}).Draw(t, "wait")
		out = append(out, timer.Event{
			Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), At: at,
			Flow: rapid.SampledFrom(flows).Draw(t, "flow"), Latch: rapid.Bool().Draw(t, "latch"), Celsius: 5, For: time.Hour, Text: "slow",
		})
	}
	return append(out, timer.Event{Kind: timer.Undo, At: at + time.Hour})
}

func TestTheSameEventsGiveTheSameEffects(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		events := genEvents(rt)
		a, b := run(mustMachine(t, setup()), events), run(mustMachine(t, setup()), events)
		if !reflect.DeepEqual(a, b) {
			rt.Fatalf("first\n%s\nthen\n%s", story(a), story(b))
		}
	})
}

func TestTicksChangeNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		events := genEvents(rt)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "ticks"), 0))
		var ticked []timer.Event
		for i, e := range events {
			if i > 0 {
				for gap, at := e.At-events[i-1].At, events[i-1].At; gap > 0 && rng.IntN(3) > 0; gap = e.At - at {
					at += time.Duration(rng.Int64N(int64(gap)))
					ticked = append(ticked, timer.Event{Kind: timer.Tick, At: at})
				}
			}
			ticked = append(ticked, e)
		}
		a, b := mustMachine(t, setup()), mustMachine(t, setup())
		if x, y := run(a, events), run(b, ticked); !reflect.DeepEqual(x, y) {
			rt.Fatalf("without ticks\n%s\nwith ticks\n%s", story(x), story(y))
		}
		end := events[len(events)-1].At
		if x, y := a.View(end), b.View(end); !reflect.DeepEqual(x, y) {
			rt.Fatalf("without ticks %+v\nwith ticks %+v", x, y)
		}
	})
}

// Next is never wrong: ticking at what it says, and only then, brings out the
// same as ticking past it.
func TestNextIsEnough(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		events := genEvents(rt)
		a, b := mustMachine(t, setup()), mustMachine(t, setup())
		var x, y []timer.Effect
		for _, e := range events {
			for {
				due, ok := b.Next()
				if !ok || due >= e.At {
					break
				}
				y = append(y, b.Apply(timer.Event{Kind: timer.Tick, At: due})...)
			}
			x, y = append(x, a.Apply(e)...), append(y, b.Apply(e)...)
		}
		if !reflect.DeepEqual(x, y) {
			rt.Fatalf("without ticks\n%s\nwith ticks at what is due\n%s", story(x), story(y))
		}
	})
}

// What must hold of every order of events.
func TestSafety(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := mustMachine(t, setup())
		l := newReferee()
		for _, e := range genEvents(rt) {
			for _, f := range m.Apply(e) {
				if wrong := l.see(f); wrong != "" {
					rt.Fatalf("after %+v: %s", e, wrong)
				}
			}
			m.View(e.At)
		}
	})
}

// referee follows the effects alone and knows what must never be among them.
type referee struct {
	engaged    bool
	used       int
	readyAt    time.Duration
	before     time.Duration
	usedBefore int
}

func newReferee() *referee { return &referee{} }

func (r *referee) see(e timer.Effect) string {
	limits := library().Aircraft.Starter
	switch e.Kind {
	case timer.Engaged:
		if r.engaged {
			return "engaged twice"
		}
		if e.At < r.readyAt {
			return "engaged without its rest"
		}
		r.before, r.usedBefore = r.readyAt, r.used
		if r.used == limits.Attempts || r.used > 0 && e.At-(r.readyAt-limits.Rest) >= limits.LongRest {
			r.used = 0
		}
		r.engaged = true
		r.used++
		if r.used > limits.Attempts {
			return "more attempts than a set has"
		}
	case timer.Released:
		if !r.engaged {
			return "released without an engagement"
		}
		r.engaged = false
		r.readyAt = e.At + limits.Rest
		if r.used == limits.Attempts {
			r.readyAt = e.At + limits.LongRest
		}
	case timer.Resumed:
		r.engaged, r.readyAt = true, r.before
	case timer.Struck:
		r.engaged, r.readyAt, r.used = false, r.before, r.usedBefore
	case timer.Rested:
		r.readyAt = min(r.readyAt, e.At)
	}
	return ""
}

func FuzzNoOrderOfEventsPanics(f *testing.F) {
	f.Add([]byte{0, 1, 1, 1, 0, 200, 1, 4})
	f.Add([]byte{7, 255, 0, 0, 2, 9, 1, 9, 3, 128})
	f.Fuzz(func(t *testing.T, data []byte) {
		m := mustMachine(t, setup())
		var at time.Duration
		for i := 0; i+1 < len(data); i += 2 {
			step := time.Duration(int8(data[i+1])) // times may run backwards
			at += step * step * step * 10 * ms
			if data[i] == 255 {
				at = math.MaxInt64
			}
			m.Apply(timer.Event{Kind: append(kinds, timer.Tick, "")[int(data[i])%(len(kinds)+2)], At: at, Flow: flows[int(data[i]/16)%len(flows)], Celsius: math.NaN()})
			m.Next()
			m.View(at)
		}
	})
}
