package procedure_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kickover/procedure"
)

// seat is what is unsafe about a starter, told in one page and without a flow:
// whatever step the student is at, a crank without a check of its own, with
// somebody there, with the brakes off, too long or too soon is a breach.
type seat struct {
	looked, in      [3]bool
	called          bool
	calledAt        time.Duration
	held, cranking  bool
	engaged         time.Duration
	limitSaid       bool
	tries           int
	released, ready time.Duration
	breaches        []procedure.BreachAt
}

func (s *seat) breach(b procedure.Breach, at time.Duration) {
	s.breaches = append(s.breaches, procedure.BreachAt{Breach: b, At: at})
}

func (s *seat) apply(e procedure.Event, limits procedure.StarterLimits, wait, valid time.Duration) {
	if limit := s.engaged + limits.Crank; s.cranking && !s.limitSaid && e.At > limit {
		s.limitSaid = true
		s.breach(procedure.BreachCrankLimit, limit+1)
	}
	third := slices.Index(procedure.Sectors[:], e.Subject)
	all, nobody := s.looked == [3]bool{true, true, true}, s.in == [3]bool{}
	switch {
	case e.Kind == procedure.EventLook:
		s.looked[third] = !s.in[third]
	case e.Kind == procedure.EventCall && all && nobody:
		s.called, s.calledAt = true, e.At
	case e.Kind == procedure.EventArea:
		s.in[third], s.looked[third], s.called = e.Value != 0, false, false
		if s.in[third] && s.cranking {
			s.breach(procedure.BreachAreaOccupied, e.At)
		}
	case e.Subject == "brakes" && s.held != (e.Value == 1):
		s.held = e.Value == 1
		if s.cranking && !s.held {
			s.breach(procedure.BreachBrakesOff, e.At)
		}
	case e.Subject == "ignition" && e.Value == 4 && !s.cranking:
		checked := s.called && all && nobody && e.At >= s.calledAt+wait && e.At <= s.calledAt+wait+valid
		if !nobody {
			s.breach(procedure.BreachAreaOccupied, e.At)
		} else if !checked {
			s.breach(procedure.BreachNoPropClear, e.At)
		}
		if !s.held {
			s.breach(procedure.BreachBrakesOff, e.At)
		}
		owed := s.tries > 0 && e.At < s.ready
		if owed {
			s.breach(procedure.BreachRest, e.At)
		}
		if !owed && (s.tries >= limits.Attempts || e.At-s.released >= limits.LongRest) {
			s.tries = 0
		}
		s.tries++
		s.cranking, s.engaged, s.limitSaid = true, e.At, false
		s.looked, s.called = [3]bool{}, false
	case e.Subject == "ignition" && e.Value == 3 && s.cranking:
		s.cranking, s.released = false, e.At
		rest := limits.Rest
		if s.tries >= limits.Attempts {
			rest = limits.LongRest
		}
		s.ready = max(s.ready, e.At+rest)
	}
}

// In whatever order and however near an edge, to the nanosecond: every breach is
// found and none is invented, wherever the flow stands.
func TestEveryUnsafeCrankIsFoundAndNoOther(t *testing.T) {
	limits := saltmarsh().Aircraft.Starter
	const wait, valid = 3 * time.Second, 30 * time.Second
	edges := []time.Duration{wait, valid, wait + valid, limits.Crank, limits.Rest, limits.LongRest}
	rapid.Check(t, func(t *rapid.T) {
		run, by := mustRun(scenario{}), &seat{}
		anyGap := rapid.OneOf(
			rapid.SampledFrom([]time.Duration{0, 1, time.Second}),
			rapid.Map(rapid.IntRange(0, 3*len(edges)-1), func(i int) time.Duration { return edges[i/3] + time.Duration(i%3-1) }),
		)
		afterClear := rapid.SampledFrom([]time.Duration{0, wait - 1, wait, wait, wait + 1, wait + valid, wait + valid + 1})
		// A check as it should be, and a slip of the hand, stand among the single
		// acts, or they would hardly ever add up to one.
		const check = "look left\nlook ahead\nlook right\ncall clear"
		acts := rapid.SampledFrom([]string{check, check + "\nignition start", check + "\nignition start\nignition both\nignition start",
			"area right 1\narea right 0\ncall clear\nignition start", "brakes held", "brakes held", "brakes released",
			"ignition start", "ignition both", "ignition both", "look left", "look right", "call clear", "area ahead 1", "area ahead 0", "tick"})
		script := []string{"brakes held"}
		for range rapid.IntRange(1, 40).Draw(t, "acts") {
			script = append(script, strings.Split(acts.Draw(t, "act"), "\n")...)
		}
		var at time.Duration
		calls := false
		for i, line := range script {
			gap := anyGap
			switch {
			case calls:
				gap = afterClear
			case strings.HasPrefix(line, "look"), line == "call clear":
				gap = rapid.Just(time.Second)
			}
			at += gap.Draw(t, "after")
			script[i] = at.String() + " " + line
			calls = line == "call clear"
		}
		for _, e := range parseScenario(t, strings.Join(script, "\n")) {
			run.Apply(e)
			by.apply(e, limits, wait, valid)
		}
		got := run.State().Breaches
		for i := range got {
			got[i].Step = ""
		}
		if !slices.Equal(got, by.breaches) {
			t.Fatalf("breaches\n got %v\nwant %v", got, by.breaches)
		}
	})
}
