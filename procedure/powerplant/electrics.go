package powerplant

import "math"

// powered reports whether the electrical bus is alive.
func (p *Plant) powered() bool { return p.controls.Battery || p.controls.ExternalPower }

// nominal is the system's nominal voltage.
func (p *Plant) nominal() float64 { return 2 * p.spec.Battery.Cells }

// busVolts is the voltage on the bus.
func (p *Plant) busVolts() float64 {
	switch {
	case !p.powered():
		return 0
	case p.online:
		return p.spec.Alternator.Volts
	}
	return max(0, p.openVolts-float64(p.sourceOhms*(p.aux+p.motorAmps)))
}

// batteryAmps is the battery's current: charge above zero, discharge below.
func (p *Plant) batteryAmps() float64 {
	switch {
	case !p.powered():
		return 0
	case p.online:
		return p.charging
	case p.controls.ExternalPower:
		return 0
	}
	return -(p.aux + p.motorAmps)
}

// OpenCircuitVolts is a battery's voltage at rest: specific gravity plus 0.845 V
// in each cell.
func (b BatterySpec) OpenCircuitVolts(charge float64) float64 {
	return float64(b.Cells * (b.VoltRule + b.GravityEmpty + float64(b.GravitySpan*charge)))
}

// InternalOhms is a battery's resistance at a charge and temperature.
func (b BatterySpec) InternalOhms(charge, celsius float64) float64 {
	return float64(b.Ohms*(1+float64(b.OhmsCold*max(0, 25-celsius)))) / (0.25 + float64(0.75*charge))
}

// Peukert gives the hours a battery lasts at a current, for a rated capacity in
// A h at a rated time in hours.
func Peukert(ampereHours, ratedHours, exponent, amps float64) float64 {
	return float64(ratedHours * pow(ampereHours/(ratedHours*amps), exponent))
}

// stepElectrics is battery, contactor and alternator.
func (p *Plant) stepElectrics(dt float64) {
	b := &p.spec.Battery
	p.openVolts = b.OpenCircuitVolts(p.soc)
	p.sourceOhms = float64(p.slow.batteryOhms) / (0.25 + float64(0.75*p.soc))
	if p.fault.sulphated {
		p.sourceOhms *= 6
	}
	if p.controls.ExternalPower {
		p.openVolts, p.sourceOhms = float64(p.nominal()*7/6), b.Ohms/2
	}
	p.aux = 0
	if p.powered() {
		p.aux = b.BusLoad
		if p.controls.BoostPump && p.spec.FuelSystem == Injected && !p.fault.pumpDead {
			p.aux += b.PumpLoad
		}
		if p.energised {
			p.aux += b.SolenoidLoad
		}
	}
	p.stepContactor(dt)

	a := &p.spec.Alternator
	p.online = p.controls.Alternator && p.controls.Battery && !p.fault.alternatorDead && p.rpm() > a.OnlineRPM
	p.charging = 0
	if p.online {
		p.charging = max(0, min(a.ChargeMost, (a.Volts-p.openVolts)/(p.sourceOhms+a.WireOhms)))
	}
	if dt > 0 {
		p.drain(dt)
	}
}

// drain moves the state of charge: Peukert's law out, most of the charge in.
func (p *Plant) drain(dt float64) {
	amps := p.batteryAmps()
	if amps == 0 {
		return
	}
	coulombs := float64(p.slow.capacity * 3600)
	if amps > 0 {
		p.soc = min(1, p.soc+float64(0.9*amps*dt)/coulombs)
		return
	}
	amps = -amps
	rate := amps / (p.slow.capacity / 20)
	if rate > 1 {
		// The factor is worked out anew only when the current has changed.
		if math.Abs(amps-p.peukertAt) > float64(0.02*amps) {
			p.peukertAt, p.peukert = amps, pow(rate, p.spec.Battery.Peukert-1)
		}
		amps *= p.peukert
	}
	p.soc = max(0, p.soc-float64(amps*dt)/coulombs)
}

// stepContactor closes and opens the starter's contactor. On a battery that
// sags it drops out and pulls in again: the pilot hears it chatter.
func (p *Plant) stepContactor(dt float64) {
	s := &p.spec.Starter
	wanted := p.powered() && (p.controls.Starter || p.fault.welded)
	p.relayRest = max(0, p.relayRest-dt)
	switch {
	case p.energised && (!wanted || p.busVolts() < float64(s.DropOut*p.nominal()) && !p.fault.welded):
		p.energised, p.engaged = false, false
		p.motorAmps, p.motorWork = 0, 0
		p.relayRest = 0.1
	case !p.energised && wanted && p.relayRest == 0 && p.busVolts() > float64(s.PullIn*p.nominal()):
		if p.burntOut {
			return
		}
		p.energised = true
		p.engaged = !p.fault.driveSticks || p.random() < 0.35
		p.still = false
	case p.energised && p.fault.staysEngaged && p.smoothed > 0.3:
		p.fault.welded = true
	case p.energised && p.burntOut:
		p.energised, p.engaged = false, false
		p.motorAmps, p.motorWork = 0, 0
	}
}

// alternatorWatts is what the alternator takes from the crankshaft's output.
func (p *Plant) alternatorWatts() float64 {
	return float64(p.spec.Alternator.Volts * (p.charging + p.aux))
}
