package powerplant

// ClassFCelsius is the temperature a winding of class F insulation may reach
// (IEC 60085). The starter's stays below it when its limits are kept.
const ClassFCelsius = 155.0

// stepHeat moves engine and oil temperatures.
func (p *Plant) stepHeat(a *pace) {
	h, oat := &p.spec.Heat, p.cond.OATCelsius
	rpm := p.rpm()
	target, oilTarget, oilPart := p.head, oat, a.oilStopped
	if rpm > 200 {
		target = oat + float64(h.PortRunning*(p.head-oat))
		oilTarget, oilPart = oat+float64(h.OilShare*(p.head-oat)), a.oilRunning
	}
	p.port += float64((target - p.port) * a.port)
	p.oil += float64((oilTarget - p.oil) * oilPart)
	p.head -= float64((p.head - oat) * (1 + float64(h.HeadFan*rpm)) * a.head)
	if p.smoothed > 0.3 && rpm > 50 {
		p.head += float64(h.HeadGain * p.airFlow * p.smoothed * a.dt)
	}
	if p.still {
		// The gases that helped the next charge to burn are gone in moments.
		p.smoothed -= float64(p.smoothed * (a.dt / 2))
	}
}

// stepStarterHeat moves the starter's temperatures. Heat goes from the winding
// to the case and from the case to the air.
func (p *Plant) stepStarterHeat(a *pace) {
	s := &p.spec.Starter
	through := float64(s.WindingCool * (p.winding - p.starterCase))
	lost := float64(s.CaseCool * (p.starterCase - p.cond.OATCelsius))
	p.winding += float64((p.windingWatts - through) * a.winding)
	p.starterCase += float64((p.caseWatts + through - lost) * a.starterCase)
	p.starterHeat.in += float64((p.windingWatts + p.caseWatts) * a.dt)
	p.starterHeat.lost += float64(lost * a.dt)
	if p.winding > s.BurnCelsius {
		p.burntOut = true
	}
}

// windingOhms is the starter's resistance at its temperature: copper's rise.
func (p *Plant) windingOhms() float64 {
	s := &p.spec.Starter
	return float64(s.Ohms * (1 + float64(s.OhmsPerK*(p.winding-20))))
}

// stepOil is the oil's way to the bearings, and what its absence does to them.
func (p *Plant) stepOil(a *pace) {
	k, rpm := &p.slow, p.rpm()
	if rpm == 0 {
		p.gallery = sat(p.gallery - a.oilDrain)
		p.oilKPa -= float64(p.oilKPa * a.oilGauge)
		p.dry = 0
		return
	}
	p.gallery = sat(p.gallery + float64(rpm*k.oilFill*a.dt) - float64((1-sat(rpm*(1.0/50)))*a.oilDrain))
	want := 0.0
	if !p.fault.noOil {
		want = float64(atMost(k.oilRelief, float64(k.oilPump*rpm)) * sat((p.gallery-0.6)*2.5))
	}
	p.oilKPa += float64((want - p.oilKPa) * a.oilGauge)
	e := &p.spec.Engine
	if rpm > 400 && want < e.BearingPressure {
		p.dry += a.dt
		if p.dry > 30 {
			p.wear = min(1, p.wear+a.dt/e.BearingSeconds)
		}
	} else {
		p.dry = 0
	}
}
