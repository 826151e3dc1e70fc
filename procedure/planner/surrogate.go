package planner

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"hash/fnv"
	"math"

	"kickover/procedure/powerplant"
)

// Surrogate answers without flying how likely a start is, for any conditions,
// prime and traits: two logistic regressions over the same terms. The first says
// how likely it is that the prime was too little; the second, how likely it
// floods when it was not. What is left starts.
//
// It speaks of a prime that was timed by a hand on a stopwatch, not of one that
// a hand still has to hold: a record says how long it was.
type Surrogate struct {
	Powerplant  string    `json:"powerplant"`
	Fingerprint string    `json:"fingerprint"` // of the parameters it was fitted to
	Trials      int       `json:"trials"`
	Seed        uint64    `json:"seed"`
	Little      []float64 `json:"little"` // coefficients of the terms
	Flood       []float64 `json:"flood"`
	LittleBend  []float64 `json:"little_bend"` // of the bends
	FloodBend   []float64 `json:"flood_bend"`
}

//go:embed surrogates/*.json
var surrogates embed.FS

// SurrogateFor finds the surrogate that was fitted to a powerplant. It is an
// error when there is none, or when the powerplant has changed since.
func SurrogateFor(spec powerplant.Spec) (*Surrogate, error) {
	data, err := surrogates.ReadFile("surrogates/" + spec.Name + ".json")
	if err != nil {
		return nil, fmt.Errorf("the engine %q has nothing to learn with: plans for it stay the model's", spec.Name)
	}
	s := new(Surrogate)
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(s); err != nil {
		return nil, fmt.Errorf("the surrogate of engine %q cannot be read: %w", spec.Name, err)
	}
	if len(s.Little) != termCount || len(s.Flood) != termCount ||
		len(s.LittleBend) != bendCount || len(s.FloodBend) != bendCount || s.Fingerprint != Fingerprint(spec) {
		return nil, fmt.Errorf("the engine %q has changed since its surrogate was fitted: run procedure/planner/fit again", spec.Name)
	}
	return s, nil
}

// Fingerprint changes when any parameter of a powerplant does.
func Fingerprint(spec powerplant.Spec) string {
	h := fnv.New64a()
	for _, p := range powerplant.Parameters(spec) {
		fmt.Fprintf(h, "%s=%g\n", p.Name, p.Value)
	}
	return fmt.Sprintf("%016x", h.Sum64())
}

// Chances are of what becomes of a start; they add up to one.
type Chances struct {
	Start, Flood, Little float64
}

// odds are the surrogate's two regressions for one start, as polynomials in the
// traits that are left open.
type odds struct {
	little, flood         traitTerms
	littleBend, floodBend [bendDegree]float64
}

// at fixes the conditions and the prime.
func (s *Surrogate) at(st standing, prime float64) odds {
	var o odds
	x := st.terms(prime)
	n := 0
	for i := range o.little {
		for _, v := range x[:paired[i]] {
			o.little[i] += float64(s.Little[n] * v)
			o.flood[i] += float64(s.Flood[n] * v)
			n++
		}
	}
	n = 0
	for i := range o.littleBend {
		for _, v := range st.bends() {
			o.littleBend[i] += float64(s.LittleBend[n] * v)
			o.floodBend[i] += float64(s.FloodBend[n] * v)
			n++
		}
	}
	return o
}

// chances fixes the traits too.
func (o *odds) chances(z *traitTerms) Chances {
	var l, f float64
	for i, v := range z {
		l += float64(o.little[i] * v)
		f += float64(o.flood[i] * v)
	}
	little := bent(l, &o.littleBend)
	flood := (1 - little) * bent(f, &o.floodBend)
	return Chances{Start: 1 - little - flood, Flood: flood, Little: little}
}

// A logistic curve rises as fast as it levels off, and an engine's does not. So
// each regression is bent by a second one: a cubic in its own log odds, whose
// coefficients go with how full and how warm the fuel stands.
const (
	bendDegree = 4
	bendCount  = bendDegree * 3
	bendWidest = 5.0 // log odds beyond this are as good as certain
)

