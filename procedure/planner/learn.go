package planner

import (
	"fmt"
	"math"

	"kickover/procedure/powerplant"
)

// Saw is what became of one real start.
type Saw string

// What a record can say. Wet and Little are a pilot's own judgement of a start
// that failed; Failed leaves it open.
const (
	SawStart  Saw = "started"
	SawFailed Saw = "not started"
	SawWet    Saw = "flooded"
	SawLittle Saw = "too little"
)

// Seen is one real start as the planner learns from it: the first attempt, since
// what follows a failure depends on it.
type Seen struct {
	Conditions powerplant.Conditions
	Prime      float64 // s, as timed
	Saw        Saw
}

// lapse is how often a record says something that no trait explains: a slip of
// the hand, a wrong note, a fault. An estimate; without it a single odd record
// could outweigh all others.
const lapse = 0.02

// The grid over which a belief is summed.
const (
	side  = 17
	nodes = side * side * side
)

// Belief is what is thought of one aeroplane's traits: a weight for each node of
// a grid. It is made by [Prior] and [Belief.After], and does not change.
type Belief struct {
	Starts  int       // it has learnt from
	weights []float64 // of each node; they add up to one
	sums    []float64 // running sums of the weights, for drawing
}

// Prior is the belief about an aeroplane nobody has started: the model's spread.
func Prior() *Belief {
	logs := make([]float64, nodes)
	for i := range logs {
		for _, z := range nodeAt(i) {
			logs[i] -= z * z / 2
		}
	}
	return weighed(0, logs)
}

// nodeAt is where a node lies, in standard deviations from the model's.
func nodeAt(i int) [traitCount]float64 {
	var z [traitCount]float64
	for k := range z {
		z[k] = widest * (float64(i%side)/float64(side-1)*2 - 1)
		i /= side
	}
	return z
}

// grid has the trait terms of every node.
var grid = func() []*traitTerms {
	g := make([]*traitTerms, nodes)
	for i := range g {
		g[i] = termsOf(nodeAt(i))
	}
	return g
}()

// weighed normalizes logarithms of weights.
func weighed(starts int, logs []float64) *Belief {
	top := math.Inf(-1)
	for _, l := range logs {
		top = max(top, l)
	}
	b := &Belief{Starts: starts, weights: make([]float64, len(logs)), sums: make([]float64, len(logs))}
	total := 0.0
	for i, l := range logs {
		b.weights[i] = math.Exp(l - top)
		total += b.weights[i]
		b.sums[i] = total
	}
	for i := range logs {
		b.weights[i] /= total
		b.sums[i] /= total
	}
	return b
}

// Learn is what starts teach about an aeroplane. It is an error when the
// aeroplane's engine has no surrogate, or a start cannot be simulated.
func Learn(a *Aeroplane, seen []Seen) (*Belief, error) {
	s, err := SurrogateFor(a.Spec)
	if err != nil {
		return nil, err
	}
	b := Prior()
	for i, o := range seen {
		if b, err = b.After(s, a, o); err != nil {
			return nil, fmt.Errorf("start %d of %d cannot be learnt from: %w", i+1, len(seen), err)
		}
	}
	return b, nil
}

// After is the belief after one more start: each node's weight times how likely
// it made what was seen (Bayes).
func (b *Belief) After(s *Surrogate, a *Aeroplane, o Seen) (*Belief, error) {
	st, err := standingOf(a.Spec, o.Conditions)
	if err != nil {
		return nil, err
	}
	if !(o.Prime >= 0 && o.Prime <= MostPrime) {
		return nil, fmt.Errorf("a prime of %g s cannot be simulated: use 0 to %g s", o.Prime, MostPrime)
	}
	logs := make([]float64, nodes)
	odds := s.at(st, o.Prime)
	for i, w := range b.weights {
		if w < 1e-14 { // it cannot come back, and is not worth the sums
			logs[i] = math.Inf(-1)
			continue
		}
		logs[i] = math.Log(w) + math.Log(odds.chances(grid[i]).of(o.Saw))
	}
	return weighed(b.Starts+1, logs), nil
}

// of is how likely the chances make what was seen, lapses counted in.
func (c Chances) of(saw Saw) float64 {
	var p float64
	switch saw {
	case SawStart:
		p = c.Start
	case SawWet:
		p = c.Flood
	case SawLittle:
		p = c.Little
	default:
		p = 1 - c.Start
	}
	return lapse/2 + (1-lapse)*min(1, max(0, p))
}

// Chances are what the belief expects of a start whose prime will be timed as so
// many seconds: the surrogate's, over all it thinks possible.
func (b *Belief) Chances(s *Surrogate, a *Aeroplane, c powerplant.Conditions, prime float64) (Chances, error) {
	st, err := standingOf(a.Spec, c)
	if err != nil {
		return Chances{}, err
	}
	var out Chances
	odds := s.at(st, prime)
	for i, w := range b.weights {
		if w < 1e-9 {
			continue
		}
		c := odds.chances(grid[i])
		out.Start += w * c.Start
		out.Flood += w * c.Flood
		out.Little += w * c.Little
	}
	return out, nil
}

// Trait is what is thought of one trait: a factor of the model's value.
type Trait struct {
	Name     string
	Mean, SD float64
}

// Traits are the belief's traits with their uncertainty.
func (b *Belief) Traits() []Trait {
	s := spread()
	out := []Trait{{Name: "prime flow"}, {Name: "transfer from the walls"}, {Name: "film on the walls"}}
	for k := range out {
		var mean, square float64
		for i, w := range b.weights {
			z := nodeAt(i)[k]
			mean += w * z
			square += w * z * z
		}
		out[k].Mean = 1 + s[k]*mean
		out[k].SD = s[k] * math.Sqrt(max(0, square-mean*mean))
	}
	return out
}

// draw picks an aeroplane that may be this one; the seed decides which.
func (b *Belief) draw(seed uint64) Traits {
	u := float64(seedOf(seed, drawStream)>>11) / (1 << 53)
	low, high := 0, len(b.sums)-1
	for low < high {
		if middle := (low + high) / 2; b.sums[middle] <= u {
			low = middle + 1
		} else {
			high = middle
		}
	}
	return traitsAt(nodeAt(low))
}

// drawStream keeps the choice of an aeroplane apart from the trial's own chance.
const drawStream = 0x64726177
