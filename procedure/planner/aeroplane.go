package planner

import (
	"fmt"
	"time"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// Unit is what a prime is counted in.
type Unit string

// The units.
const (
	Seconds Unit = "s"       // mixture forward, injected engines
	Strokes Unit = "strokes" // of a hand primer
)

// Aeroplane is what a plan is made for: an aircraft's own flows and levers, and
// the simulated engine that stands in for its engine.
type Aeroplane struct {
	Library *procedure.Library
	Spec    powerplant.Spec
	Unit    Unit
}

// NewAeroplane finds the simulated engine of an aircraft.
func NewAeroplane(lib *procedure.Library) (*Aeroplane, error) {
	spec, err := powerplant.ByName(lib.Aircraft.Powerplant)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be planned for: %w", lib.Aircraft.Name, err)
	}
	a := &Aeroplane{Library: lib, Spec: spec, Unit: Seconds}
	if spec.FuelSystem == powerplant.Carburetted {
		a.Unit = Strokes
	}
	return a, nil
}

// Technique is the flow's own way to start with a prime, with the throttle at
// the aircraft's own marks. A plan asks whether it starts and not how it idles,
// and so it ends as soon as that is plain.
func (a *Aeroplane) Technique(prime float64) powerplant.Technique {
	var length time.Duration
	if a.Unit == Seconds {
		length = time.Duration(prime * float64(time.Second))
	}
	t := powerplant.StandardTechnique(a.Spec, length)
	t.UntilSure = true
	if a.Unit == Strokes {
		t.Strokes = int(prime)
	}
	if throttle, ok := a.Library.Aircraft.Control(procedure.ControlThrottle); ok {
		if m, ok := throttle.Mark("prime"); ok {
			t.PrimeMM = float64(m.At)
		}
		if m, ok := throttle.Mark("start"); ok {
			t.StartMM = float64(m.At)
		}
	}
	return t
}

// HeadCelsius is what the cylinder head's gauge would read on the way to the
// start.
func (a *Aeroplane) HeadCelsius(c powerplant.Conditions) (float64, error) {
	c.BatteryCharge = 1 // a flat battery leaves the gauge dark
	p, err := powerplant.New(a.Spec, c, 0)
	if err != nil {
		return 0, err
	}
	p.SetControls(powerplant.Controls{Battery: true})
	p.Step()
	return p.Readings().CylinderHeadC, nil
}
