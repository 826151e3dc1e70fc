package powerplant

import "math"

// intake is what one cylinder would take at a given speed.
type intake struct {
	charge
	light, heavy          float64 // g off the film
	vapour                float64 // g of the vapour that lay in the induction
	fromWet, purge, swept float64
	toWet                 float64 // drops that stay liquid in the cylinders
}

// draw works out an intake of the cylinder whose turn it is, and changes nothing.
func (p *Plant) draw(rpm float64) intake {
	s, c, f, k := &p.spec.Ports, &p.spec.Cylinder, &p.spec.Fuel, &p.slow
	var in intake
	breathing, reel := p.spec.Engine.BreathingRun, p.reel[1]
	if rpm < 300 {
		breathing, reel = p.spec.Engine.BreathingCrank, p.reel[0]
	}
	rpm = max(rpm, 30)
	in.air = float64(breathing * k.sweptAir * p.manifold)
	in.vapour = float64(p.vapour * reel)

	film := p.filmLight + p.filmHeavy
	var drops float64
	if film > 1e-9 {
		slowness := pow(150/rpm, s.TransferPow)
		share := s.Nozzles[p.halfTurns&3] / 4
		light, heavy := float64(share*p.filmLight), float64(share*p.filmHeavy)
		vLight := float64(light * (1 - exp(-float64(k.transferLight*slowness))))
		vHeavy := float64(heavy * (1 - exp(-float64(k.transferHeavy*slowness))))
		torn := float64(s.Entrain * math.Sqrt(rpm/1000))
		eLight, eHeavy := float64((light-vLight)*torn), float64((heavy-vHeavy)*torn)
		in.light, in.heavy = vLight+eLight, vHeavy+eHeavy
		in.charge.vapour = vLight + vHeavy + eLight
		drops = eHeavy
		in.swept = float64(s.Sweep * p.throttleOpen * p.throttleOpen)
	}
	drops += p.airHeavy
	capture := min(c.CaptureMost, c.CaptureCold+float64(c.CaptureFire*p.smoothed)+float64(c.CaptureHeat*max(0, p.head)))
	in.fromWet = float64(p.wet / 4 * (c.WetRelease + float64(c.WetFire*p.smoothed) + float64(c.WetVapour*k.boiling)))
	in.purge = float64(p.wet / 4 * (c.Purge + float64(c.PurgeOpen*p.throttleOpen*p.throttleOpen)))
	in.charge.vapour += in.vapour + p.airLight + float64(capture*drops) + in.fromWet
	left := drops - float64(capture*drops)
	in.toWet = float64(left * (1 - p.smoothed))
	in.drops = left - in.toWet
	moles := in.charge.vapour / f.VapourMolar
	in.fraction = moles / (moles + in.air/airMolar)
	return in
}

// halfRevolution is one cylinder firing and another drawing in. A charge drawn
// in is compressed during the next half revolution and lit at its end.
func (p *Plant) halfRevolution() {
	p.halfTurns++
	slot := p.halfTurns & 1
	p.ignite(p.charges[slot])

	rpm := p.rpm()
	in := p.draw(rpm)
	p.filmLight -= in.light
	p.filmHeavy -= in.heavy
	p.vapour -= in.vapour
	p.wet += in.toWet - in.fromWet - in.purge
	p.airLight, p.airHeavy = 0, 0
	p.audit.overboard += in.purge
	if in.swept > 0 {
		light, heavy := float64(p.filmLight*in.swept), float64(p.filmHeavy*in.swept)
		p.filmLight -= light
		p.filmHeavy -= heavy
		p.audit.overboard += light + heavy
	}
	p.charges[slot] = in.charge
}

// ignite lights a charge or does not.
func (p *Plant) ignite(c charge) {
	f, e := &p.spec.Fuel, &p.spec.Engine
	p.latest = c
	p.work = 0
	p.burns = false
	plugs := p.sparking()
	if plugs > 0 && c.vapour > 0 {
		p.burns = p.random() < p.chance(c.fraction)
	}
	fire := 0.0
	if p.burns {
		fire = 1
		p.firings++
		p.lastFiring = p.steps
		rich := float64(c.vapour * f.AirFuel / c.air)
		burnt := min(rich, 1)
		if rich > 1.2 {
			burnt *= max(0.4, 1-float64(0.3*(rich-1.2)))
		}
		weak := p.spec.Cylinder.WeakCrank
		share := weak + float64((1-weak)*sat((p.rpm()-100)/500)) // of the work, at this speed
		p.work = float64(e.Efficiency*share*f.LowerHeating*1000*burnt*c.air) / f.AirFuel
		if plugs == 1 && p.rpm() > p.spec.Ignition.CouplingRPM {
			p.work *= e.OneMagneto
		}
		p.audit.burnt += c.vapour + c.drops
	} else {
		p.audit.overboard += c.vapour + c.drops
	}
	if plugs > 0 {
		p.backfire()
	}
	p.smoothed += float64(0.10 * (fire - p.smoothed))
}

// chance is the probability that a charge of a vapour fraction lights.
func (p *Plant) chance(fraction float64) float64 {
	f := &p.spec.Fuel
	burns := float64(logistic((fraction-f.LeanLimit)/f.LeanWidth) * logistic((f.RichLimit-fraction)/f.RichWidth))
	return float64(p.spec.Cylinder.BestFire * burns * (1 - p.plugsWet()))
}

// plugsWet is the part of the sparks that liquid fuel on the plugs swallows. It
// sets in steeply, with the fourth power of the liquid.
func (p *Plant) plugsWet() float64 {
	wet := p.wet / 4 / p.spec.Cylinder.PlugsWet
	wet = float64(wet * wet)
	wet = float64(wet * wet)
	return wet / (1 + wet)
}

// sparking counts the magnetos that spark. The left one alone has an impulse
// coupling; the right one needs speed.
func (p *Plant) sparking() int {
	ig := &p.spec.Ignition
	rpm, m := p.rpm(), p.controls.Magnetos
	n := 0
	if (m == MagnetoLeft || m == MagnetosBoth) && !p.fault.leftDead {
		least := ig.SparkRPM
		if p.fault.couplingFailed {
			least = ig.CouplingRPM
		}
		if rpm > least {
			n++
		}
	}
	if (m == MagnetoRight || m == MagnetosBoth) && !p.fault.rightDead && rpm > ig.CouplingRPM {
		n++
	}
	return n
}
