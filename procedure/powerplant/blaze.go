package powerplant

// backfire may light a puddle that lies in the induction.
func (p *Plant) backfire() {
	f := &p.spec.Fire
	if p.blaze > 0 || p.puddle < f.PuddleGrams || p.smoothed > 0.5 {
		return
	}
	risk := f.Backfire
	if p.fault.inductionFire {
		risk = f.Provoked
	}
	if p.random() < risk {
		p.blaze = 0.1
	}
}

// stepBlaze is fuel spilt in the induction and, once lit, the fire in it. The
// engine draws the fire in while it is turned with the throttle open and no
// fuel comes; a fire left alone, or fed, grows.
func (p *Plant) stepBlaze(dt float64) {
	if p.puddle < 1e-9 && p.blaze == 0 {
		p.puddle, p.blazed = 0, 0
		return
	}
	f := &p.spec.Fire
	gone := float64(p.puddle * min(1, dt/f.PuddleSeconds))
	if p.fault.inductionFire && p.blaze == 0 && p.puddle < f.PuddleGrams+1 {
		gone = 0 // the puddle that the fault is about waits for its spark
	}
	if p.blaze > 0 {
		drawn := 0.0
		if p.blazed < f.TimeToSpread {
			drawn = float64(sat(p.rpm()/80) * sat(0.15+float64(2*p.throttleOpen)))
		}
		growth := 1 / f.GrowSeconds
		if p.puddle < 0.05 && p.fuelFlow < 0.05 {
			growth = -1 / f.StarveSeconds
		}
		p.blaze = min(1, p.blaze+float64((growth-drawn/f.DrawnSeconds)*dt))
		gone = min(p.puddle, gone+float64((float64(f.BurnRate*p.blaze)+float64(drawn*p.puddle/4))*dt))
		if p.blaze > 0.9 {
			p.blazed += dt
		}
		if p.blaze <= 0 {
			p.blaze = 0
			p.fault.inductionFire = false
		}
	}
	p.puddle -= gone
	p.audit.overboard += gone
}
