package rehearsal

import (
	"fmt"
	"math"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// This file maps an aircraft's controls and instruments, by their ids, to the
// simulated powerplant's.

// smellsFrom is how much liquid fuel in the cylinders, in g, is smelt in the
// seat. Estimate: more than the prime that suits leaves there.
const smellsFrom = 1.0

func lamp(lit bool) float64 {
	if lit {
		return 1
	}
	return 0
}

// newPlant builds the powerplant that the aircraft's file names.
func newPlant(o Options) (*powerplant.Plant, error) {
	spec, err := powerplant.ByName(o.Library.Aircraft.Powerplant)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", o.Library.Aircraft.Name, err)
	}
	p, err := powerplant.New(spec, powerplant.Conditions{
		OATCelsius:        o.Conditions.OATCelsius,
		PressureAltitudeM: o.Conditions.PressureAltM,
		SinceShutdown:     o.Conditions.SinceShutdown,
		BatteryCharge:     o.Conditions.BatteryCharge,
		Preheat:           o.Conditions.Preheat,
	}, o.Seed, o.Faults...)
	if err != nil {
		return nil, err
	}
	return p, nil
}

// position is where a control stands; zero where the aircraft has none.
func (r *Rehearsal) position(id procedure.ControlID) procedure.Position {
	for i := range r.positions {
		if r.o.Library.Aircraft.Controls[i].ID == id {
			return r.positions[i]
		}
	}
	return 0
}

// detent is the position of an ignition detent.
func (r *Rehearsal) detent(name string) procedure.Position {
	if c, ok := r.o.Library.Aircraft.Control(procedure.ControlIgnition); ok {
		if p, ok := c.Detent(name); ok {
			return p
		}
	}
	return 0
}

// controls reads the levers as the powerplant takes them.
func (r *Rehearsal) controls() powerplant.Controls {
	on := func(id procedure.ControlID) bool { return r.position(id) != 0 }
	c := powerplant.Controls{
		Battery:    on(procedure.ControlBattery),
		Alternator: on(procedure.ControlAlternator),
		BoostPump:  on(procedure.ControlPump),
		ThrottleMM: float64(r.position(procedure.ControlThrottle)),
		Mixture:    float64(r.position(procedure.ControlMixture)),
		Primer:     float64(r.position(procedure.ControlPrimer)),

		ExternalPower: on(procedure.ControlExternal),
	}
	if selector, ok := r.o.Library.Aircraft.Control(procedure.ControlSelector); ok {
		off, _ := selector.Detent(procedure.DetentOff)
		c.FuelOff = r.position(selector.ID) == off
	}
	if lock, ok := r.o.Library.Aircraft.Control(procedure.ControlPrimerLock); ok {
		unlocked, _ := lock.Detent(procedure.DetentUnlocked)
		c.PrimerUnlocked = r.position(lock.ID) == unlocked
	}
	switch r.position(procedure.ControlIgnition) {
	case r.detent(procedure.DetentStart):
		c.Magnetos, c.Starter = powerplant.MagnetosBoth, true
	case r.detent(procedure.DetentBoth):
		c.Magnetos = powerplant.MagnetosBoth
	case r.detent(procedure.DetentLeft):
		c.Magnetos = powerplant.MagnetoLeft
	case r.detent(procedure.DetentRight):
		c.Magnetos = powerplant.MagnetoRight
	}
	return c
}

// readingOf is what an instrument shows; NaN for one the powerplant does not drive.
func (r *Rehearsal) readingOf(p powerplant.Readings, id procedure.InstrumentID) float64 {
	switch id {
	case procedure.InstrumentBusVolts:
		return p.BusVolts
	case procedure.InstrumentAmperes:
		return p.Amperes
	case procedure.InstrumentFuelFlow:
		return p.FuelFlowGPS
	case procedure.InstrumentFuelPressure:
		return p.FuelPressureKPa
	case procedure.InstrumentRPM:
		return p.RPM
	case procedure.InstrumentOilPressure:
		return p.OilPressureKPa
	case procedure.InstrumentCylinderHead:
		return p.CylinderHeadC
	case procedure.InstrumentStarterLight:
		return lamp(p.StarterLight)
	case procedure.InstrumentSmoke:
		return lamp(p.Smoke)
	case procedure.InstrumentDrips:
		return lamp(p.Drips)
	case procedure.InstrumentFuelSmell:
		return lamp(p.Drips || r.plant.Inside().WetG > smellsFrom)
	default:
		return math.NaN()
	}
}
