package rehearsal

import (
	"math/rand/v2"
	"time"

	"kickover/procedure"
)

// happenings is the world around the aeroplane: now and then somebody walks
// into the propeller's area, or a voice interrupts. It is seeded, and acts on
// where the flow stands, so that the same run meets the same world.
type happenings struct {
	rng *rand.Rand

	checks   int           // how many propeller-area checks it has seen begin
	plan     bool          // somebody will walk in during this check
	enterAt  time.Duration // and when; zero before the first look
	leaveAt  time.Duration
	sector   int
	inside   bool
	checkKey string

	breakAt  int // index of the step that is interrupted, -1 for none
	broke    bool
	breakDue time.Duration
}

// How often the world intervenes. Common practice, no source: often enough to
// be expected, seldom enough to be forgotten.
const (
	walkInChance    = 0.25
	interruptChance = 0.2
)

var walkers = [...]string{
	"a refueller walks in", "a passenger walks back", "a student walks past", "a dog runs in",
}

var voices = [...]struct{ who, text string }{
	{"Radio", "Saltmarsh traffic, aircraft on the apron, say intentions."},
	{"Passenger", "Is my belt done up right?"},
	{"Line crew", "signals: are the chocks away?"},
}

func newHappenings(seed uint64) *happenings {
	h := &happenings{rng: rand.New(rand.NewPCG(seed, 0x6b69636b)), breakAt: -1}
	if h.rng.Float64() < interruptChance {
		h.breakAt = 2 + h.rng.IntN(6)
	}
	return h
}

// act returns what happens around the aeroplane now.
func (h *happenings) act(st *procedure.State) []procedure.Event {
	if e := h.interrupt(st); e != nil {
		return e
	}
	return h.walk(st)
}

func (h *happenings) interrupt(st *procedure.State) []procedure.Event {
	if h.broke || h.breakAt < 0 || st.Present != h.breakAt || st.Present >= len(st.Steps) {
		return nil
	}
	// Never in the seconds in which a hand is on the prime or the starter.
	if k := st.Steps[st.Present].Step.Kind; st.Holding || st.Cranking || k == procedure.StepCrank || k == procedure.StepHold {
		h.breakAt++
		return nil
	}
	if h.breakDue == 0 {
		h.breakDue = st.At + time.Duration(300+h.rng.IntN(900))*time.Millisecond
	}
	if st.At < h.breakDue {
		return nil
	}
	h.broke = true
	v := voices[h.rng.IntN(len(voices))]
	return []procedure.Event{{Kind: procedure.EventInterrupt, Subject: v.who, Text: v.text}}
}

func (h *happenings) walk(st *procedure.State) []procedure.Event {
	if h.inside {
		if st.At < h.leaveAt {
			return nil
		}
		h.inside = false
		return []procedure.Event{{Kind: procedure.EventArea, Subject: procedure.Sectors[h.sector]}}
	}
	s := checkOf(st)
	if s == nil {
		return nil
	}
	if s.Key != h.checkKey {
		h.checkKey = s.Key
		h.checks++
		h.plan = h.rng.Float64() < walkInChance
		h.enterAt = 0
	}
	if !h.plan {
		return nil
	}
	if h.enterAt == 0 {
		if st.Area.Looked == [3]bool{} {
			return nil
		}
		h.enterAt = st.At + time.Duration(400+h.rng.IntN(3500))*time.Millisecond
	}
	if st.At < h.enterAt || st.Cranking {
		return nil
	}
	h.plan, h.inside = false, true
	h.sector = h.rng.IntN(len(procedure.Sectors))
	h.leaveAt = st.At + time.Duration(3000+h.rng.IntN(4000))*time.Millisecond
	who := walkers[h.rng.IntN(len(walkers))]
	return []procedure.Event{{Kind: procedure.EventArea, Subject: procedure.Sectors[h.sector], Value: 1, Text: who}}
}

// checkOf is the propeller-area check under way, nil when there is none.
func checkOf(st *procedure.State) *procedure.StepState {
	if st.Present >= len(st.Steps) || st.Steps[st.Present].Step.Kind != procedure.StepPropClear {
		return nil
	}
	return &st.Steps[st.Present]
}
