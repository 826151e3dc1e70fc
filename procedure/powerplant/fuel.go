package powerplant

import "math"

// stepFuel moves fuel from the tank to the ports, the vapour above them and
// the cylinders.
func (p *Plant) stepFuel(dt float64) {
	var liquid, vapour float64 // g reaching the ports
	if p.spec.FuelSystem == Injected {
		liquid, vapour = p.stepLine(dt)
	} else {
		liquid, vapour = p.stepCarburettor(dt)
	}
	p.stepFilm(dt, liquid, vapour)
}

// leverValve is how far the mixture lever opens the valve.
func (p *Plant) leverValve() float64 {
	mix := p.controls.Mixture
	if p.fault.mixtureStuck {
		p.stuckAt = max(p.stuckAt, mix)
		mix = p.stuckAt
	}
	return sat((mix - p.spec.Supply.CutOff) / p.spec.Supply.ValveSpan)
}

// fuelComes reports whether the selector and the tank give any.
func (p *Plant) fuelComes() bool { return !p.controls.FuelOff && !p.fault.noFuel }

// stepLine is the injected engine's pumps, valve, line and gauge. It returns
// what left the nozzles, in g.
func (p *Plant) stepLine(dt float64) (liquid, vapour float64) {
	s, f := &p.spec.Supply, &p.spec.Fuel
	target := 0.0
	if p.fuelComes() {
		if p.controls.BoostPump && p.powered() && !p.fault.pumpDead {
			target = float64(s.PumpKPa * sat(p.busVolts()/s.PumpFullVolt))
		}
		if p.speed > 0 {
			target = max(target, float64(s.EngineShare*s.PumpKPa*(1-exp(-p.rpm()/s.EngineRPM))))
		}
	}
	p.valve = p.leverValve()
	settle := s.RiseSeconds
	if target < p.fuelKPa && p.valve == 0 {
		settle = s.FallSeconds // the pressure is locked in
	}
	p.fuelKPa += float64((target - p.fuelKPa) * min(1, dt/settle))

	q := 0.0
	if p.valve > 0 {
		lever := min(s.FlowMost, s.FlowClosed+float64(s.FlowPerMM*p.controls.ThrottleMM))
		q = float64(p.valve * math.Sqrt(p.fuelKPa/s.PumpKPa) * max(lever, float64(s.RichRunning/f.AirFuel*p.airFlow)))
	}
	if p.slug > 0 && q > 0 {
		// Vapour passes in slugs: little fuel, and the needle wanders.
		p.slug = max(0, p.slug-float64(q*dt))
		q *= 0.10 + float64(0.30*p.random())
	}

	full := p.line / s.LineGrams
	hot := 0.0 // how far the line is above boiling
	if p.lineTemp > 40 {
		hot = max(0, p.gasoline.at(p.lineTemp)/p.ambientKPa-1)
	}
	loss := 1 + float64(f.HotPumpLoss*hot)
	out := float64(q*sat((full-s.LineOpens)/s.LineSpan)*(0.95+float64(0.05*full))) / loss
	drip := 0.0
	if p.valve == 0 && full > s.DripFrom {
		drip = float64((full-s.DripFrom)*s.LineGrams) / s.DripSeconds
	}
	boil := float64(f.HotBoil*hot*p.line) + p.line/f.ColdBoil
	p.line += float64((q - float64(out*loss) - drip - boil) * dt)
	if p.line > s.LineGrams {
		q -= (p.line - s.LineGrams) / dt
		p.line = s.LineGrams
	}
	p.audit.in += float64(q * dt)
	p.fuelFlow = out
	p.shownFlow += float64((out - p.shownFlow) * min(1, dt/s.GaugeSeconds))
	p.lineTemp += float64(((p.port-p.lineTemp)/s.LineWarm - float64(q/s.LineHold*(p.lineTemp-p.cond.OATCelsius))) * dt)
	return float64((out + drip) * dt), float64((float64(out*(loss-1)) + boil) * dt)
}

