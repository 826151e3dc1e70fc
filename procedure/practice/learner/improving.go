package learner

import (
	"math"
	"math/rand/v2"
	"time"
)

// Lapse is the part of fifty runs in which the student of [Improving] has lost
// it: after three weeks without a run.
var Lapse = struct{ From, To int }{36, 39}

// Improving is the hand of an invented student's n-th run, from 1: quicker each
// time, with a prime that drifts from too long toward the ideal, a lapse, and a
// few habits. Assumptions: a step's time falls exponentially; a hand's sense of
// time spreads by 14 % at first and 6 % later.
func Improving(seed uint64, n int) *Hand {
	rng := rand.New(rand.NewPCG(seed, uint64(n)))
	run := float64(n)
	pace := (1 + 3*math.Exp(-.09*run)) * math.Exp(.2*rng.NormFloat64())
	aim := 4.2 + 1.5*math.Exp(-run/8)
	spread := .06 + .08*math.Exp(-run/10)
	if n >= Lapse.From && n <= Lapse.To {
		pace *= 4
		spread *= 2.5
	}
	h := &Hand{
		Prime: inSeconds(aim * (1 + spread*rng.NormFloat64())), Crank: 5 * time.Second,
		Think: inSeconds(pace), Spread: .25, Seed: rng.Uint64(), Attempts: 2,
		React: inSeconds((.55 + .9*math.Exp(-run/10)) * math.Exp(.25*rng.NormFloat64())),
	}
	switch chance := rng.Float64(); {
	case chance < .35*math.Exp(-run/25):
		h.Swaps = "throttle-start" // says the brief before the throttle is set
	case chance > 1-.35*math.Exp(-run/40):
		h.Forgets = "pump-off"
	}
	return h
}

// When is the day and hour of the n-th of so many runs, the last one on the day
// that is given: two on three days of each week, and none for three weeks before
// the lapse.
func When(n, of int, last time.Time) time.Time {
	at := time.Date(last.Year(), last.Month(), last.Day(), 18, 0, 0, 0, last.Location())
	at = at.AddDate(0, 0, day(n)-day(of))
	return at.Add(time.Duration((n+1)%2) * 6 * time.Minute)
}

// day counts from the day of the first run.
func day(n int) int {
	session := (n - 1) / 2
	d := session/3*7 + session%3*2
	if n >= Lapse.From {
		d += 21
	}
	return d
}

func inSeconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
