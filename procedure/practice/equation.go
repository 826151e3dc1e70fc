package practice

import "math"

// Practice is one time that something was practised.
type Practice struct {
	Day    float64 // when
	Weight float64 // 1, or less for practice that teaches less
}

// Equation is the predictive performance equation (Walsh, Gluck, Gunzelmann,
// Jastrzembski & Krusmark 2018, Cognitive Science 42 S3:644–691; as printed by
// Anderson, Betts, Byrne, Schooler & Stanley 2023, Psychological Review
// 130:1137–1166).
type Equation struct {
	C   float64 // how strength grows with the number of practices
	X   float64 // how much the latest practice counts in the age of all
	B   float64 // decay that practice cannot slow
	M   float64 // decay that spacing slows
	Tau float64 // strength at which the chance is one half
	S   float64 // how much strength differs from moment to moment
}

// Fitted has the parameters of 475 learners of a timed procedural skill (Oermann
// et al. 2020, PLoS ONE 15:e0226786), fitted to its twelve group means. C and X
// are the authors' usual ones.
var Fitted = Equation{C: .1, X: .6, B: .0234, M: .0183, Tau: .7773, S: .1407}

// youngest is the least age of a practice, in days. At age zero the equation has
// no value; an hour is about the gap of one session.
const youngest = 1.0 / 24

// Strength is M, at a day after the practices, which are in their order; zero
// when nothing was practised.
func (e Equation) Strength(practices []Practice, day float64) float64 {
	var n, weights, age float64
	for _, p := range practices {
		t := max(day-p.Day, youngest)
		w := p.Weight * math.Pow(t, -e.X)
		n += p.Weight
		weights += w
		age += w * t
	}
	if n <= 0 {
		return 0
	}
	return math.Pow(n, e.C) * math.Pow(age/weights, -e.decay(practices))
}

func (e Equation) decay(practices []Practice) float64 {
	if len(practices) < 2 {
		return e.B
	}
	sum := 0.0
	for i, p := range practices[1:] {
		sum += 1 / math.Log(max(p.Day-practices[i].Day, 0)+math.E)
	}
	return e.B + e.M*sum/float64(len(practices)-1)
}

// Chance is the chance of doing it right at a strength.
func (e Equation) Chance(strength float64) float64 { return logistic((strength - e.Tau) / e.S) }

func logistic(v float64) float64 { return 1 / (1 + math.Exp(-v)) }
