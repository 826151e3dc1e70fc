package proficiency_test

import (
	"math"
	"math/rand/v2"
	"time"

	"kickover/procedure"
	"kickover/procedure/proficiency"
)

// student is invented: a hand whose hold is its aim times one and a little, a
// step time that falls exponentially, and a lapse of some runs. Assumptions, not
// measurements: a sense of time of 5 to 7 %, a beginner's of 14 %, a step's
// spread of a factor of about e^0.25.
type student struct {
	rng    *rand.Rand
	lapse  func(run int) bool
	weber  func(run int) float64
	aim    func(run int) float64
	spread float64
}

var primeWindow = procedure.Window{Min: 3500 * time.Millisecond, Ideal: 4200 * time.Millisecond, Max: 5 * time.Second}

// improving learns over about fifteen runs and lapses from run 36 to 39.
func improving(seed uint64) student {
	return student{
		rng:    rand.New(rand.NewPCG(seed, 1)),
		lapse:  func(run int) bool { return run >= 36 && run <= 39 },
		weber:  func(run int) float64 { return .06 + .08*math.Exp(-float64(run)/10) },
		aim:    func(run int) float64 { return 4.2 + 0.5*math.Exp(-float64(run)/8) },
		spread: .25,
	}
}

func (s student) runs(n int) []proficiency.Run {
	begin := time.Date(2026, 3, 2, 18, 0, 0, 0, time.UTC)
	var out []proficiency.Run
	for i := 1; i <= n; i++ {
		run := proficiency.Run{
			At: begin.Add(time.Duration(i) * 20 * time.Hour), Aircraft: "brindle-180", Flow: "cold",
			Phase: procedure.Evaluate, Attempts: 1, Started: true,
		}
		throttle := s.timed("throttle-prime", "Throttle to the prime mark", procedure.StepSet, i, 5*time.Second, 2, 6, .12)
		hold := s.aim(i)*(1+s.weber(i)*s.rng.NormFloat64()) + .03*s.rng.NormFloat64()
		prime := proficiency.Step{
			ID: "prime", Title: "Prime", Kind: procedure.StepHold, Criticality: 2, Window: primeWindow,
			Elapsed: time.Duration(hold * 1e9), Hesitation: -1,
		}
		prime.Verdict = primeWindow.Judge(prime.Elapsed)
		start := s.timed("throttle-start", "Throttle to the start mark", procedure.StepSet, i, 5*time.Second, 2, 2, .2)
		if i%9 == 4 && i < 30 {
			start.Verdict, start.TakenFor = procedure.OutOfOrder, "brief"
		}
		brief := s.timed("brief", "Brief: crank, catch, release", procedure.StepBrief, i, 8*time.Second, 3, 1, .1)
		run.Steps = []proficiency.Step{throttle, prime, start, brief}
		out = append(out, run)
	}
	return out
}

func (s student) timed(id procedure.StepID, title string, kind procedure.StepKind, run int, limit time.Duration, a, b, alpha float64) proficiency.Step {
	seconds := (a + b*math.Exp(-alpha*float64(run))) * math.Exp(s.spread*s.rng.NormFloat64())
	if s.lapse(run) {
		seconds *= 2.6
	}
	step := proficiency.Step{
		ID: id, Title: title, Kind: kind, Criticality: 2, Window: procedure.Window{Ideal: limit / 2, Max: limit},
		Elapsed: time.Duration(seconds * 1e9), Hesitation: time.Duration(seconds * .7e9),
	}
	step.Verdict = step.Window.Judge(step.Elapsed)
	return step
}
