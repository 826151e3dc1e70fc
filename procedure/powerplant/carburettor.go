package powerplant

// stepCarburettor is the float carburettor, its accelerator pump and the hand
// primer. It returns what reaches the ports, in g.
func (p *Plant) stepCarburettor(a *pace) (liquid, vapour float64) {
	c, f := &p.spec.Carburettor, &p.spec.Fuel
	if p.fuelComes() {
		p.bowl += float64((f.BowlGrams - p.bowl) * a.bowlFill)
	}
	// The jet: fuel follows air, faintly while there is little of it.
	q, air := 0.0, p.airFlow // q in g of this step
	if p.valve > 0 && air > 0 {
		square := float64(air * air)
		q = float64(p.valve*c.Rich/f.AirFuel*air*a.dt) * square / (square + float64(c.IdleDraw*c.IdleDraw))
	}
	if p.controls.PrimerUnlocked && p.fuelComes() {
		q += float64(c.PrimerUnlocked * (p.ambientKPa - p.manifold) / 50 * a.dt)
	}
	q = atMost(p.bowl, q)
	p.bowl -= q
	p.fuelFlow = float64(q * a.perSecond)
	p.shownFlow += float64((p.fuelFlow - p.shownFlow) * a.gauge)

	squirt := p.accelerate(a)
	carried := 0.0
	if squirt > 0 {
		carried = squirt * air / (air + c.AccelCarried)
	}
	// A fire boils fuel out of the bowl, unless the mixture shuts the jet.
	spilt := atMost(p.bowl, float64(c.FireSpill*p.blaze*p.valve*a.dt))
	p.bowl -= spilt
	spilt += squirt - carried
	p.puddle += spilt

	boil := float64(f.HotBoil * p.bowl / 50 * p.slow.lineHot * a.dt)
	p.bowl -= boil
	p.lineTemp += float64((p.port - p.lineTemp) * a.bowlWarm)
	liquid = q + carried + p.prime(a)
	p.audit.in += liquid + boil + spilt
	return liquid, boil
}

// accelerate is the squirt, in g, of a throttle that moved open.
func (p *Plant) accelerate(a *pace) float64 {
	c := &p.spec.Carburettor
	moved := p.controls.ThrottleMM - p.lastThrottle
	p.lastThrottle = p.controls.ThrottleMM
	squirt := 0.0
	if moved > 0 {
		squirt = min(p.accel, float64(moved*c.AccelPerMM), p.bowl)
	}
	p.accel -= squirt
	p.bowl -= squirt
	p.accel += float64((c.AccelGrams - p.accel) * a.accelRefill)
	return squirt
}

// prime is what the hand primer sends to the ports, in g. The barrel fills
// while the knob is out, and empties what no longer fits when it goes in.
func (p *Plant) prime(a *pace) float64 {
	room := float64(p.spec.Carburettor.PrimerGrams * p.controls.Primer)
	if p.barrel > room {
		sent := p.barrel - room
		p.barrel = room
		return sent
	}
	if p.barrel < room && p.fuelComes() {
		p.barrel += float64((room - p.barrel) * a.primerFill)
	}
	return 0
}
