package powerplant

import (
	"math/rand/v2"
	"time"
)

// Method is the way a simulated pilot goes about a start.
type Method string

// The methods.
const (
	PrimeAndCrank Method = "prime"    // prime, then crank; a second try cranks again without more
	Patience      Method = "patience" // flooded: no prime, mixture at cut-off, throttle at the start mark
	OpenThrottle  Method = "air"      // flooded: no prime, mixture at cut-off, throttle half open
)

// Technique is what a simulated pilot does. The zero value of a field other
// than Prime, Strokes, Overprime and Overstrokes means what [StandardTechnique] has there.
type Technique struct {
	Method       Method
	Prime        time.Duration // mixture forward, injected engines
	Strokes      int           // of the hand primer, carburetted engines
	Overprime    time.Duration // before it all: the prime and vain crank of somebody who flooded it
	Overstrokes  int           // the same with a hand primer
	PrimeMM      float64       // throttle while priming
	StartMM      float64       // throttle while cranking
	ClearMM      float64       // throttle while cranking by OpenThrottle
	MixtureDelay time.Duration // from firing until the mixture is forward
	ReleaseDelay time.Duration // from firing until the starter is released
	Wait         time.Duration // from the prime to the starter
	Crank        time.Duration // longest engagement
	Rest         time.Duration // between attempts, and before the first when flooded
	Attempts     int
	RunOn        time.Duration // how long it must run to count
	// UntilSure ends the start as soon as it is plain how it ends, long before
	// RunOn is over. The outcome is the same but for its times and rpm.
	UntilSure bool
}

// StandardTechnique is the flow's own way to start an engine with a prime.
func StandardTechnique(spec Spec, prime time.Duration) Technique {
	t := Technique{
		Method: PrimeAndCrank, Prime: prime,
		PrimeMM: 28, StartMM: 9, ClearMM: spec.Throttle.TravelMM / 2,
		MixtureDelay: 1200 * time.Millisecond, ReleaseDelay: time.Second,
		Wait: 5500 * time.Millisecond, Crank: 5 * time.Second, Rest: 60 * time.Second,
		Attempts: 1, RunOn: 8 * time.Second,
	}
	if spec.FuelSystem == Carburetted {
		t.Prime = 0
		t.PrimeMM, t.StartMM = 6, 6
	}
	return t
}

// withDefaults fills in what zero stands for.
func (t Technique) withDefaults(spec Spec) Technique {
	d := StandardTechnique(spec, t.Prime)
	fill := func(v *time.Duration, or time.Duration) {
		if *v == 0 {
			*v = or
		}
	}
	if t.Method == "" {
		t.Method = d.Method
	}
	for _, f := range []struct {
		v  *float64
		or float64
	}{{&t.PrimeMM, d.PrimeMM}, {&t.StartMM, d.StartMM}, {&t.ClearMM, d.ClearMM}} {
		if *f.v == 0 {
			*f.v = f.or
		}
	}
	fill(&t.MixtureDelay, d.MixtureDelay)
	fill(&t.ReleaseDelay, d.ReleaseDelay)
	fill(&t.Wait, d.Wait)
	fill(&t.Crank, d.Crank)
	fill(&t.Rest, d.Rest)
	fill(&t.RunOn, d.RunOn)
	if t.Attempts < 1 {
		t.Attempts = d.Attempts
	}
	return t
}

// Scatter is how much pilots and aeroplanes differ, one standard deviation
// each; factors are relative. The zero value scatters nothing.
type Scatter struct {
	Prime        float64 // s
	PrimeMM      float64
	StartMM      float64
	MixtureDelay float64 // s
	WaitFrom     float64 // s, uniform between these two when WaitTo is above 0
	WaitTo       float64
	ReidFrom     float64 // kPa, uniform between these two when ReidTo is above 0
	ReidTo       float64
	Flow         float64 // of the prime flow
	Transfer     float64 // of the film's transfer to the air
	Film         float64 // of what the ports hold
	Wetting      float64 // of the share of fuel that wets the wall
	Nozzles      float64 // of each nozzle
	Charge       float64 // of the battery, in state of charge
	Celsius      float64 // K of the outside air
}

// UsualScatter is an ordinary pilot in an ordinary aeroplane: estimates, no source.
func UsualScatter() Scatter {
	return Scatter{
		Prime: 0.3, PrimeMM: 2, StartMM: 1.2, MixtureDelay: 0.4, WaitFrom: 3, WaitTo: 8,
		ReidFrom: 38, ReidTo: 49, Flow: 0.08, Transfer: 0.12, Film: 0.10, Wetting: 0.15,
		Nozzles: 0.08, Charge: 0.06, Celsius: 2,
	}
}

// Reason says why an engine did or did not start.
type Reason string

// The reasons.
const (
	ReasonStarted  Reason = "started"
	ReasonLean     Reason = "too little vapour in the cylinders"
	ReasonRich     Reason = "too much vapour in the cylinders"
	ReasonWet      Reason = "liquid fuel in the cylinders and on the plugs"
	ReasonDied     Reason = "it fired and died: the fuel came too late"
	ReasonDiedRich Reason = "it fired and died too rich"
	ReasonNoCrank  Reason = "the starter did not turn it"
	ReasonNoSpark  Reason = "no spark"
	ReasonChance   Reason = "the mixture was at the edge of what burns"
)

