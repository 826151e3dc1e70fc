package powerplant

import (
	"errors"
	"math"
	"math/rand/v2"
	"time"
)

// StepSize is the simulated time that one [Plant.Step] advances.
const StepSize = 2 * time.Millisecond

// Plant is one simulated powerplant. Its owner is whoever steps it.
type Plant struct {
	spec        Spec
	injected    bool       // spec.FuelSystem
	cond        Conditions // defaults filled in
	controls    Controls
	fault       faults
	rng         rand.PCG
	pace        pace
	stale       float64 // K
	staleCharge float64
	steps       int64
	still       bool // nothing turns: crank and manifold may be left alone

	// Crank, manifold and ignition.
	speed      float64 // rad/s
	angle      float64 // rad, 0..pi from one compression to the next
	manifold   float64 // kPa
	airFlow    float64 // g/s past the throttle
	work       float64 // J of the power stroke under way
	halfTurns  int64
	firings    int64
	lastFiring int64 // step of the last charge that fired
	charges    [2]charge
	burns      bool // the latest charge lit
	latest     charge
	smoothed   float64 // firing fraction F

	// Fuel.
	fuelKPa              float64
	fuelFlow, shownFlow  float64 // g/s out of the nozzles, and on the gauge
	valve                float64 // 0..1 open
	stuckAt              float64 // lever travel where a stuck linkage holds the valve
	line, bowl           float64 // g
	barrel, accel        float64 // g in the primer and in the accelerator pump
	slug                 float64 // g of fuel that must pass before the line is free of vapour
	gulp, gulpLeft       float64 // of the fuel that one slug lets through, and s until the next
	filmLight, filmHeavy float64
	airLight, airHeavy   float64 // in the air on its way in
	vapour, wet          float64
	puddle, blaze        float64
	blazed               float64 // s at full size
	audit                audit
	lastThrottle         float64

	// Electrics and starter.
	soc                     float64
	drainAt, drain          float64 // A, and of the charge in a step
	openVolts               float64
	sourceOhms              float64
	aux                     float64 // A
	charging                float64 // A into the battery
	online                  bool    // alternator
	peukert, perPeukertAt   float64 // factor, and one over the current in A it was worked out at
	motorAmps               float64
	motorWork               float64 // N m
	windingWatts, caseWatts float64 // into the starter
	energised               bool    // contactor closed
	engaged                 bool    // pinion in mesh
	relayRest               float64 // s until the contactor may pull again
	sagged                  float64 // s that the volts have been too low to hold it
	winding, starterCase    float64
	starterHeat             heatAudit
	burntOut                bool

	// Oil.
	gallery float64 // galleries filled, 0..1
	oilKPa  float64
	dry     float64 // s running without oil pressure
	wear    float64 // 1 seizes

	// Temperatures, and what follows from them.
	head, port, oil, lineTemp float64
	slow                      properties
	ambientKPa, ambientK      float64
	throttleOpen              float64
	gasoline                  clausius
	oilLine                   Walther
	reel                      [2]float64 // vapour lost per intake, below 300 rpm and above
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
		rng:  *rand.NewPCG(seed, 0x6b69636b6f766572),

		injected:    spec.FuelSystem == Injected,
		pace:        paceOf(&spec, dt),
		stale:       staleKelvin,
		staleCharge: staleCharge,

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
	p.fixedProperties()
	p.soak(p.cond.SinceShutdown)
	p.preheat(p.cond.Preheat)
	p.properties()
	for _, f := range withFaults {
		if err := p.Inject(f); err != nil {
			return nil, err
		}
	}
	p.audit = audit{held0: p.held()}
	return p, nil
}

// SetControls puts every control where the hands have it now. What is out of a
// control's travel is put at its end.
func (p *Plant) SetControls(c Controls) {
	c = c.sane(&p.spec)
	throttle, mixture := c.ThrottleMM != p.controls.ThrottleMM, c.Mixture != p.controls.Mixture
	switched := c.Battery != p.controls.Battery || c.ExternalPower != p.controls.ExternalPower || c.BoostPump != p.controls.BoostPump
	p.controls = c
	if switched {
		p.moveLoads()
	}
	if throttle {
		p.moveThrottle()
	}
	if mixture {
		p.moveMixture()
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
	return time.Duration(math.Round(float64(steps) * p.pace.dt * 1e9))
}

// Advance steps until at least d has passed.
func (p *Plant) Advance(d time.Duration) { p.advanceTo(p.steps + p.stepsIn(d)) }

func (p *Plant) stepsIn(d time.Duration) int64 {
	return int64(math.Ceil(d.Seconds()/p.pace.dt - 1e-9))
}

func (p *Plant) advanceTo(step int64) {
	for p.steps < step {
		p.Step()
	}
}

// Step advances every state by StepSize.
func (p *Plant) Step() {
	p.steps++
	if !p.still {
		p.turn()
	}
	a := &p.pace
	p.stepElectrics(a.dt)
	p.stepFuel(a)
	p.stepOil(a)
	if p.puddle > 0 || p.blaze > 0 {
		p.stepBlaze(a.dt)
	}
	p.stepHeat(a)
	p.stepStarterHeat(a)
	p.refresh()
}

// random is the next number from 0 to 1 of the seeded generator.
func (p *Plant) random() float64 { return float64(p.rng.Uint64()>>11) / (1 << 53) }

// rpm is the crankshaft's speed, whichever way it turns.
func (p *Plant) rpm() float64 { return float64(math.Abs(p.speed) * (30 / math.Pi)) }
