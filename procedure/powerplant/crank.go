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
	}
}

// motor gives the starter's torque at the crankshaft, and its current.
func (p *Plant) motor() float64 {
	if !p.energised {
		return 0
	}
	s := &p.spec.Starter
	ra := p.windingOhms()
	volts := p.openVolts - float64(p.sourceOhms*p.aux) - s.BrushVolts
	ohms := p.sourceOhms + s.CableOhms + ra
	amps := (volts - float64(s.VoltSeconds*p.speed)) / ohms
	torque := float64(s.Torque * amps)
	heat := float64(float64(amps*amps)*ra) + float64(s.BrushVolts*amps)
	if !p.engaged || amps < s.FreeAmps {
		// The pinion is out of mesh, or the engine outruns it: the motor runs
		// free, and all it draws becomes heat.
		amps, torque = max(0, min(s.FreeAmps, volts/ohms)), 0
		heat = float64(amps * max(0, volts))
	}
	p.motorAmps, p.motorWork, p.windingWatts, p.caseWatts = amps, torque, heat, 0
	if p.speed > 0 {
		p.caseWatts = float64(s.GearLoss * torque * p.speed)
	}
	return torque
}

// crank turns the shaft. A half revolution from one compression to the next is
// pi of angle; friction may stop it but never drives it.
func (p *Plant) crank(torque float64) {
	k, kick := &p.slow, p.pace.spin
	sin, cos := sinCos(p.angle)
	w := p.speed
	turn := math.Abs(w)
	drive := torque + float64(k.ripple*p.manifold*sin*cos)
	if w >= 0 {
		drive += float64(0.5 * p.work * sin)
	}
	drive -= float64((p.ambientKPa - p.manifold) * k.pumping)
	drive -= float64(k.propeller * w * turn)
	if p.online {
		drive -= p.alternatorNM(w)
	}
	friction := k.frictionStill + float64(k.frictionTurn*turn)
	if rpm := float64(turn * (30 / math.Pi)); rpm < 500 {
		friction += float64(k.frictionSlow * (rpm - 500))
	}
	if p.wear >= 1 {
		friction += seizedNM
	}
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
	p.angle += float64(p.speed * p.pace.dt)
	switch {
	case p.angle >= math.Pi:
		p.angle -= math.Pi
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
	k := &p.slow
	ratio := float64(p.manifold * k.perAmbient)
	full := k.throttleFlow // g/s when choked
	flow := full
	root, fall := 1.0, 0.0 // of flow with ratio: fall / root
	switch {
	case ratio > last:
		// A square root's end is vertical; a chord is what a step can follow.
		fall = float64(full * lastRoot * (1 / (1 - last)))
		flow = float64(fall * (1 - ratio))
	case ratio > critical:
		x := float64((ratio - critical) * (1 / (1 - critical)))
		root = math.Sqrt(1 - float64(x*x))
		flow = float64(full * root)
		fall = float64(full * x * (1 / (1 - critical)))
	}
	out := float64(k.breath * math.Abs(p.speed)) // g/s per kPa
	step := float64(k.manifoldRate * p.pace.dt)  // kPa per g/s
	stiff := float64(root*(1+float64(step*out))) + float64(step*fall*k.perAmbient)
	p.manifold += float64(step*(flow-float64(out*p.manifold))*root) / stiff
	if p.manifold > p.ambientKPa {
		p.manifold = p.ambientKPa
	}
	p.airFlow = flow
}
