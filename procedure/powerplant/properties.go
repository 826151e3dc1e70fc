package powerplant

import "math"

// Every state is stepped every step. What the equations have for coefficients
// depends on temperatures that hardly move in a step, through exponentials and
// powers that would cost more than all the rest: those are worked out anew when
// the temperature they depend on has moved by staleKelvin, or the battery's charge
// by staleCharge. The vapour pressure of gasoline rises by about 4 % a kelvin, so
// that none is out by more than 0.1 %.
const (
	staleKelvin = 0.02
	staleCharge = 1e-4
)

// properties holds what follows from slow temperatures and from the levers.
type properties struct {
	portAt, lineAt, oilAt float64 // degC they were worked out at
	chargeAt              float64 // and state of charge

	vapourKPa     float64 // of the fuel at the ports, its light part
	heavyKPa      float64 // and its heavy part
	boiling       float64 // of the ambient pressure, at most 1
	evapLight     float64 // 1/s
	evapHeavy     float64
	perVapourMost float64 // 1/g that the induction volume can hold
	filmMost      float64 // g
	drainIn       float64
	dryRise       float64 // of the liquid that dries in the cylinders, what rises as vapour
	transferLight float64 // transfer units per charge at 150 rpm
	transferHeavy float64
	lineHot       float64 // how far the line is above boiling

	oilCSt    float64
	oilDrag   float64 // N m
	oilRelief float64 // kPa
	oilPump   float64 // kPa per rpm
	oilFill   float64 // 1/s per rpm

	batteryOhms float64 // full
	capacity    float64 // A h
	perCoulomb  float64 // of the capacity

	sweptAir      float64 // g per kPa in a cylinder
	breath        float64 // g/s per kPa per rad/s
	manifoldRate  float64 // kPa per g
	throttleFlow  float64 // g/s
	leverFlow     float64 // g/s of fuel that the throttle lever asks for
	pumping       float64 // N m per kPa
	ripple        float64 // N m per kPa, of twice the angle's sine
	propeller     float64 // N m s2, in this air
	frictionStill float64 // N m
	frictionTurn  float64 // N m s
	frictionSlow  float64 // N m per rpm, below 500 rpm
	perAmbient    float64 // 1/kPa

	perLine, perLineSpan, perLineHold, perPumpKPa, perPumpFull, perEngineSpeed float64 // one over their parameters
}

// properties works all of them out.
func (p *Plant) properties() {
	p.fixedProperties()
	p.portProperties()
	p.lineProperties()
	p.oilProperties()
	p.moveLoads()
	p.moveThrottle()
	p.moveMixture()
}

// refresh works those out whose temperature has moved.
func (p *Plant) refresh() {
	k := &p.slow
	if math.Abs(p.port-k.portAt) > p.stale {
		p.portProperties()
	}
	if math.Abs(p.lineTemp-k.lineAt) > p.stale {
		p.lineProperties()
	}
	if math.Abs(p.oil-k.oilAt) > p.stale {
		p.oilProperties()
	}
	if math.Abs(p.soc-k.chargeAt) > p.staleCharge {
		p.chargeProperties()
	}
}

// fixedProperties follow from the spec, the day and the faults alone.
func (p *Plant) fixedProperties() {
	s, k, oat := &p.spec, &p.slow, p.cond.OATCelsius
	k.batteryOhms = s.Battery.InternalOhms(1, oat)
	k.capacity = float64(s.Battery.AmpereHours * max(0.2, 1-float64(s.Battery.CapacityCold*max(0, 25-oat))))
	if p.fault.sulphated {
		k.capacity /= 4
	}
	k.perCoulomb = 1 / float64(k.capacity*3600)
	p.drainAt = math.NaN() // whatever it is, it is worked out anew
	k.pumping = float64(s.Engine.Displacement * 1000 / (4 * math.Pi))
	k.ripple = 2 * s.Engine.Ripple / seaLevelKPa
	k.propeller = float64(s.Engine.Propeller * AirDensity(p.ambientKPa, oat) / 1.225)
	k.frictionTurn = float64(s.Engine.FrictionSpeed * (30 / math.Pi / 1000))
	k.perAmbient = 1 / p.ambientKPa
	if p.injected {
		k.perLine, k.perLineSpan, k.perLineHold = 1/s.Supply.LineGrams, 1/s.Supply.LineSpan, 1/s.Supply.LineHold
		k.perPumpKPa, k.perPumpFull = 1/s.Supply.PumpKPa, 1/s.Supply.PumpFullVolt
		k.perEngineSpeed = 30 / math.Pi / s.Supply.EngineRPM
	}
}

