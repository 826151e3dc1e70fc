package planner

import (
	"math"
	"math/rand/v2"
	"time"

	"kickover/procedure/powerplant"
)

// StopwatchSigma is how far a hand's stopwatch is out from start to stop, in s:
// N(0, 0.10²) over 4,304 tries (American Journal of Physics 87:110, 2019).
const StopwatchSigma = 0.10

// Drawn is one trial with everything drawn at random: what a surrogate is fitted
// to and checked against.
type Drawn struct {
	Conditions powerplant.Conditions
	Prime      float64 // as a stopwatch timed it, s
	Z          [traitCount]float64
	Outcome    powerplant.Outcome
}

// widest is how many standard deviations from the model's the traits may lie,
// in the fit and in what is learnt.
const widest = 3.2

// Draw flies trial n of a seed: any day, any prime, any traits.
func (a *Aeroplane) Draw(seed uint64, n int) (Drawn, error) {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	var d Drawn
	d.Conditions = powerplant.Conditions{
		OATCelsius:        -20 + 60*r.Float64(),
		PressureAltitudeM: 3000 * r.Float64() * r.Float64(),
		SinceShutdown:     drawSince(r),
	}
	d.Prime = 0.1 * math.Exp(r.Float64()*math.Log(100)) // 0.1 to 10 s, even in its logarithm
	if r.IntN(3) > 0 {
		d.Prime = 9 * r.Float64()
	}
	for i := range d.Z {
		d.Z[i] = max(-widest, min(widest, 1.5*r.NormFloat64()))
	}
	var err error
	d.Outcome, err = a.FlyTimed(d.Conditions, d.Prime, traitsAt(d.Z), r.Uint64())
	return d, err
}

// drawSince is from a minute to overnight, even in its logarithm, and overnight
// as often as all of that again would make it in practice: a third.
func drawSince(r *rand.Rand) time.Duration {
	if r.IntN(3) == 0 {
		return powerplant.Overnight
	}
	minutes := math.Exp(r.Float64() * math.Log(powerplant.Overnight.Minutes()))
	return time.Duration(minutes * float64(time.Minute))
}

// FlyTimed flies one start whose prime was timed as so many seconds, by an
// ordinary pilot in an aeroplane of these traits.
func (a *Aeroplane) FlyTimed(c powerplant.Conditions, prime float64, t Traits, seed uint64) (powerplant.Outcome, error) {
	scatter := withoutTraits(powerplant.UsualScatter())
	scatter.Prime = StopwatchSigma
	return powerplant.Trial(t.of(a.Spec), c, a.Technique(prime), scatter, seed)
}

// Fit fits a surrogate to trials.
func (a *Aeroplane) Fit(trials []Drawn) (*Surrogate, error) {
	s := &Surrogate{Powerplant: a.Spec.Name, Fingerprint: Fingerprint(a.Spec), Trials: len(trials)}
	all := fitting{make([]standing, len(trials)), make([][]float64, len(trials)), make([]bool, len(trials))}
	var enough fitting // the trials that had not too little
	for i, d := range trials {
		var err error
		if all.standing[i], err = standingOf(a.Spec, d.Conditions); err != nil {
			return nil, err
		}
		all.rows[i] = all.standing[i].row(d.Prime, d.Z)
		all.outcome[i] = !d.Outcome.Started && !d.Outcome.Flooded
		if !all.outcome[i] {
			enough.standing = append(enough.standing, all.standing[i])
			enough.rows = append(enough.rows, all.rows[i])
			enough.outcome = append(enough.outcome, d.Outcome.Flooded)
		}
	}
	var err error
	if s.Little, s.LittleBend, err = all.fit(); err != nil {
		return nil, err
	}
	s.Flood, s.FloodBend, err = enough.fit()
	return s, err
}

// fitting is what one of the regressions is fitted to.
type fitting struct {
	standing []standing
	rows     [][]float64
	outcome  []bool
}

// fit gives the coefficients and those of the bend.
func (f fitting) fit() (terms, bend []float64, err error) {
	const ridge = 0.01
	outcome := func(i int) bool { return f.outcome[i] }
	terms, _, err = Regress(len(f.rows), func(i int) []float64 { return f.rows[i] }, outcome, ridge)
	if err != nil {
		return nil, nil, err
	}
	bend, _, err = Regress(len(f.rows), func(i int) []float64 {
		sum := 0.0
		for j, v := range f.rows[i] {
			sum += terms[j] * v
		}
		return f.standing[i].bendRow(sum)
	}, outcome, ridge)
	return terms, bend, err
}
