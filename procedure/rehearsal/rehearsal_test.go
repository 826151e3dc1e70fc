package rehearsal_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/rehearsal"
	"kickover/procedure/starter"
)

func begin(t testing.TB, o rehearsal.Options) *rehearsal.Rehearsal {
	t.Helper()
	r, err := rehearsal.New(o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// fly turns a run until it ends by itself, or for at most half an hour.
func fly(r *rehearsal.Rehearsal) {
	for at := time.Duration(0); at < 30*time.Minute && !r.Done(); at += time.Second {
		r.Advance(at)
	}
}

// Every flow that ships, flown by the demonstrator as it is taught, ends in a
// running engine with nothing unsafe on the way.
func TestShippedFlowsStartTheEngine(t *testing.T) {
	since := map[string]time.Duration{"warm": 45 * time.Minute, "hot": 20 * time.Minute}
	for _, id := range []procedure.AircraftID{"brindle-180", "brindle-100"} {
		lib := shipped.Aircraft(t, id)
		for _, f := range lib.Flows {
			if !f.Entry || f.Situation == "fire" {
				continue
			}
			for _, oat := range []float64{0, 15, 30} {
				t.Run(fmt.Sprintf("%s/%s/%g degC", id, f.ID, oat), func(t *testing.T) {
					want := procedure.Started
					if f.Ends != "" {
						want = f.Ends
					}
					o := rehearsal.Options{
						Library: lib, Flow: f.ID, Phase: procedure.Demonstrate, Seed: 1,
						Conditions: rehearsal.Conditions{OATCelsius: oat, SinceShutdown: since[f.Situation]},
					}
					r := begin(t, o)
					fly(r)
					st := r.State()
					if st.Outcome != want {
						t.Errorf("it ended %q at %v, breaches %v", st.Outcome, st.At, st.Breaches)
					}
					for _, d := range st.Drills {
						t.Errorf("it went over to the drill %q at %v, and nothing was wrong", d.Flow, d.At)
					}
					for _, s := range st.Steps {
						if s.Status == procedure.StatusDone && s.Verdict != procedure.OnTime {
							t.Errorf("step %s came out %q after %v", s.Key, s.Verdict, s.Elapsed)
						}
					}
				})
			}
		}
	}
}

// A run is the same to the last bit whether it is turned in seconds, in odd
// crumbs of time or all at once.
func TestWhoTurnsTheCrankDoesNotMatter(t *testing.T) {
	flown := func(step time.Duration) []procedure.Event {
		r := begin(t, rehearsal.Options{
			Library: shipped.Aircraft(t, "brindle-180"), Flow: "cold", Phase: procedure.Demonstrate, Seed: 7,
			Conditions: rehearsal.Conditions{OATCelsius: 5},
		})
		for at := step; at < 3*time.Minute && !r.Done(); at += step {
			r.Advance(at)
		}
		return r.Events()
	}
	want := flown(3 * time.Minute / 2)
	for _, step := range []time.Duration{5 * time.Millisecond, 7300 * time.Microsecond, 16667 * time.Microsecond, time.Second} {
		if got := flown(step); !sameEvents(got, want) {
			t.Errorf("turned every %v the run has %d events, and %d at once, or other ones", step, len(got), len(want))
		}
	}
}

// A run can be flown again by its own acts: the same powerplant, the same
// signals, the same verdicts.
func TestReplayFliesTheSameRun(t *testing.T) {
	for _, seed := range []uint64{1, 2, 3} {
		lib := shipped.Aircraft(t, "brindle-180")
		o := rehearsal.Options{Library: lib, Flow: "cold", Phase: procedure.Demonstrate, Seed: seed, Conditions: rehearsal.Conditions{OATCelsius: 10}}
		first := begin(t, o)
		fly(first)
		o.Replay, o.Hands = true, rehearsal.Replayable(first.Events())
		again := begin(t, o)
		fly(again)
		if !sameEvents(first.Events(), again.Events()) {
			t.Errorf("seed %d: the replay has %d events where the run had %d, or other ones", seed, len(again.Events()), len(first.Events()))
		}
	}
}

// What was stored is enough to judge the run again: no physics, no clock.
func TestStoredEventsGiveTheSameVerdicts(t *testing.T) {
	lib := shipped.Aircraft(t, "brindle-180")
	r := begin(t, rehearsal.Options{Library: lib, Flow: "cold", Phase: procedure.Demonstrate, Seed: 3, Conditions: rehearsal.Conditions{OATCelsius: 10}})
	fly(r)
	again, err := procedure.Replay(procedure.Setup{Library: lib, Flow: "cold", Phase: procedure.Demonstrate, OATCelsius: 10, Ledger: ledger(lib)}, r.Events())
	if err != nil {
		t.Fatal(err)
	}
	was, is := r.State(), again.State()
	for i := range was.Steps {
		if was.Steps[i].Verdict != is.Steps[i].Verdict || was.Steps[i].Elapsed != is.Steps[i].Elapsed {
			t.Errorf("step %s: %q after %v, and %q after %v from the list", was.Steps[i].Key,
				was.Steps[i].Verdict, was.Steps[i].Elapsed, is.Steps[i].Verdict, is.Steps[i].Elapsed)
		}
	}
}

// Over many seeds somebody walks in now and then, and the demonstrator, who
// waits and looks again, is never unsafe. The world acts in Perform and Evaluate
// only, so the acts are replayed there.
func TestWhoeverWaitsAndLooksAgainIsNeverUnsafe(t *testing.T) {
	lib := shipped.Aircraft(t, "brindle-180")
	walked := 0
	for seed := uint64(1); seed <= 40; seed++ {
		r := begin(t, rehearsal.Options{Library: lib, Flow: "cold", Phase: procedure.Perform, Seed: seed,
			Happenings: true, Hand: rehearsal.NewDemonstrator(lib), Conditions: rehearsal.Conditions{OATCelsius: 15}})
		fly(r)
		for _, e := range r.Events() {
			if e.Kind == procedure.EventArea && e.Value != 0 {
				walked++
			}
		}
		if st := r.State(); st.Outcome != procedure.Started {
			t.Errorf("seed %d: it ended %q, breaches %v", seed, st.Outcome, st.Breaches)
		}
	}
	if walked == 0 || walked > 30 {
		t.Errorf("somebody walked in during %d of 40 checks", walked)
	}
}

func ledger(lib *procedure.Library) procedure.Ledger { return starter.New(lib.Aircraft.Starter) }

func sameEvents(a, b []procedure.Event) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		x, y := a[i], b[i]
		if x.Value != x.Value && y.Value != y.Value { // a dead gauge shows no number
			x.Value, y.Value = 0, 0
		}
		if !reflect.DeepEqual(x, y) {
			return false
		}
	}
	return true
}

// An Explain whose pages nobody turns but a clock is read to its end, and every
// line of it is on the screen for a while.
func TestAnExplainIsReadToItsEnd(t *testing.T) {
	for _, id := range []procedure.AircraftID{"brindle-180", "brindle-100"} {
		lib := shipped.Aircraft(t, id)
		for _, f := range lib.Flows {
			r := begin(t, rehearsal.Options{Library: lib, Flow: f.ID, Phase: procedure.Explain, Hands: rehearsal.PageTurns(f)})
			shown := map[string]bool{}
			for at := time.Duration(0); at < time.Hour && !r.Done(); at += 50 * time.Millisecond {
				r.Advance(at)
				shown[r.Snapshot().Caption.Text] = true
			}
			if st := r.State(); st.Outcome != procedure.Read {
				t.Errorf("%s/%s ended %q", id, f.ID, st.Outcome)
			}
			for i := range f.Steps {
				for _, line := range []string{f.Steps[i].Prompt.Caption, f.Steps[i].Why, f.Steps[i].Wrong} {
					if !shown[line] && line != "" {
						t.Errorf("%s/%s, %s: %q was never seen", id, f.ID, f.Steps[i].ID, line)
					}
				}
			}
		}
	}
}