// portProperties are what the ports' temperature makes of the fuel on them and
// of the air that passes them.
func (p *Plant) portProperties() {
	s, k := &p.spec, &p.slow
	k.portAt = p.port
	p.filmProperties()
	pv, ph := k.vapourKPa, k.heavyKPa
	k.transferLight = float64(s.Ports.Transfer*pv) / (1 + pv/s.Ports.TransferKPa)
	k.transferHeavy = float64(s.Ports.Transfer*ph) / (1 + ph/s.Ports.TransferKPa)

	e := &s.Engine
	air := p.ambientK + float64(s.Heat.ChargeShare*(p.port-p.cond.OATCelsius))
	k.sweptAir = float64(e.Displacement/4*1e6) / float64(airGas*air)
	k.breath = float64(e.BreathingRun*e.Displacement*1e6) / float64(4*math.Pi*airGas*air)
	k.manifoldRate = float64(airGas*air) / float64(s.Throttle.ManifoldVolume*1e6)
}

// filmProperties are those that a film needs while nothing turns.
func (p *Plant) filmProperties() {
	s, k := &p.spec, &p.slow
	pv := p.gasoline.at(p.port)
	ph := float64(s.Fuel.HeavyPortion * IsoOctaneVapourKPa(p.port))
	k.vapourKPa, k.heavyKPa = pv, ph
	k.dryRise = sat(pv / s.Cylinder.DryKPa)
	k.boiling = min(1, pv/p.ambientKPa)
	k.evapLight = float64(s.Ports.Evaporation * pv / p.ambientKPa)
	k.evapHeavy = float64(s.Ports.Evaporation * ph / p.ambientKPa)
	k.perVapourMost = float64(gasConstant*(p.port+celsius0)) / float64(s.Fuel.VapourMolar*s.Ports.Volume*1000*p.ambientKPa*k.boiling)
	k.filmMost = s.Ports.FilmGrams / (1 + pow(pv/s.Ports.FilmKPa, s.Ports.FilmPow))
	k.drainIn = s.Ports.DrainIn + float64(s.Ports.DrainInHot*(1-k.filmMost/s.Ports.FilmGrams))
}

// boilsFrom is below what any gasoline boils at in the air of 3000 m.
const boilsFrom = 40.0 // degC

// lineProperties follow from the temperature of the line, or of the bowl.
func (p *Plant) lineProperties() {
	p.slow.lineAt, p.slow.lineHot = p.lineTemp, 0
	if p.lineTemp > boilsFrom {
		p.slow.lineHot = max(0, p.gasoline.at(p.lineTemp)/p.ambientKPa-1)
	}
}

// oilProperties follow from the oil's temperature.
func (p *Plant) oilProperties() {
	e, o, k := &p.spec.Engine, &p.spec.Oil, &p.slow
	nu := p.oilLine.At(p.oil)
	k.oilAt, k.oilCSt = p.oil, nu
	k.oilDrag = float64(e.FrictionOil * pow(nu/100, e.FrictionOilPow))
	k.oilRelief = float64(o.ReliefKPa * (1 + float64(o.ReliefThick*nu)))
	k.oilPump = float64(o.PumpKPa * pow(nu/40, o.PumpPow))
	k.oilFill = 0.001 / (o.FillSeconds + float64(o.FillThick*math.Sqrt(nu/5000)))
	k.frictionStill = e.FrictionDry + k.oilDrag
	k.frictionSlow = float64(0.3 * k.oilDrag / 500)
}

