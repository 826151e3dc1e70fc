package debrief_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// spent is one charge that came up for its spark, as the simulated engine has it
// and not as the record of a run keeps it.
type spent struct {
	at       time.Duration
	fraction float64 // % by volume
	plugsWet float64 // share of the sparks that liquid swallows
	wet      float64 // g in the cylinders
}

// lookInside flies the same hands on the same engine without a rehearsal, and looks
// at every charge.
func lookInside(t *testing.T, acts []procedure.Event, c powerplant.Conditions, seed uint64, until time.Duration) []spent {
	t.Helper()
	spec, err := powerplant.ByName("injected-180")
	if err != nil {
		t.Fatal(err)
	}
	p, err := powerplant.New(spec, c, seed)
	if err != nil {
		t.Fatal(err)
	}
	var x powerplant.Controls
	var all []spent
	turns := int64(0)
	for now := time.Duration(0); now < until; now += powerplant.StepSize {
		for len(acts) > 0 && acts[0].At < now+powerplant.StepSize {
			switch e := acts[0]; {
			case e.Kind != procedure.EventMove:
			case e.Subject == "battery":
				x.Battery = e.Value != 0
			case e.Subject == "boost_pump":
				x.BoostPump = e.Value != 0
			case e.Subject == "throttle":
				x.ThrottleMM = e.Value
			case e.Subject == "mixture":
				x.Mixture = e.Value
			case e.Subject == "ignition":
				x.Magnetos, x.Starter = powerplant.MagnetosBoth, e.Value == 4
			}
			acts = acts[1:]
			p.SetControls(x)
		}
		p.Step()
		if in := p.Inside(); in.HalfTurns != turns {
			turns = in.HalfTurns
			all = append(all, spent{now, 100 * in.ChargeFraction, in.PlugsWet, in.WetG})
		}
	}
	return all
}

// between picks the charges from one moment to another.
func between(all []spent, from, to time.Duration) []spent {
	var out []spent
	for _, c := range all {
		if c.at >= from && c.at <= to {
			out = append(out, c)
		}
	}
	return out
}

// most reports whether it is so of at least half of the charges.
func most(charges []spent, is func(spent) bool) bool {
	n := 0
	for _, c := range charges {
		if is(c) {
			n++
		}
	}
	return 2*n >= len(charges)
}

var figure = regexp.MustCompile(`\d+(?:\.\d+)?`)

// first is the first number in a text.
func first(text string) float64 {
	v, _ := strconv.ParseFloat(figure.FindString(text), 64)
	return v
}

// lies says what in a report is not as it was, empty when all is true.
func lies(r *debrief.Report, all []spent) string {
	a, why := r.Attempts[0], r.Why
	lean := func(c spent) bool { return c.fraction < r.Band.Lean }
	rich := func(c spent) bool { return c.fraction > r.Band.Rich }
	wet := func(c spent) bool { return c.plugsWet > 0.3 }
	cranked := between(all, a.Engaged, a.Released)
	began := cranked[0].wet
	cranked = cranked[min(2, len(cranked)):] // the first two were drawn in before it was engaged
	dying := between(all, a.DiedAt-time.Second, a.DiedAt)
	among := func(charges []spent, said string) string {
		low, high := math.Inf(1), math.Inf(-1)
		for _, c := range charges {
			low, high = min(low, c.fraction), max(high, c.fraction)
		}
		if v := first(said); v < low-0.1 || v > high+0.1 {
			return fmt.Sprintf("the charges held %.2f to %.2f %%", low, high)
		}
		return ""
	}
	_, vapour, _ := strings.Cut(why, "held ")
	switch {
	case strings.Contains(why, "of cranking: the charge held"):
		return among(between(all, a.FiredAt-500*time.Millisecond, a.FiredAt), vapour)
	case strings.Contains(why, "the charge came down to"), strings.Contains(why, "the charge came up to"):
		firing := between(all, a.FiredAt-500*time.Millisecond, a.FiredAt)
		beyond := lean
		if strings.Contains(why, "came down") {
			beyond = rich
		}
		if !slices.ContainsFunc(firing, beyond) {
			return fmt.Sprintf("it fired on %.2v", firing)
		}
		_, vapour, _ = strings.Cut(why, "came ")
		return among(firing, vapour)
	case strings.Contains(why, "flooded, the charge held") && most(cranked, rich):
		return among(cranked, vapour)
	case strings.Contains(why, "too little fuel") && most(cranked, lean):
		return among(cranked, vapour)
	case strings.Contains(why, "lay in the cylinders and wet the plugs") && most(cranked, wet):
		// The first charge has taken some of it out already.
		if v := first(why); math.Abs(v-began) > 0.1+0.04*v {
			return fmt.Sprintf("%.2f g lay there", began)
		}
	case strings.Contains(why, "too much fuel") && most(dying, rich),
		strings.Contains(why, "died") && strings.Contains(why, "wet the plugs") && most(dying, wet),
		strings.Contains(why, "prime was used up") && most(dying, lean),
		strings.Contains(why, "too few charges fired") && most(dying, func(c spent) bool { return !lean(c) && !rich(c) }),
		strings.HasPrefix(why, "It ran"):
	default:
		return fmt.Sprintf("cranked %.2v, dying %.2v", cranked, dying)
	}
	return ""
}

