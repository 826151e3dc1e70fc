package debrief

import (
	"testing"
	"time"

	"kickover/procedure"
)

// A choice is judged by the flow that it led to, and by what was primed until the
// next choice: to stop, or to crank on the engine's own pump, is not to take an
// engine with too little fuel for flooded.
func TestDecisionsAreJudgedByWhereTheyLed(t *testing.T) {
	const lean, good, rich = 0.5, 3.0, 9.0 // % vapour; 1.3 to 7.1 burns
	sequence := func(choice string, vapour float64, primes ...procedure.Prime) string {
		r := Report{
			Band: Band{Lean: 1.3, Rich: 7.1}, Primes: primes,
			Attempts: []Attempt{{Attempt: procedure.Attempt{Engaged: 40 * time.Second, Released: 46 * time.Second}, Vapour: vapour}},
			leadsTo:  map[string]string{"flooded-air": "flooded", "own-pump": "boost-pump-dead", "crank-again": "again", "prime-again": "again", "stop": "stop"},
		}
		st := procedure.State{At: 5 * time.Minute, Decisions: []procedure.Decision{
			{At: 60 * time.Second, Choice: choice}, {At: 120 * time.Second, Choice: "stop"},
		}}
		heads := ""
		for _, reason := range r.decisionReasons(&st) {
			heads += reason.Head
		}
		return heads
	}
	soon := procedure.Prime{Begin: 70 * time.Second, End: 74 * time.Second}
	later := procedure.Prime{Begin: 200 * time.Second, End: 204 * time.Second}
	const notFlooded, again = "You took it for flooded; it had too little fuel.", "You primed again, and it was flooded."
	for _, c := range []struct {
		what, got, want string
	}{
		{"lean, own pump", sequence("own-pump", lean), ""},
		{"lean, cranked again", sequence("crank-again", lean), ""},
		{"lean, cleared by air", sequence("flooded-air", lean), notFlooded},
		{"lean, cleared by air, primed after the next choice", sequence("flooded-air", lean, later), notFlooded},
		{"lean, primed again", sequence("prime-again", lean, soon), ""},
		{"rich, primed again", sequence("prime-again", rich, soon), again},
		{"good, primed again", sequence("prime-again", good, soon), ""},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.what, c.got, c.want)
		}
	}
}