// chargeProperties follow from the battery's charge, or are those of what is
// plugged in instead.
func (p *Plant) chargeProperties() {
	b := &p.spec.Battery
	p.slow.chargeAt = p.soc
	p.openVolts = b.OpenCircuitVolts(p.soc)
	p.sourceOhms = p.slow.batteryOhms / (0.25 + float64(0.75*p.soc))
	if p.fault.sulphated {
		p.sourceOhms *= 6
	}
	if p.controls.ExternalPower {
		p.openVolts, p.sourceOhms = float64(p.nominal()*7/6), b.Ohms/2
	}
}

// moveThrottle works out what follows from where the throttle's lever stands.
func (p *Plant) moveThrottle() {
	t, s := &p.spec.Throttle, &p.spec.Supply
	p.throttleOpen = p.controls.ThrottleMM / t.TravelMM
	area := t.LeakArea + float64(t.LinearArea*p.controls.ThrottleMM) + float64(t.FullArea*pow(p.throttleOpen, t.FullPow))
	p.slow.throttleFlow = float64(chokedFlow*area*p.ambientKPa*1e6) / math.Sqrt(float64(airGas*p.ambientK))
	p.slow.leverFlow = min(s.FlowMost, s.FlowClosed+float64(s.FlowPerMM*p.controls.ThrottleMM))
}

// moveMixture opens the valve as far as the mixture's lever, or a stuck linkage,
// has it.
func (p *Plant) moveMixture() {
	mix := p.controls.Mixture
	if p.fault.mixtureStuck {
		p.stuckAt = max(p.stuckAt, mix)
		mix = p.stuckAt
	}
	p.valve = sat((mix - p.spec.Supply.CutOff) / p.spec.Supply.ValveSpan)
}

// pace is how far each lag gets in one step: the step over the lag's time.
type pace struct {
	dt, perSecond float64 // s, and steps in a second

	fuelRise, fuelFall, gauge, lineWarm, drip, coldBoil float64
	bowlFill, bowlWarm, accelRefill, primerFill         float64
	vapourLeak, vapourSweep, dry, drain                 float64
	head, port, oilRunning, oilStopped                  float64
	winding, starterCase                                float64 // K per W
	oilGauge, oilDrain                                  float64
	spin                                                float64 // rad/s per N m
}

func paceOf(s *Spec, dt float64) pace {
	part := func(seconds float64) float64 {
		if seconds <= dt {
			return 1
		}
		return dt / seconds
	}
	return pace{
		dt: dt, perSecond: 1 / dt,
		fuelRise: part(s.Supply.RiseSeconds), fuelFall: part(s.Supply.FallSeconds), gauge: part(s.Supply.GaugeSeconds),
		lineWarm: part(s.Supply.LineWarm),
		drip:     part(s.Supply.DripSeconds), coldBoil: part(s.Fuel.ColdBoil),
		bowlFill: part(s.Carburettor.BowlFill), bowlWarm: part(s.Carburettor.BowlWarm),
		accelRefill: part(s.Carburettor.AccelRefill), primerFill: part(s.Carburettor.PrimerFill),
		vapourLeak: part(s.Ports.VapourSeconds), vapourSweep: float64(s.Ports.VapourSweep * dt),
		dry: part(s.Cylinder.DrySeconds), drain: part(s.Ports.DrainSeconds),
		head: part(s.Heat.HeadSeconds), port: part(s.Heat.PortSeconds),
		oilRunning: part(s.Heat.OilRunning), oilStopped: part(s.Heat.OilStopped),
		winding: dt / s.Starter.WindingHeat, starterCase: dt / s.Starter.CaseHeat,
		oilGauge: part(s.Oil.GaugeSecond), oilDrain: part(s.Oil.DrainSecond),
		spin: dt / s.Engine.Inertia,
	}
}