// Outcome is what became of a trial.
type Outcome struct {
	Started    bool
	Flooded    bool // it did not start, and rich or wet is why
	Reason     Reason
	Attempts   int
	Fired      bool          // it fired at all
	ToFire     time.Duration // from engaging the starter to firing, last attempt
	Cranked    time.Duration // starter engaged, all attempts
	Took       time.Duration // from the first touch to running, or to giving up
	Fraction   float64       // mean vapour fraction of the charges of the last attempt
	WetG       float64       // in the cylinders at the end of the last attempt
	PeakC      float64       // hottest the starter's winding got
	SettledRPM float64       // at the end, when it started
}

// Trial flies one start: a plant of this spec in these conditions, both
// scattered, and a pilot of this technique. The seed decides everything left
// open. It is a pure function and safe to call from many goroutines.
func Trial(spec Spec, cond Conditions, technique Technique, scatter Scatter, seed uint64) (Outcome, error) {
	s, err := NewSeries(spec, cond, technique, scatter, seed)
	if err != nil {
		return Outcome{}, err
	}
	return s.Fly(technique.Prime, technique.Strokes), nil
}

// Series is one seeded trial of which only the prime is open: the same plant, the
// same fuel, the same hands, for each prime that is tried. What goes before the
// prime, and what shorter primes have in common with longer ones, is flown once.
// A Series belongs to one caller at a time.
type Series struct {
	ready, primed flight // before the prime, and with as much of it as was flown
	readyPlant    Plant
	primedPlant   Plant
	late          time.Duration // that this hand's prime is too long
	technique     Technique
	primedFor     time.Duration
	primedStrokes int
}

// NewSeries scatters a plant and a pilot, and flies as far as the prime.
func NewSeries(spec Spec, cond Conditions, technique Technique, scatter Scatter, seed uint64) (*Series, error) {
	dice := dice{rand.NewPCG(seed, 0x747269616c)}
	s := &Series{technique: technique.withDefaults(spec)}
	cond = cond.withDefaults(&spec)
	scatter.plant(&spec, &cond, dice)
	s.late = scatter.hands(&s.technique, dice)
	p, err := New(spec, cond, seed)
	if err != nil {
		return nil, err
	}
	f := newFlight(p, s.technique)
	if s.technique.Method == PrimeAndCrank {
		f.reachForPrime()
	}
	s.ready, s.readyPlant = *f, *p
	s.rewind()
	return s, nil
}

func (s *Series) rewind() {
	s.primed, s.primedPlant = s.ready, s.readyPlant
	s.primed.p = &s.primedPlant
	s.primedFor, s.primedStrokes = 0, 0
}

// Fly flies the start with a prime, in the order that the caller likes; rising
// primes are the quickest.
func (s *Series) Fly(prime time.Duration, strokes int) Outcome {
	if prime > 0 {
		prime = max(0, prime+s.late)
	}
	if s.technique.Method == PrimeAndCrank {
		if prime < s.primedFor || strokes < s.primedStrokes {
			s.rewind()
		}
		s.primed.primeTo(prime, strokes)
		s.primedFor, s.primedStrokes = prime, strokes
	}
	p, f := s.primedPlant, s.primed
	f.p = &p
	return f.start()
}

// dice draws scatter from a seeded generator.
type dice struct{ pcg *rand.PCG }

func (d dice) uniform() float64 { return float64(d.pcg.Uint64()>>11) / (1 << 53) }

// normal is a sum of twelve uniform numbers: near enough a normal deviate, with
// no tail beyond 6, and the same on every machine.
func (d dice) normal() float64 {
	sum := -6.0
	for range 12 {
		sum += d.uniform()
	}
	return sum
}

func (d dice) factor(sigma float64) float64 { return max(0.3, 1+float64(sigma*d.normal())) }

func (d dice) between(from, to float64) float64 { return from + float64((to-from)*d.uniform()) }

func (s Scatter) plant(spec *Spec, cond *Conditions, d dice) {
	if s.ReidTo > 0 {
		spec.Fuel.ReidKPa = d.between(s.ReidFrom, s.ReidTo)
	}
	flow := d.factor(s.Flow)
	spec.Supply.FlowClosed *= flow
	spec.Supply.FlowPerMM *= flow
	spec.Carburettor.PrimerGrams *= flow
	spec.Carburettor.Rich *= (1 + flow) / 2
	spec.Ports.Transfer *= d.factor(s.Transfer)
	spec.Ports.FilmGrams *= d.factor(s.Film)
	spec.Ports.WallTurning = sat(spec.Ports.WallTurning * d.factor(s.Wetting))
	for i := range spec.Ports.Nozzles {
		spec.Ports.Nozzles[i] *= d.factor(s.Nozzles)
	}
	cond.BatteryCharge = min(1, max(0.02, cond.BatteryCharge+float64(s.Charge*d.normal())))
	cond.OATCelsius = min(MaxOAT, max(MinOAT, cond.OATCelsius+float64(s.Celsius*d.normal())))
}

// hands scatters all that hands do but the prime, and tells how much too long
// this one's is.
func (s Scatter) hands(t *Technique, d dice) (late time.Duration) {
	seconds := func(sigma float64) time.Duration { return time.Duration(float64(sigma*d.normal()) * 1e9) }
	late = seconds(s.Prime)
	t.PrimeMM = max(0, t.PrimeMM+float64(s.PrimeMM*d.normal()))
	t.StartMM = max(0, t.StartMM+float64(s.StartMM*d.normal()))
	t.MixtureDelay = max(200*time.Millisecond, t.MixtureDelay+seconds(s.MixtureDelay))
	if s.WaitTo > 0 {
		t.Wait = time.Duration(d.between(s.WaitFrom, s.WaitTo) * 1e9)
	}
	return late
}
