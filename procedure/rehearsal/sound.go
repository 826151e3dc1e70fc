package rehearsal

import (
	"math"
	"slices"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

// Sound makes the engine heard. Package audio has one.
type Sound interface {
	SetEngine(n Noise)
}

// Noise is what there is to hear of the aeroplane.
type Noise struct {
	RPM         float64
	CrankPhase  float64 // 0 to 1, from one compression to the next
	Firings     int64   // charges that fired so far
	Load        float64 // manifold pressure over ambient
	StarterAmps float64
	BusVolts    float64
	BoostPump   bool
	Battery     bool
	Solenoid    bool
	Alternator  bool
}

// Noise is what there is to hear now.
func (r *Rehearsal) Noise() Noise {
	in, gauges, c := r.plant.Inside(), r.plant.Readings(), r.controls()
	ambient, _ := powerplant.Atmosphere(r.o.Conditions.PressureAltM)
	n := Noise{
		RPM: gauges.RPM, CrankPhase: in.CrankAngle, Firings: in.Firings,
		Load: in.ManifoldKPa / ambient, StarterAmps: in.StarterAmps, BusVolts: gauges.BusVolts,
		Battery: c.Battery, Solenoid: gauges.StarterLight,
		BoostPump: c.BoostPump && (c.Battery || c.ExternalPower) && !slices.Contains(r.faults, string(powerplant.FaultPumpDead)), Alternator: c.Alternator,
	}
	if math.IsNaN(n.BusVolts) {
		n.BusVolts = 0
	}
	return n
}

// silent reports whether a run makes no engine sound: Explain is read in peace.
func (r *Rehearsal) silent() bool { return r.o.Phase == procedure.Explain }
