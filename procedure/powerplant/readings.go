package powerplant

import (
	"math"
	"time"
)

// DripsFrom is how much spilt fuel, in g, shows as drips below the cowling.
const DripsFrom = 0.5

// Readings is what the gauges show. Where the instrument is electrically dead
// it is not a number. The tachometer, the oil pressure and the fuel pressure
// gauge need no electricity; the others do.
type Readings struct {
	BusVolts        float64
	Amperes         float64 // of the battery: + charge, - discharge
	FuelFlowGPS     float64 // g/s, with the gauge's lag
	FuelPressureKPa float64
	RPM             float64
	OilPressureKPa  float64
	CylinderHeadC   float64
	OilC            float64
	StarterLight    bool // the starter's contactor is closed
	Smoke           bool // smoke or flame at the cowling, for whoever looks
	Drips           bool // fuel drips below the cowling
}

// Readings reads the gauges.
func (p *Plant) Readings() Readings {
	r := Readings{
		FuelPressureKPa: p.fuelKPa,
		RPM:             p.rpm(),
		OilPressureKPa:  p.oilKPa,
		Smoke:           p.blaze > 0.15 || p.burntOut && p.winding > p.spec.Starter.BurnCelsius-40,
		Drips:           p.puddle > DripsFrom,
	}
	nan := math.NaN()
	r.BusVolts, r.Amperes, r.FuelFlowGPS, r.CylinderHeadC, r.OilC = nan, nan, nan, nan, nan
	if !p.powered() {
		return r
	}
	r.BusVolts = p.busVolts()
	r.Amperes = p.batteryAmps()
	r.StarterLight = p.energised
	if r.BusVolts > float64(0.4*p.nominal()) {
		r.FuelFlowGPS, r.CylinderHeadC, r.OilC = p.shownFlow, p.head, p.oil
	}
	return r
}

// Inside is what nobody in the seat can see.
type Inside struct {
	// The latest charge that came up for its spark.
	ChargeFraction float64 // vapour by volume; NaN before the first
	ChargeFired    bool
	ChargeAirG     float64
	// NowFraction is what a charge drawn in this moment would hold.
	NowFraction          float64
	LeanLimit, RichLimit float64 // the band that burns
	FireChance           float64 // of a charge like NowFraction, sparks given
	Firing               float64 // smoothed firing fraction F, 0..1

	FilmLightG, FilmHeavyG float64 // on the walls of the ports
	FilmMostG              float64 // all they can hold
	VapourG                float64 // lying in the induction
	WetG                   float64 // liquid in the cylinders
	PlugsWet               float64 // chance lost to wet plugs, 0..1
	PuddleG                float64 // spilt in the induction
	LineFill               float64 // 0..1; the carburettor's bowl if that is what it has
	NozzleFlowGPS          float64 // without the gauge's lag
	ValveOpen              float64 // mixture valve, 0..1

	FuelInG, FuelBurntG, FuelOverboardG, FuelHeldG, FuelHeldAtStartG float64

	PortC, LineC           float64
	ManifoldKPa            float64
	AirFlowGPS             float64
	BatteryCharge          float64 // 0..1
	StarterEngaged         bool    // pinion in mesh
	StarterAmps            float64
	StarterTorqueNM        float64
	WindingC, StarterCaseC float64
	StarterBurntOut        bool
	OilCSt                 float64
	Sparks                 int     // magnetos that spark now
	Fire                   float64 // in the induction, 0..1
	FireOutOfHand          bool    // cranking no longer helps
	BearingWear            float64 // 1 is seized
	StarterWelded          bool

	CrankAngle float64       // 0..1 of a half revolution, from one compression to the next
	HalfTurns  int64         // half revolutions so far: one intake and one power stroke each
	Firings    int64         // charges that fired so far
	LastFiring time.Duration // when the last one fired; negative before the first
	WorkJoules float64       // of the power stroke under way
	SpeedRadPS float64       // signed
}

// Inside looks where nobody in the seat can.
func (p *Plant) Inside() Inside {
	now := p.draw(max(120, p.rpm()))
	in := Inside{
		ChargeFraction: math.NaN(),
		ChargeFired:    p.burns,
		ChargeAirG:     p.latest.air,
		NowFraction:    now.fraction,
		LeanLimit:      p.spec.Fuel.LeanLimit,
		RichLimit:      p.spec.Fuel.RichLimit,
		FireChance:     p.chance(now.fraction),
		Firing:         p.smoothed,

		FilmLightG: p.filmLight, FilmHeavyG: p.filmHeavy, FilmMostG: p.slow.filmMost,
		VapourG: p.vapour, WetG: p.wet, PuddleG: p.puddle,
		NozzleFlowGPS: p.fuelFlow, ValveOpen: p.valve,

		FuelInG: p.audit.in, FuelBurntG: p.audit.burnt, FuelOverboardG: p.audit.overboard,
		FuelHeldG: p.held(), FuelHeldAtStartG: p.audit.held0,

		PortC: p.port, LineC: p.lineTemp,
		ManifoldKPa: p.manifold, AirFlowGPS: p.airFlow,
		BatteryCharge:  p.soc,
		StarterEngaged: p.engaged, StarterAmps: p.motorAmps, StarterTorqueNM: p.motorWork,
		WindingC: p.winding, StarterCaseC: p.starterCase, StarterBurntOut: p.burntOut,
		OilCSt: p.slow.oilCSt, Sparks: p.sparking(),
		Fire: p.blaze, FireOutOfHand: p.blazed >= p.spec.Fire.TimeToSpread,
		BearingWear: p.wear, StarterWelded: p.fault.welded,

		CrankAngle: p.angle / math.Pi, HalfTurns: p.halfTurns, Firings: p.firings,
		LastFiring: -1, WorkJoules: p.work, SpeedRadPS: p.speed,
	}
	in.PlugsWet = p.plugsWet()
	if p.latest.air > 0 {
		in.ChargeFraction = p.latest.fraction
	}
	if p.lastFiring >= 0 {
		in.LastFiring = p.time(p.lastFiring)
	}
	in.LineFill = p.fuelHere()
	return in
}

// fuelHere is how full the line, or the carburettor's bowl, is.
func (p *Plant) fuelHere() float64 {
	if p.injected {
		return p.line / p.spec.Supply.LineGrams
	}
	return p.bowl / p.spec.Fuel.BowlGrams
}
