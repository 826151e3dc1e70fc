package powerplant

import (
	"errors"
	"math"
	"math/rand/v2"
	"time"
)

// StepSize is the simulated time that one [Plant.Step] advances.
const StepSize = 2 * time.Millisecond

// The states change at three speeds, and each is stepped as fast as it needs:
// crank, manifold and starter current every step; fuel, film, electrics and oil
// pressure every fuelEvery seconds and at every intake; temperatures, and all
// that follows from them, every slowEvery seconds.
const (
	fuelEvery = 0.016
	slowEvery = 0.512
)

// Plant is one simulated powerplant. Its owner is whoever steps it.
type Plant struct {
	spec     Spec
	cond     Conditions // defaults filled in
	controls Controls
	fault    faults
	rng      *rand.PCG
	dt       float64 // s
	steps    int64

	fuelSteps, slowSteps int // steps between
	sinceFuel, sinceSlow int // steps since the last

	// Crank, manifold and starter, every step.
	speed      float64 // rad/s
	angle      float64 // rad, 0..pi from one compression to the next
	manifold   float64 // kPa
	airFlow    float64 // g/s past the throttle
	motorAmps  float64
	motorWork  float64 // N m
	windingIn  float64 // J since the winding's last step
	caseIn     float64 // J
	work       float64 // J of the power stroke under way
	still      bool    // nothing turns: the fast states may be left alone
	energised  bool    // contactor closed
	engaged    bool    // pinion in mesh
	relayRest  float64 // s until the contactor may pull again
	halfTurns  int64
	firings    int64
	lastFiring int64 // step of the last charge that fired
	charges    [2]charge
	burns      bool // the latest charge lit
	latest     charge
	smoothed   float64 // firing fraction F

	// Fuel, every fuelEvery.
	fuelKPa              float64
	fuelFlow, shownFlow  float64 // g/s out of the nozzles, and on the gauge
	valve                float64 // 0..1 open
	stuckAt              float64 // lever travel where a stuck linkage holds the valve
	line, bowl           float64 // g
	barrel, accel        float64 // g in the primer and in the accelerator pump
	slug                 float64 // g of fuel that must pass before the line is free of vapour
	filmLight, filmHeavy float64
	airLight, airHeavy   float64 // in the air on its way in
	vapour, wet          float64
	puddle, blaze        float64
	blazed               float64 // s at full size
	audit                audit
	lastThrottle         float64

	// Electrics and oil, every fuelEvery.
	soc                float64
	openVolts          float64
	sourceOhms         float64
	aux                float64 // A
	charging           float64 // A into the battery
	online             bool    // alternator
	peukert, peukertAt float64 // factor, and the current in A it was worked out at
	gallery            float64 // oil galleries filled, 0..1
	oilKPa             float64
	dry                float64 // s running without oil pressure
	wear               float64 // 1 seizes

	// Temperatures, every slowEvery.
	head, port, oil, lineTemp  float64
	winding, starterCase       float64
	starterHeat                heatAudit
	burntOut                   bool
	slow                       properties
	ambientKPa, ambientK       float64
	throttleArea, throttleOpen float64
	gasoline                   clausius
	oilLine                    Walther
	reel                       [2]float64 // vapour lost per intake, below 300 rpm and above
}

// charge is what one cylinder drew in.
type charge struct {
	air, vapour, drops float64 // g; drops go out unburnt or burn, but do not light
	fraction           float64 // vapour by volume
}

// audit follows the fuel: held0 + in = burnt + overboard + held.
type audit struct{ held0, in, burnt, overboard float64 }

// heatAudit follows the starter's heat in J.
type heatAudit struct{ in, lost float64 }

// New makes a powerplant as the pilot finds it: all switches off. The seed
// decides which marginal charges fire. Conditions and spec are checked.
func New(spec Spec, cond Conditions, seed uint64, withFaults ...Fault) (*Plant, error) {
	return newPlant(spec, cond, seed, StepSize.Seconds(), withFaults)
}