func (st standing) bends() [3]float64 { return [3]float64{1, st.fill, st.port / 40} }

func bent(logOdds float64, c *[bendDegree]float64) float64 {
	x := max(-bendWidest, min(bendWidest, logOdds))
	return logistic(c[0] + float64(x*(c[1]+float64(x*(c[2]+float64(x*c[3]))))))
}

// bendRow is the list of terms that a bend is fitted to.
func (st standing) bendRow(logOdds float64) []float64 {
	x := max(-bendWidest, min(bendWidest, logOdds))
	var out []float64
	for p, power := 0, 1.0; p < bendDegree; p, power = p+1, power*x {
		for _, v := range st.bends() {
			out = append(out, power*v)
		}
	}
	return out
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// standing is how an engine stands before a start: what of its conditions a
// start depends on.
type standing struct {
	port, line, oat float64 // degC
	fill            float64 // of the fuel line, 0 to 1
	kpa             float64 // ambient
}

func standingOf(spec powerplant.Spec, c powerplant.Conditions) (standing, error) {
	p, err := powerplant.New(spec, c, 0)
	if err != nil {
		return standing{}, err
	}
	in := p.Inside()
	kpa, _ := powerplant.Atmosphere(c.PressureAltitudeM)
	return standing{
		port: in.PortC, line: in.LineC, fill: in.LineFill, oat: p.Conditions().OATCelsius,
		kpa: kpa,
	}, nil
}

// The regressions weigh every product to the third degree of the six numbers of
// a start and the three traits, and to the fourth where the edges bend most.
const (
	numbers    = 6
	startCount = 84 + 15                      // products of the numbers: to the third degree, and the fourth of three
	traitTermN = 20                           // products of the traits to the third degree
	termCount  = startCount + 3*28 + 6*7 + 10 // each with what keeps it to the third
)

type traitTerms [traitTermN]float64

// paired says how many products of a start's numbers, in order of their degree,
// go with each product of the traits.
var paired = [traitTermN]int{startCount, 28, 28, 28, 7, 7, 7, 7, 7, 7, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}

// terms are the products of the start's own numbers, lowest degree first.
func (st standing) terms(prime float64) [startCount]float64 {
	x := [numbers]float64{math.Log(prime + 0.3), st.port / 40, st.oat / 30, st.fill, (101.325 - st.kpa) / 30, st.line / 40}
	var t [startCount]float64
	n := products(t[:], x[:])
	bends := [3]float64{x[0], x[1], x[3]}
	for i := range 3 {
		for j := i; j < 3; j++ {
			for k := j; k < 3; k++ {
				for l := k; l < 3; l++ {
					t[n] = float64(bends[i] * bends[j] * bends[k] * bends[l])
					n++
				}
			}
		}
	}
	return t
}

// termsOf are the products of the traits, so many standard deviations from the
// model's.
func termsOf(z [traitCount]float64) *traitTerms {
	var t traitTerms
	x := [traitCount]float64{z[0] / 2, z[1] / 2, z[2] / 2}
	products(t[:], x[:])
	return &t
}

// products fills in one, each number, each product of two and of three,
// and tells how many there are.
func products(into, x []float64) int {
	into[0] = 1
	n := 1
	put := func(v float64) { into[n] = v; n++ }
	for _, a := range x {
		put(a)
	}
	for i, a := range x {
		for _, b := range x[i:] {
			put(float64(a * b))
		}
	}
	for i, a := range x {
		for j, b := range x[i:] {
			for _, c := range x[i+j:] {
				put(float64(a * b * c))
			}
		}
	}
	return n
}

// row is the whole list of terms, as the regressions are fitted to it.
func (st standing) row(prime float64, z [traitCount]float64) []float64 {
	x, t := st.terms(prime), termsOf(z)
	out := make([]float64, 0, termCount)
	for i, v := range t {
		for _, w := range x[:paired[i]] {
			out = append(out, float64(v*w))
		}
	}
	return out
}