// No sentence lies: over a grid of primes, temperatures and catches each is set
// against what was in the cylinders, charge by charge.
func TestNoSentenceLies(t *testing.T) {
	t.Parallel()
	lib := shipped.Brindle180(t)
	said := map[string]int{}
	n := uint64(0)
	for _, oat := range []float64{-30, -15, 0, 15, 35} {
		for _, since := range []time.Duration{12 * time.Hour, 20 * time.Minute} {
			for _, prime := range []float64{0, 0.5, 1, 2, 4.2, 5.5, 7, 8.5, 10, 20} {
				for _, caught := range []float64{0.8, 5, 0} {
					n++
					c := rehearsal.Conditions{OATCelsius: oat, SinceShutdown: since, PressureAltM: float64(n%3) * 1200}
					flown := acts(prime)
					end := flown[len(flown)-1].At + 5500*time.Millisecond
					move := func(at time.Duration, control string, to float64) procedure.Event {
						return procedure.Event{At: at, Kind: procedure.EventMove, Subject: control, Value: to}
					}
					at := flown[len(flown)-1].At + time.Duration((2+caught)*float64(time.Second))
					if caught > 0 && at < end {
						flown = append(flown, move(at, "mixture", 1))
					}
					flown = append(flown, move(end, "ignition", 3))
					if caught > 0 && at >= end {
						flown = append(flown, move(at, "mixture", 1))
					}
					run, err := rehearsal.New(rehearsal.Options{Library: lib, Flow: "cold", Phase: procedure.Evaluate, Seed: n, Hands: flown, Conditions: c})
					if err != nil {
						t.Fatal(err)
					}
					run.Advance(end + 12*time.Second)
					run.End(procedure.EndHands)
					r, err := debrief.Of(debrief.Subject{Library: lib, Flow: "cold", Phase: procedure.Evaluate, OATCelsius: oat, Events: run.Events()})
					if err != nil {
						t.Fatal(err)
					}
					was := lookInside(t, flown, powerplant.Conditions{OATCelsius: oat, SinceShutdown: since, PressureAltitudeM: c.PressureAltM}, n, end+12*time.Second)
					if lie := lies(r, was); lie != "" {
						t.Errorf("%g degC, %v after shutdown, %g s of prime, caught after %g s: %q, but %s", oat, since, prime, caught, r.Why, lie)
					}
					said[figure.ReplaceAllString(r.Why, "N")]++
				}
			}
		}
	}
	if t.Logf("%v", said); len(said) < 9 {
		t.Errorf("the grid made it say %d things only: %v", len(said), said)
	}
}
