package powerplant

import "math"

// Air through an opening, for a ratio of specific heats of 1.4: below the
// critical pressure ratio it flows at the speed of sound, and no faster.
const (
	chokedFlow    = 0.6847
	criticalRatio = 0.528
)

// seizedNM is more than anything can turn.
const seizedNM = 1e4

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
	k := &p.slow
	sin, cos := sinCos(p.angle)
	w := p.speed
	turn := math.Abs(w)
	drive := torque
	if w >= 0 {
		drive += float64(0.5 * p.work * sin)
	}
	drive += float64(k.ripple * p.manifold * sin * cos)
	drive -= float64((p.ambientKPa - p.manifold) * k.pumping)
	drive -= float64(k.propeller * w * turn)
	if p.online {
		drive -= p.alternatorWatts() / float64(p.spec.Alternator.Efficiency*max(w, 40))
	}
	friction := k.frictionStill + float64(k.frictionTurn*turn)
	if rpm := float64(turn * (30 / math.Pi)); rpm < 500 {
		friction += float64(k.frictionSlow * (rpm - 500))
	}
	if p.wear >= 1 {
		friction += seizedNM
	}
	kick := k.kick
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

// lastRoot is the flow through the throttle at a pressure ratio of 0.99, over the
// choked flow.
var lastRoot = math.Sqrt(1 - (0.99-criticalRatio)/(1-criticalRatio)*((0.99-criticalRatio)/(1-criticalRatio)))

// breathe moves air past the throttle and into the cylinders. The step is
// implicit to first order, because a wide throttle fills the manifold in less
// than a step.
func (p *Plant) breathe() {
	const critical, last = criticalRatio, 0.99
	ratio := float64(p.manifold * p.slow.perAmbient)
	full := p.slow.throttleFlow // g/s when choked
	flow, slope := full, 0.0    // slope: of flow with ratio
	switch {
	case ratio > last:
		// A square root's end is vertical; a chord is what a step can follow.
		end := float64(full * lastRoot)
		flow, slope = float64(end*(1-ratio)*(1/(1-last))), -float64(end*(1/(1-last)))
	case ratio > critical:
		x := float64((ratio - critical) * (1 / (1 - critical)))
		root := math.Sqrt(1 - float64(x*x))
		flow = float64(full * root)
		slope = -float64(full*x*(1/(1-critical))) / root
	}
	out := float64(p.slow.breath * math.Abs(p.speed)) // g/s per kPa
	k := p.slow.manifoldRate                          // kPa per g
	rate := float64(k * (flow - float64(out*p.manifold)))
	stiff := float64(k * (float64(slope*p.slow.perAmbient) - out))
	p.manifold += float64(rate*p.dt) / (1 - float64(stiff*p.dt))
	if p.manifold > p.ambientKPa {
		p.manifold = p.ambientKPa
	}
	p.airFlow = flow
}

// moveThrottle works out the throttle's area where its lever stands.
func (p *Plant) moveThrottle() {
	t := &p.spec.Throttle
	p.throttleOpen = p.controls.ThrottleMM / t.TravelMM
	p.throttleArea = t.LeakArea + float64(t.LinearArea*p.controls.ThrottleMM) + float64(t.FullArea*pow(p.throttleOpen, t.FullPow))
	p.slow.throttleFlow = float64(chokedFlow*p.throttleArea*p.ambientKPa*1e6) / math.Sqrt(float64(airGas*p.ambientK))
}
