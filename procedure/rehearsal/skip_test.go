package rehearsal_test

import (
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/rehearsal"
)

// A rest that is skipped passes at once, and the powerplant lives through it:
// the run's own time goes on by as much, and a replay comes out the same.
func TestSkippedRestIsLivedThrough(t *testing.T) {
	lib := shipped.Aircraft(t, "brindle-180")
	o := rehearsal.Options{Library: lib, Flow: "flooded-patience", Phase: procedure.Perform, Seed: 4,
		Hand: rehearsal.NewDemonstrator(lib), Conditions: rehearsal.Conditions{OATCelsius: 15}}
	r := begin(t, o)
	for at := time.Duration(0); r.State().RestUntil == 0; at += time.Second {
		r.Advance(at)
	}
	before := r.Now()
	skipped := r.SkipRest()
	if skipped < 50*time.Second {
		t.Fatalf("of a minute's wait %v was skipped", skipped)
	}
	if got := r.Now() - before; got != skipped {
		t.Errorf("the run went on by %v where %v was skipped", got, skipped)
	}
	if again := r.SkipRest(); again != 0 {
		t.Errorf("with no rest left another %v was skipped", again)
	}
	for at := r.Now(); at < 10*time.Minute && !r.Done(); at += time.Second {
		r.Advance(at)
	}
	if st := r.State(); st.Outcome != procedure.Started {
		t.Fatalf("after the skipped rest it ended %q", st.Outcome)
	}
	o.Hand, o.Replay, o.Hands = nil, true, rehearsal.Replayable(r.Events())
	replay := begin(t, o)
	fly(replay)
	if !sameEvents(r.Events(), replay.Events()) {
		t.Error("the replay of a run with a skipped rest is another run")
	}
}
