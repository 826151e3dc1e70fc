package powerplant

import "math"

// turn advances what changes within a revolution by one step: starter current,
// crankshaft and manifold.
func (p *Plant) turn() {
	torque := p.motor()
	p.crank(torque)
	p.breathe()
	if p.speed == 0 && !p.energised && p.ambientKPa-p.manifold < 0.001 {
		p.still = true
		p.airFlow = 0
		p.manifold = p.ambientKPa
		p.motorAmps, p.motorWork = 0, 0
	}
}

// motor gives the starter's torque at the crankshaft, and its current.
func (p *Plant) motor() float64 {
	if !p.energised {
		p.motorAmps, p.motorWork = 0, 0
		return 0
	}
	s := &p.spec.Starter
	ra := p.slow.windingOhms
	volts := p.openVolts - float64(p.sourceOhms*p.aux) - s.BrushVolts
	amps := (volts - float64(s.VoltSeconds*p.speed)) / (p.sourceOhms + s.CableOhms + ra)
	torque := float64(s.Torque * amps)
	heat := float64(float64(amps*amps)*ra) + float64(s.BrushVolts*amps)
	switch {
	case !p.engaged || amps < s.FreeAmps:
		// The pinion is out of mesh, or the engine outruns it: the motor runs
		// free, and all it draws becomes heat.
		amps, torque = max(0, min(s.FreeAmps, volts/(p.sourceOhms+s.CableOhms+ra))), 0
		heat = float64(amps * max(0, volts))
	}
	p.motorAmps, p.motorWork = amps, torque
	p.windingIn += float64(heat * p.dt)
	p.caseIn += float64(float64(s.GearLoss*torque*max(0, p.speed)) * p.dt)
	return torque
}

// crank turns the shaft. A half revolution from one compression to the next is
// pi of angle; friction may stop it but never drives it.
func (p *Plant) crank(torque float64) {
	e := &p.spec.Engine
	sin, cos := sinCos(p.angle)
	w := p.speed
	drive := torque
	if w >= 0 {
		drive += float64(p.work / 2 * sin)
	}
	drive += float64(e.Ripple * p.manifold / seaLevelKPa * float64(2*sin*cos))
	drive -= float64((p.ambientKPa - p.manifold) * p.slow.pumping)
	drive -= float64(e.Propeller * w * math.Abs(w) * p.slow.airThick)
	if p.online {
		drive -= p.alternatorWatts() / (0.6 * max(w, 40))
	}
	rpm := math.Abs(w) * (30 / math.Pi)
	friction := e.FrictionDry + float64(p.slow.oilDrag*(0.7+float64(0.3*min(1, rpm/500)))) + float64(e.FrictionSpeed*rpm/1000)
	if p.wear >= 1 {
		friction += 1e4
	}
	kick := p.dt / e.Inertia
	switch {
	case w > 0:
		p.speed = w + float64((drive-friction)*kick)
		if p.speed < 0 && drive > -friction {
			p.speed = 0
		}
	case w < 0:
		p.speed = w + float64((drive+friction)*kick)
		if p.speed > 0 && drive < friction {
			p.speed = 0
		}
	case drive > friction:
		p.speed = float64((drive - friction) * kick)
	case drive < -friction:
		p.speed = float64((drive + friction) * kick)
	}
	p.angle += float64(p.speed * p.dt)
	switch {
	case p.angle >= math.Pi:
		p.angle -= math.Pi
		p.catchUp()
		p.halfRevolution()
	case p.angle < 0:
		// Rocked back over the top: the piston that fired is behind it.
		p.angle += math.Pi
		p.work = 0
	}
}

// breathe moves air past the throttle and into the cylinders. The step is
// implicit to first order, because a wide throttle fills the manifold in less
// than a step.
func (p *Plant) breathe() {
	const critical = 0.528
	ratio := p.manifold / p.ambientKPa
	full := p.slow.throttleFlow // g/s when choked
	flow, slope := full, 0.0    // slope: of flow with ratio
	switch {
	case ratio > 0.99:
		// A square root's end is vertical; a chord is what a step can follow.
		x := (0.99 - critical) / (1 - critical)
		end := full * math.Sqrt(1-float64(x*x))
		flow, slope = float64(end*(1-ratio)/0.01), -end/0.01
	case ratio > critical:
		x := (ratio - critical) / (1 - critical)
		root := math.Sqrt(1 - float64(x*x))
		flow, slope = float64(full*root), -float64(full*x)/(root*(1-critical))
	}
	out := float64(p.slow.breath * math.Abs(p.speed)) // g/s per kPa
	k := p.slow.manifoldRate                          // kPa per g
	rate := float64(k * (flow - float64(out*p.manifold)))
	stiff := float64(k * (slope/p.ambientKPa - out))
	p.manifold += float64(rate*p.dt) / (1 - float64(stiff*p.dt))
	p.manifold = min(p.manifold, p.ambientKPa)
	p.airFlow = max(0, flow)
}

// moveThrottle works out the throttle's area where its lever stands.
func (p *Plant) moveThrottle() {
	t := &p.spec.Throttle
	p.throttleOpen = p.controls.ThrottleMM / t.TravelMM
	p.throttleArea = t.LeakArea + float64(t.LinearArea*p.controls.ThrottleMM) + float64(t.FullArea*pow(p.throttleOpen, t.FullPow))
	p.slow.throttleFlow = float64(0.6847*p.throttleArea*p.ambientKPa*1e6) / math.Sqrt(float64(airGas*p.ambientK))
}
