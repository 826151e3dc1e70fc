package powerplant

import "math"

// stepFuel moves fuel from the tank to the ports, the vapour above them and
// the cylinders.
func (p *Plant) stepFuel(a *pace) {
	var liquid, vapour float64 // g reaching the ports
	if p.injected {
		liquid, vapour = p.stepLine(a)
	} else {
		liquid, vapour = p.stepCarburettor(a)
	}
	turning := p.rpm() > 20
	if liquid > 0 {
		p.wetPorts(liquid, turning)
	}
	if p.filmLight+p.filmHeavy+p.vapour+p.wet+vapour >= 1e-9 {
		p.stepFilm(a, vapour, turning)
	}
}

// fuelComes reports whether the selector and the tank give any.
func (p *Plant) fuelComes() bool { return !p.controls.FuelOff && !p.fault.noFuel }

// pumpKPa is the pressure of whichever pump gives more.
func (p *Plant) pumpKPa() float64 {
	if p.controls.FuelOff || p.fault.noFuel {
		return 0
	}
	s := &p.spec.Supply
	boost, engine := 0.0, float64(s.EngineShare*s.PumpKPa) // the engine's at most
	if p.controls.BoostPump && !p.fault.pumpDead && p.powered() {
		boost = float64(s.PumpKPa * sat(p.busVolts()*p.slow.perPumpFull))
	}
	if p.speed <= 0 || boost > engine {
		return boost
	}
	if engine = float64(engine * (1 - decay(p.speed*p.slow.perEngineSpeed))); engine > boost {
		return engine
	}
	return boost
}

// stepLine is the injected engine's pumps, valve, line and gauge. It returns
// what left the nozzles, in g.
func (p *Plant) stepLine(a *pace) (liquid, vapour float64) {
	s, f, k := &p.spec.Supply, &p.spec.Fuel, &p.slow
	target, settle := p.pumpKPa(), a.fuelRise
	if target < p.fuelKPa && p.valve == 0 {
		settle = a.fuelFall // the pressure is locked in
	}
	p.fuelKPa += float64((target - p.fuelKPa) * settle)

	q := 0.0 // g asked for in this step
	if p.valve > 0 {
		ask := k.leverFlow
		if running := float64(p.airFlow * (s.RichRunning / f.AirFuel)); running > ask {
			ask = running
		}
		q = float64(p.valve * math.Sqrt(p.fuelKPa*k.perPumpKPa) * ask * a.dt)
		if p.slug > 0 {
			q = p.passSlug(q, a.dt)
		}
	}
	full := float64(p.line * k.perLine)
	out, drip := 0.0, 0.0
	if q > 0 {
		out = float64(q * sat((full-s.LineOpens)*k.perLineSpan) * (0.95 + float64(0.05*full)))
	} else if p.valve == 0 && full > s.DripFrom {
		drip = float64((full - s.DripFrom) * s.LineGrams * a.drip)
	}
	boil := float64(p.line * a.coldBoil)
	lost := out // of the line, to let so much out
	if k.lineHot > 0 {
		boil += float64(f.HotBoil * k.lineHot * p.line * a.dt)
		out /= 1 + float64(f.HotPumpLoss*k.lineHot)
	}
	p.line += q - lost - drip - boil
	if p.line > s.LineGrams {
		q -= p.line - s.LineGrams
		p.line = s.LineGrams
	}
	p.audit.in += q
	p.fuelFlow = float64(out * a.perSecond)
	p.shownFlow += float64((p.fuelFlow - p.shownFlow) * a.gauge)
	p.lineTemp += float64((p.port-p.lineTemp)*a.lineWarm) - float64(q*k.perLineHold*(p.lineTemp-p.cond.OATCelsius))
	return out + drip, lost - out + boil
}

// gulpSeconds is how long one slug of vapour takes to pass: an estimate.
const gulpSeconds = 0.3

// passSlug lets vapour pass in slugs: little fuel, and the needle wanders. It
// takes what is asked for and returns what comes of it, in g.
func (p *Plant) passSlug(q, dt float64) float64 {
	p.slug = max(0, p.slug-q)
	if p.gulpLeft -= dt; p.gulpLeft <= 0 {
		p.gulp, p.gulpLeft = 0.10+float64(0.30*p.random()), gulpSeconds
	}
	return float64(q * p.gulp)
}

// stepFilm is the fuel on the walls of the ports, the vapour above it and the
// liquid in the cylinders, in the x-tau form of Aquino (SAE 810494): what has
// wetted the wall evaporates at its own rate.
func (p *Plant) stepFilm(a *pace, vapour float64, turning bool) {
	k := &p.slow
	room := 1 - float64(p.vapour*k.perVapourMost)
	if room < 0 {
		room = 0
	}
	light := float64(p.filmLight * atMost(0.5, float64(k.evapLight*room*a.dt)))
	heavy := float64(p.filmHeavy * atMost(0.5, float64(k.evapHeavy*room*a.dt)))
	p.filmLight -= light
	p.filmHeavy -= heavy

	leak := a.vapourLeak
	if turning {
		leak += float64(a.vapourSweep * p.throttleOpen * p.throttleOpen)
	}
	gone := float64(p.vapour * atMost(1, leak))
	dry := float64(p.wet * atMost(0.5, a.dry))
	rise := float64(dry * k.dryRise)
	dry = atMost(dry, p.wet-rise)
	p.vapour += light + heavy + vapour + rise - gone
	p.wet -= dry + rise
	p.audit.overboard += gone + dry

	film := p.filmLight + p.filmHeavy
	if over := film - k.filmMost; over > 0 {
		drain := float64(over * a.drain)
		part := drain / film
		p.filmLight -= float64(part * p.filmLight)
		p.filmHeavy -= float64(part * p.filmHeavy)
		in := float64(drain * k.drainIn)
		p.wet += in
		p.puddle += drain - in
	}
}

// wetPorts sends a share of the fuel to the walls; the rest is in the air.
func (p *Plant) wetPorts(liquid float64, turning bool) {
	s := &p.spec.Ports
	wall := s.WallStopped
	if turning {
		wall = s.WallTurning
	}
	light := float64(p.spec.Fuel.LightShare * liquid)
	heavy := liquid - light
	p.filmLight += float64(wall * light)
	p.filmHeavy += float64(wall * heavy)
	p.airLight += light - float64(wall*light)
	p.airHeavy += heavy - float64(wall*heavy)
}

// held is all the fuel that is somewhere on its way, in g.
func (p *Plant) held() float64 {
	sum := p.line + p.filmLight + p.filmHeavy + p.airLight + p.airHeavy + p.vapour + p.wet + p.puddle
	for i := range p.charges {
		sum += p.charges[i].vapour + p.charges[i].drops
	}
	return sum
}
