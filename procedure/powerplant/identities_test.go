package powerplant

import (
	"math"
	"testing"
	"time"
)

// fuelResidual is the fuel that is not accounted for, in g.
func fuelResidual(p *Plant) float64 {
	in := p.Inside()
	return in.FuelHeldAtStartG + in.FuelInG - in.FuelBurntG - in.FuelOverboardG - in.FuelHeldG
}

// heatResidual is the starter's heat that is not accounted for, as a part of
// what went in.
func heatResidual(p *Plant) float64 {
	s, start := &p.spec.Starter, p.cond.OATCelsius
	stored := s.WindingHeat*(p.winding-start) + s.CaseHeat*(p.starterCase-start)
	return (p.starterHeat.in - p.starterHeat.lost - stored) / max(1, p.starterHeat.in)
}

// starterResidual cranks and returns the worst error of V I = I2R + brush loss +
// back-EMF power, as a part of V I.
func starterResidual(t testing.TB) float64 {
	p := mustNew(t, injected180(), Conditions{OATCelsius: 10})
	p.SetControls(Controls{Battery: true, Starter: true})
	worst := 0.0
	for range 2000 {
		volts, speed, ra, source := p.openVolts-p.sourceOhms*p.aux, p.speed, p.windingOhms(), p.sourceOhms
		p.Step()
		i := p.motorAmps
		if !p.engaged || i <= p.spec.Starter.FreeAmps {
			continue
		}
		s := &p.spec.Starter
		terminal := volts - (source+s.CableOhms)*i
		used := i*i*ra + s.BrushVolts*i + s.VoltSeconds*speed*i
		worst = max(worst, math.Abs(terminal*i-used)/(terminal*i))
	}
	if worst == 0 {
		t.Fatal("the starter never turned the engine")
	}
	return worst
}

// Fuel in is fuel burnt, held and overboard; starter heat in is heat stored and
// lost. Identities, in every situation and with every fault.
func TestNothingIsLost(t *testing.T) {
	for _, spec := range Specs() {
		for _, cond := range []Conditions{
			{OATCelsius: -20, Preheat: time.Hour},
			{OATCelsius: 10},
			{OATCelsius: 30, SinceShutdown: 10 * time.Minute, PressureAltitudeM: 3000},
			{OATCelsius: 15, SinceShutdown: 45 * time.Minute, BatteryCharge: 0.3},
		} {
			for _, tech := range []Technique{
				{Prime: 4 * time.Second, Strokes: 3},
				{Prime: 12 * time.Second, Strokes: 9, Attempts: 2},
				{Method: OpenThrottle, Overprime: 10 * time.Second, Overstrokes: 8, Attempts: 3},
			} {
				for _, f := range append(Faults(), FaultInfo{}) {
					var faults []Fault
					if f.Fault != "" {
						faults = append(faults, f.Fault)
					}
					p := mustNew(t, spec, cond, faults...)
					Fly(p, tech)
					if r := fuelResidual(p); math.Abs(r) > 1e-6 {
						t.Errorf("%s %+v %+v %s: %g g of fuel unaccounted for", spec.Name, cond, tech, f.Fault, r)
					}
					if r := heatResidual(p); math.Abs(r) > 1e-6 {
						t.Errorf("%s %+v %s: %g of the starter's heat unaccounted for", spec.Name, cond, f.Fault, r)
					}
				}
			}
		}
	}
}

// The crankshaft's energy changes by the work of its torques: with nothing
// burning, starter work less friction, propeller and pumping is what turns.
// Euler's rule over 2 ms leaves a few per cent of the ripple's swing.
func TestStarterWorkTurnsTheEngine(t *testing.T) {
	p := mustNew(t, injected180(), Conditions{OATCelsius: 15})
	p.SetControls(Controls{Battery: true, Starter: true, ThrottleMM: 40})
	p.Advance(2 * time.Second)
	var starter, lost float64
	w0 := p.speed
	for range 1000 {
		w := p.speed
		p.Step()
		e := &p.spec.Engine
		rpm := w * 30 / math.Pi
		friction := e.FrictionDry + p.slow.oilDrag*(0.7+0.3*min(1, rpm/500)) + e.FrictionSpeed*rpm/1000
		starter += p.motorWork * w * p.pace.dt
		lost += (friction + p.slow.propeller*w*w + (p.ambientKPa-p.manifold)*p.slow.pumping) * w * p.pace.dt
	}
	kinetic := 0.5 * p.spec.Engine.Inertia * (p.speed*p.speed - w0*w0)
	if r := math.Abs(starter-lost-kinetic) / starter; r > 0.15 {
		t.Errorf("starter gave %.0f J, %.0f J were lost, %.0f J gained: %.0f %% unaccounted for", starter, lost, kinetic, 100*r)
	}
}