// stepCarburettor is the float carburettor, its accelerator pump and the hand
// primer.
func (p *Plant) stepCarburettor(dt float64) (liquid, vapour float64) {
	c, f := &p.spec.Carburettor, &p.spec.Fuel
	p.valve = p.leverValve()
	if p.fuelComes() {
		p.bowl += float64((f.BowlGrams - p.bowl) * min(1, dt/c.BowlFill))
	}
	// The jet: fuel follows air, faintly while there is little of it.
	air := p.airFlow
	q := float64(p.valve*c.Rich/f.AirFuel*air) * float64(air*air) / (float64(air*air) + float64(c.IdleDraw*c.IdleDraw))
	if p.controls.PrimerUnlocked && p.fuelComes() {
		q += float64(c.PrimerUnlocked * (p.ambientKPa - p.manifold) / 50)
	}
	q = min(q, p.bowl/max(dt, 1e-9))
	p.bowl -= float64(q * dt)
	p.fuelFlow = q
	p.shownFlow += float64((q - p.shownFlow) * min(1, dt/p.spec.Supply.GaugeSeconds))

	squirt := p.accelerate(dt)
	carried := squirt * air / (air + c.AccelCarried)
	// A fire boils fuel out of the bowl, unless the mixture shuts the jet.
	spilt := min(p.bowl, float64(c.FireSpill*p.blaze*p.valve*dt))
	p.bowl -= spilt
	spilt += squirt - carried
	p.puddle += spilt

	stroke := p.prime(dt)
	boil := 0.0
	if p.lineTemp > 40 {
		boil = float64(f.HotBoil * p.bowl / 50 * max(0, p.gasoline.at(p.lineTemp)/p.ambientKPa-1))
		p.bowl -= float64(boil * dt)
	}
	p.lineTemp += float64((p.port - p.lineTemp) * min(1, dt/c.BowlWarm))
	liquid = float64(q*dt) + carried + stroke
	p.audit.in += liquid + float64(boil*dt) + spilt
	return liquid, float64(boil * dt)
}

// accelerate is the squirt, in g, of a throttle that moved open.
func (p *Plant) accelerate(dt float64) float64 {
	c := &p.spec.Carburettor
	moved := p.controls.ThrottleMM - p.lastThrottle
	p.lastThrottle = p.controls.ThrottleMM
	squirt := 0.0
	if moved > 0 {
		squirt = min(p.accel, float64(moved*c.AccelPerMM), p.bowl)
	}
	p.accel -= squirt
	p.bowl -= squirt
	p.accel += float64((c.AccelGrams - p.accel) * min(1, dt/c.AccelRefill))
	return squirt
}

// prime is what the hand primer sends to the ports, in g. The barrel fills
// while the knob is out, and empties what no longer fits when it goes in.
func (p *Plant) prime(dt float64) float64 {
	c := &p.spec.Carburettor
	room := float64(c.PrimerGrams * p.controls.Primer)
	sent := max(0, p.barrel-room)
	p.barrel -= sent
	if p.barrel < room && p.fuelComes() {
		p.barrel += float64((room - p.barrel) * min(1, dt/c.PrimerFill))
	}
	return sent
}

// stepFilm is the fuel on the walls of the ports, the vapour above it and the
// liquid in the cylinders, in the x-tau form of Aquino (SAE 810494): a share of
// the fuel wets the wall, and the wall gives it back in its own time.
func (p *Plant) stepFilm(dt, liquid, vapour float64) {
	s, f, k := &p.spec.Ports, &p.spec.Fuel, &p.slow
	turning := p.rpm() > 20
	if liquid > 0 {
		wall := s.WallStopped
		if turning {
			wall = s.WallTurning
		}
		light := float64(f.LightShare * liquid)
		heavy := liquid - light
		p.filmLight += float64(wall * light)
		p.filmHeavy += float64(wall * heavy)
		p.airLight += light - float64(wall*light)
		p.airHeavy += heavy - float64(wall*heavy)
	}
	if p.filmLight+p.filmHeavy+p.vapour+p.wet+vapour < 1e-9 {
		return
	}
	room := max(0, 1-p.vapour/k.vapourMost)
	light := float64(p.filmLight * min(0.5, float64(k.evapLight*room*dt)))
	heavy := float64(p.filmHeavy * min(0.5, float64(k.evapHeavy*room*dt)))
	p.filmLight -= light
	p.filmHeavy -= heavy

	leak := 1 / s.VapourSeconds
	if turning {
		leak += float64(s.VapourSweep * p.throttleOpen * p.throttleOpen)
	}
	gone := float64(p.vapour * min(1, float64(leak*dt)))
	dry := float64(p.wet * min(0.5, dt/p.spec.Cylinder.DrySeconds))
	rise := float64(dry * min(1, p.slow.vapourKPa/p.spec.Cylinder.DryKPa))
	dry = min(dry, p.wet-rise)
	p.vapour += light + heavy + vapour + rise - gone
	p.wet -= dry + rise
	p.audit.overboard += gone + dry

	film := p.filmLight + p.filmHeavy
	if over := film - k.filmMost; over > 0 {
		drain := float64(over * min(1, dt/s.DrainSeconds))
		p.filmLight -= float64(drain * p.filmLight / film)
		p.filmHeavy -= float64(drain * p.filmHeavy / film)
		in := float64(drain * k.drainIn)
		p.wet += in
		p.puddle += drain - in
	}
}

// held is all the fuel that is somewhere on its way, in g.
func (p *Plant) held() float64 {
	sum := p.line + p.filmLight + p.filmHeavy + p.airLight + p.airHeavy + p.vapour + p.wet + p.puddle
	for i := range p.charges {
		sum += p.charges[i].vapour + p.charges[i].drops
	}
	return sum
}