func newPlant(spec Spec, cond Conditions, seed uint64, dt float64, withFaults []Fault) (*Plant, error) {
	if err := errors.Join(spec.Validate(), cond.Validate()); err != nil {
		return nil, err
	}
	p := &Plant{
		spec: spec,
		cond: cond.withDefaults(&spec),
		rng:  rand.NewPCG(seed, 0x6b69636b6f766572),
		dt:   dt,

		fuelSteps: max(1, int(math.Round(fuelEvery/dt))),
		slowSteps: max(1, int(math.Round(slowEvery/dt))),

		angle:      math.Pi / 2,
		lastFiring: -1,
		stuckAt:    -1,
		still:      true,
	}
	at40, at100, _ := p.cond.OilGrade.Viscosities()
	p.oilLine = WaltherThrough(40, at40, 100, at100)
	p.gasoline = gasolineCurve(spec.Fuel.ReidKPa, spec.Fuel.Slope)
	p.ambientKPa, _ = Atmosphere(p.cond.PressureAltitudeM)
	p.ambientK = p.cond.OATCelsius + celsius0
	p.manifold = p.ambientKPa
	swept := spec.Engine.Displacement / 4 / spec.Ports.Volume
	p.reel = [2]float64{1 - exp(-float64(spec.Engine.BreathingCrank*swept)), 1 - exp(-float64(spec.Engine.BreathingRun*swept))}
	p.soc = p.cond.BatteryCharge
	p.winding, p.starterCase = p.cond.OATCelsius, p.cond.OATCelsius
	p.accel = spec.Carburettor.AccelGrams
	p.moveThrottle()
	p.soak(p.cond.SinceShutdown)
	p.preheat(p.cond.Preheat)
	p.properties()
	for _, f := range withFaults {
		if err := p.Inject(f); err != nil {
			return nil, err
		}
	}
	p.audit = audit{held0: p.held()}
	p.stepElectrics(0)
	return p, nil
}

// SetControls puts every control where the hands have it now. What is out of a
// control's travel is put at its end.
func (p *Plant) SetControls(c Controls) {
	c = c.sane(&p.spec)
	moved := c.ThrottleMM != p.controls.ThrottleMM
	p.controls = c
	if moved {
		p.moveThrottle()
	}
}

// Controls tells where the controls stand.
func (p *Plant) Controls() Controls { return p.controls }

// Spec is what the powerplant was made from.
func (p *Plant) Spec() Spec { return p.spec }

// Conditions are what it was made with, defaults filled in.
func (p *Plant) Conditions() Conditions { return p.cond }

// Elapsed is the simulated time since it was made.
func (p *Plant) Elapsed() time.Duration { return p.time(p.steps) }

func (p *Plant) time(steps int64) time.Duration {
	return time.Duration(math.Round(float64(steps) * p.dt * 1e9))
}

// Advance steps until at least d has passed.
func (p *Plant) Advance(d time.Duration) {
	for end := p.steps + int64(math.Ceil(d.Seconds()/p.dt-1e-9)); p.steps < end; {
		p.Step()
	}
}

// Step advances by StepSize.
func (p *Plant) Step() {
	p.steps++
	p.sinceFuel++
	p.sinceSlow++
	if !p.still {
		p.turn()
	}
	if p.sinceFuel >= p.fuelSteps {
		p.catchUp()
	}
	if p.sinceSlow >= p.slowSteps {
		dt := float64(float64(p.sinceSlow) * p.dt)
		p.sinceSlow = 0
		p.stepHeat(dt)
		p.properties()
	}
}

// catchUp brings fuel, electrics and oil up to now. It also runs before every
// intake, so that a charge finds exactly the fuel that has flowed.
func (p *Plant) catchUp() {
	if p.sinceFuel == 0 {
		return
	}
	dt := float64(float64(p.sinceFuel) * p.dt)
	p.sinceFuel = 0
	p.stepElectrics(dt)
	p.stepFuel(dt)
	p.stepOil(dt)
	p.stepBlaze(dt)
	if p.still && (p.energised || p.ambientKPa-p.manifold > 0.001) {
		p.still = false
	}
}

// random is the next number from 0 to 1 of the seeded generator.
func (p *Plant) random() float64 { return float64(p.rng.Uint64()>>11) / (1 << 53) }

// rpm is the crankshaft's speed, whichever way it turns.
func (p *Plant) rpm() float64 { return float64(math.Abs(p.speed) * (30 / math.Pi)) }
