package powerplant

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Conditions are what the day and the last flight have made of the aeroplane.
// The zero value is a cold morning at sea level: 0 degC, overnight since
// shutdown, a battery kept as it should be, no preheat, the usual oil.
type Conditions struct {
	OATCelsius        float64 // outside air, -40 to 50
	PressureAltitudeM float64 // pressure altitude, -500 to 3000
	// SinceShutdown is the time since the end of a flight; zero is overnight.
	SinceShutdown time.Duration
	// BatteryCharge is the state of charge from just above 0 to 1; zero is
	// UsualCharge. For an empty battery use FaultDeadBattery.
	BatteryCharge float64
	Preheat       time.Duration // warm air blown at the engine just before, 0 to 6 h
	OilGrade      OilGrade      // empty is the powerplant's own
}

// Overnight is the time since shutdown that a zero in Conditions means.
const Overnight = 12 * time.Hour

// UsualCharge is the state of charge that a zero in Conditions means.
const UsualCharge = 0.88

// The widest conditions that can be simulated.
const (
	MinOAT, MaxOAT           = -40.0, 50.0
	MinAltitude, MaxAltitude = -500.0, 3000.0
	MaxPreheat               = 6 * time.Hour
)

// withDefaults fills in what zero stands for.
func (c Conditions) withDefaults(s *Spec) Conditions {
	if c.SinceShutdown == 0 {
		c.SinceShutdown = Overnight
	}
	if c.BatteryCharge == 0 {
		c.BatteryCharge = UsualCharge
	}
	if c.OilGrade == "" {
		c.OilGrade = s.Oil.Grade
	}
	return c
}

// Validate says everything that is wrong with the conditions, and what to do.
func (c Conditions) Validate() error {
	var errs []error
	outside := func(what string, v, low, high float64, unit string) {
		if !(v >= low && v <= high) {
			errs = append(errs, fmt.Errorf("%s %g %s cannot be simulated: use %g to %g %s", what, v, unit, low, high, unit))
		}
	}
	outside("outside air temperature", c.OATCelsius, MinOAT, MaxOAT, "degC")
	outside("pressure altitude", c.PressureAltitudeM, MinAltitude, MaxAltitude, "m")
	outside("battery charge", c.BatteryCharge, 0, 1, "of full")
	if c.SinceShutdown < 0 {
		errs = append(errs, fmt.Errorf("time since shutdown %v is negative: use 0 for overnight or a time", c.SinceShutdown))
	}
	if c.Preheat < 0 || c.Preheat > MaxPreheat {
		errs = append(errs, fmt.Errorf("preheat %v cannot be simulated: use 0 to %v", c.Preheat, MaxPreheat))
	}
	if _, _, ok := c.OilGrade.Viscosities(); c.OilGrade != "" && !ok {
		errs = append(errs, fmt.Errorf("oil grade %q is not known: use one of %v", c.OilGrade, OilGrades()))
	}
	return errors.Join(errs...)
}

// soak brings the plant from the end of a flight to the moment the pilot walks
// up to it. Heads cool to the air, ports follow the heads and the line follows
// the ports, each in its own time: sums of exponentials, so that any time since
// shutdown costs the same. The fuel in the line follows in steps that double as
// things slow down.
func (p *Plant) soak(since time.Duration) {
	h, oat := &p.spec.Heat, p.cond.OATCelsius
	if p.injected {
		p.line = p.spec.Supply.LineGrams
	} else {
		p.bowl = p.spec.Fuel.BowlGrams
	}
	lineSeconds := p.lineSeconds()
	// Above the air, at shutdown.
	head, port, line := h.FlightHead-oat, max(0, h.FlightPort-oat), max(0, h.FlightLine-oat)
	viaHead := float64(head * h.HeadSeconds / (h.HeadSeconds - h.PortSeconds))
	viaPort := port - viaHead
	lineHead := float64(viaHead * h.HeadSeconds / (h.HeadSeconds - lineSeconds))
	linePort := float64(viaPort * h.PortSeconds / (h.PortSeconds - lineSeconds))
	lineOwn := line - lineHead - linePort

	end := since.Seconds()
	long := min(end, 20*h.HeadSeconds) // then it is as cold as it gets, and the line long dry
	a := paceOf(&p.spec, soakStep)
	for gone := 0.0; gone < long; {
		if gone > float64(30*a.dt) && a.dt < soakMost {
			a = paceOf(&p.spec, 2*a.dt)
		}
		if gone+a.dt > long {
			a = paceOf(&p.spec, long-gone)
			gone = long
		}
		gone = min(long, gone+a.dt)
		byHead, byPort := exp(-gone/h.HeadSeconds), exp(-gone/h.PortSeconds)
		p.port = oat + float64(viaHead*byHead) + float64(viaPort*byPort)
		p.filmProperties()
		p.lineProperties()
		p.stepFuel(&a)
		p.lineTemp = oat + float64(lineHead*byHead) + float64(linePort*byPort) + float64(lineOwn*exp(-gone/lineSeconds))
	}
	p.head = oat + float64(head*exp(-end/h.HeadSeconds))
	p.oil = oat + float64((h.FlightOil-oat)*exp(-end/h.OilStopped))
	p.gallery = max(0, 1-end/p.spec.Oil.DrainSecond)
}

// The first step of a soak, and the longest, in s.
const (
	soakStep = 0.5
	soakMost = 256.0
)

// lineSeconds is how fast the line, or the carburettor's bowl, follows the ports.
func (p *Plant) lineSeconds() float64 {
	if p.injected {
		return p.spec.Supply.LineWarm
	}
	return p.spec.Carburettor.BowlWarm
}

// preheat blows warm air at the engine just before the start.
func (p *Plant) preheat(d time.Duration) {
	if d <= 0 {
		return
	}
	h := &p.spec.Heat
	part := 1 - exp(-d.Seconds()/h.PreheatSecond)
	warm := max(p.cond.OATCelsius, min(h.PreheatMost, p.cond.OATCelsius+h.PreheatRise))
	toward := func(t, share float64) float64 {
		return max(t, t+float64(share*part*(warm-t)))
	}
	p.head = toward(p.head, 1)
	p.oil = toward(p.oil, 0.9)
	p.port = toward(p.port, 0.9)
	p.lineTemp = toward(p.lineTemp, 0.8)
}

// finite reports whether x is an ordinary number.
func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
