package powerplant

import "math"

// ClassFCelsius is the temperature a winding of class F insulation may reach
// (IEC 60085). The starter's stays below it when its limits are kept.
const ClassFCelsius = 155.0

// properties holds what depends on slow temperatures only, worked out when they
// move and used until they move again.
type properties struct {
	vapourKPa     float64 // of the fuel at the ports
	boiling       float64 // of the ambient pressure, at most 1
	evapLight     float64 // 1/s
	evapHeavy     float64
	vapourMost    float64 // g the induction volume can hold
	filmMost      float64 // g
	drainIn       float64
	transferLight float64 // transfer units per charge at 150 rpm
	transferHeavy float64
	oilCSt        float64
	oilDrag       float64 // N m
	oilRelief     float64 // kPa
	oilPump       float64 // kPa per rpm
	oilFill       float64 // 1/s per rpm
	windingOhms   float64
	batteryOhms   float64 // full
	capacity      float64 // A h
	sweptAir      float64 // g per kPa in a cylinder
	breath        float64 // g/s per kPa per rad/s
	manifoldRate  float64 // kPa per g
	throttleFlow  float64 // g/s
	pumping       float64 // N m per kPa
	ripple        float64 // N m per kPa, of twice the angle's sine
	propeller     float64 // N m s2, in this air
	frictionStill float64 // N m
	frictionTurn  float64 // N m s
	frictionSlow  float64 // N m per rpm, below 500 rpm
	kick          float64 // rad/s per N m in a step
	perAmbient    float64 // 1/kPa
}

// fuelProperties works out what the ports' temperature makes of the fuel.
func (p *Plant) fuelProperties() {
	s, k := &p.spec, &p.slow
	pv := p.gasoline.at(p.port)
	ph := float64(s.Fuel.HeavyPortion * IsoOctaneVapourKPa(p.port))
	k.vapourKPa = pv
	k.boiling = min(1, pv/p.ambientKPa)
	k.evapLight = float64(s.Ports.Evaporation * pv / p.ambientKPa)
	k.evapHeavy = float64(s.Ports.Evaporation * ph / p.ambientKPa)
	k.vapourMost = float64(s.Fuel.VapourMolar*s.Ports.Volume*1000*p.ambientKPa*k.boiling) / float64(gasConstant*(p.port+celsius0))
	k.filmMost = s.Ports.FilmGrams / (1 + pow(pv/s.Ports.FilmKPa, s.Ports.FilmPow))
	k.drainIn = s.Ports.DrainIn + float64(s.Ports.DrainInHot*(1-k.filmMost/s.Ports.FilmGrams))
	k.transferLight = float64(s.Ports.Transfer*pv) / (1 + pv/s.Ports.TransferKPa)
	k.transferHeavy = float64(s.Ports.Transfer*ph) / (1 + ph/s.Ports.TransferKPa)
}

// properties works the slow properties out.
func (p *Plant) properties() {
	s, e, o, k := &p.spec, &p.spec.Engine, &p.spec.Oil, &p.slow
	p.fuelProperties()
	nu := p.oilLine.At(p.oil)
	k.oilCSt = nu
	k.oilDrag = float64(e.FrictionOil * pow(nu/100, e.FrictionOilPow))
	k.oilRelief = float64(o.ReliefKPa * (1 + float64(o.ReliefThick*nu)))
	k.oilPump = float64(o.PumpKPa * pow(nu/40, o.PumpPow))
	k.oilFill = 0.001 / (o.FillSeconds + float64(o.FillThick*math.Sqrt(nu/5000)))

	k.windingOhms = float64(s.Starter.Ohms * (1 + float64(s.Starter.OhmsPerK*(p.winding-20))))
	oat := p.cond.OATCelsius
	k.batteryOhms = s.Battery.InternalOhms(1, oat)
	k.capacity = float64(s.Battery.AmpereHours * max(0.2, 1-float64(s.Battery.CapacityCold*max(0, 25-oat))))
	if p.fault.sulphated {
		k.capacity /= 4
	}

	air := p.ambientK + float64(s.Heat.ChargeShare*(p.port-oat))
	k.sweptAir = float64(e.Displacement/4*1e6) / float64(airGas*air)
	k.breath = float64(e.BreathingRun*e.Displacement*1e6) / float64(4*math.Pi*airGas*air)
	k.manifoldRate = float64(airGas*air) / float64(s.Throttle.ManifoldVolume*1e6)
	k.pumping = float64(e.Displacement * 1000 / (4 * math.Pi))
	k.ripple = 2 * e.Ripple / seaLevelKPa
	k.propeller = float64(e.Propeller * AirDensity(p.ambientKPa, oat) / 1.225)
	k.frictionStill = e.FrictionDry + k.oilDrag
	k.frictionSlow = float64(0.3 * k.oilDrag / 500)
	k.frictionTurn = float64(e.FrictionSpeed * (30 / math.Pi / 1000))
	k.kick = p.dt / e.Inertia
	k.perAmbient = 1 / p.ambientKPa
	p.moveThrottle()
}

// stepHeat moves engine, oil and starter temperatures.
func (p *Plant) stepHeat(dt float64) {
	h, oat := &p.spec.Heat, p.cond.OATCelsius
	rpm := p.rpm()
	gain := 0.0
	if p.smoothed > 0.3 && rpm > 50 {
		gain = float64(h.HeadGain * p.airFlow * p.smoothed)
	}
	loss := float64((p.head-oat)*(1+float64(h.HeadFan*rpm))) / h.HeadSeconds
	target, oilTarget, oilSeconds := p.head, oat, h.OilStopped
	if rpm > 200 {
		target = oat + float64(h.PortRunning*(p.head-oat))
		oilTarget, oilSeconds = oat+float64(h.OilShare*(p.head-oat)), h.OilRunning
	}
	p.port += float64((target - p.port) * dt / h.PortSeconds)
	p.oil += float64((oilTarget - p.oil) * dt / oilSeconds)
	p.head += float64((gain - loss) * dt)

	if p.still {
		// The gases that helped the next charge to burn are gone in moments.
		p.smoothed -= float64(p.smoothed * min(1, dt/2))
	}

	s := &p.spec.Starter
	through := float64(s.WindingCool * (p.winding - p.starterCase) * dt)
	lost := float64(s.CaseCool * (p.starterCase - oat) * dt)
	p.winding += (p.windingIn - through) / s.WindingHeat
	p.starterCase += (p.caseIn + through - lost) / s.CaseHeat
	p.starterHeat.in += p.windingIn + p.caseIn
	p.starterHeat.lost += lost
	p.windingIn, p.caseIn = 0, 0
	if p.winding > s.BurnCelsius {
		p.burntOut = true
	}
}

// stepOil is the oil's way to the bearings, and what its absence does to them.
func (p *Plant) stepOil(dt float64) {
	o, k := &p.spec.Oil, &p.slow
	rpm := p.rpm()
	p.gallery += float64((float64(rpm*k.oilFill) - (1-sat(rpm/50))/o.DrainSecond) * dt)
	p.gallery = sat(p.gallery)
	want := 0.0
	if !p.fault.noOil {
		want = float64(min(k.oilRelief, float64(k.oilPump*rpm)) * sat((p.gallery-0.6)/0.4))
	}
	p.oilKPa += float64((want - p.oilKPa) * min(1, dt/o.GaugeSecond))
	e := &p.spec.Engine
	if rpm > 400 && want < e.BearingPressure {
		p.dry += dt
		if p.dry > 30 {
			p.wear = min(1, p.wear+dt/e.BearingSeconds)
		}
	} else {
		p.dry = 0
	}
}
