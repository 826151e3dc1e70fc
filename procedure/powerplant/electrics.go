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
	if volts := p.openVolts - float64(p.sourceOhms*(p.aux+p.motorAmps)); volts > 0 {
		return volts
	}
	return 0
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
func (b *BatterySpec) OpenCircuitVolts(charge float64) float64 {
	return float64(b.Cells * (b.VoltRule + b.GravityEmpty + float64(b.GravitySpan*charge)))
}

// InternalOhms is a battery's resistance at a charge and temperature.
func (b *BatterySpec) InternalOhms(charge, celsius float64) float64 {
	return float64(b.Ohms*(1+float64(b.OhmsCold*max(0, 25-celsius)))) / (0.25 + float64(0.75*charge))
}

// stepElectrics is battery, contactor and alternator.
func (p *Plant) stepElectrics(dt float64) {
	if p.energised || p.controls.Starter || p.relayRest > 0 || p.fault.welded {
		p.stepContactor(dt)
	}
	p.online, p.charging = false, 0
	a := &p.spec.Alternator
	if p.controls.Alternator && p.controls.Battery && !p.fault.alternatorDead && p.rpm() > a.OnlineRPM {
		p.online = true
		p.charging = max(0, min(a.ChargeMost, (a.Volts-p.openVolts)/(p.sourceOhms+a.WireOhms)))
	}
	if amps := p.batteryAmps(); amps != p.drainAt {
		p.drainAt, p.drain = amps, float64(p.chargeRate(amps)*dt)
	}
	p.soc = sat(p.soc + p.drain)
}

// moveLoads works out what the consumers draw and what feeds them, whenever a
// switch, the contactor or a fault has changed that.
func (p *Plant) moveLoads() {
	b := &p.spec.Battery
	p.aux = 0
	if p.powered() {
		p.aux = b.BusLoad
		if p.controls.BoostPump && p.injected && !p.fault.pumpDead {
			p.aux += b.PumpLoad
		}
		if p.energised {
			p.aux += b.SolenoidLoad
		}
	}
	p.chargeProperties()
}

// chargeRate is how fast a current moves the state of charge, in 1/s: Peukert's
// law out, most of the charge in.
func (p *Plant) chargeRate(amps float64) float64 {
	if amps > 0 {
		return float64(0.9 * amps * p.slow.perCoulomb)
	}
	return float64(amps * p.peukertFactor(-amps) * p.slow.perCoulomb)
}

// peukertFactor is how much more than its current a battery loses: the power of
// Peukert's law, which counts from the current that empties it in 20 hours. About
// the current it was last worked out at, the power is its series to the second
// order: within a fifth of that current, out by less than 0.04 %.
func (p *Plant) peukertFactor(amps float64) float64 {
	rate := float64(amps * 20 * 3600 * p.slow.perCoulomb)
	if rate <= 1 {
		return 1
	}
	n := p.spec.Battery.Peukert - 1
	e := float64(amps*p.perPeukertAt) - 1
	if math.Abs(e) > 0.2 {
		p.perPeukertAt, p.peukert, e = 1/amps, pow(rate, n), 0
	}
	return float64(p.peukert * (1 + float64(n*e*(1+float64(0.5*(n-1)*e)))))
}

// stepContactor closes and opens the starter's contactor. On a battery that
// sags it drops out and pulls in again: the pilot hears it chatter.
func (p *Plant) stepContactor(dt float64) {
	s := &p.spec.Starter
	wanted := p.powered() && (p.controls.Starter || p.fault.welded)
	p.relayRest = max(0, p.relayRest-dt)
	if !p.energised {
		if wanted && !p.burntOut && p.relayRest == 0 && p.busVolts() > float64(s.PullIn*p.nominal()) {
			p.energised, p.still, p.sagged = true, false, 0
			p.engaged = !p.fault.driveSticks || p.random() < 0.35
			p.moveLoads()
		}
		return
	}
	if p.busVolts() < float64(s.DropOut*p.nominal()) {
		p.sagged += dt
	} else {
		p.sagged = 0
	}
	switch {
	case !wanted || p.sagged > s.DropSeconds && !p.fault.welded:
		p.release()
		p.relayRest = 0.1
	case p.fault.staysEngaged && p.smoothed > 0.3:
		p.fault.welded = true
	case p.burntOut:
		p.release()
	}
}

// release opens the contactor.
func (p *Plant) release() {
	p.energised, p.engaged = false, false
	p.motorAmps, p.motorWork, p.windingWatts, p.caseWatts = 0, 0, 0, 0
	p.moveLoads()
}

// alternatorNM is what the alternator takes from the crankshaft at a speed.
func (p *Plant) alternatorNM(speed float64) float64 {
	a := &p.spec.Alternator
	if speed < 40 {
		speed = 40
	}
	return float64(a.Volts*(p.charging+p.aux)) / float64(a.Efficiency*speed)
}
