package powerplant

import "fmt"

// Fault is something wrong that the pilot is not told.
type Fault string

// The faults that can be set.
const (
	FaultPumpDead       Fault = "boost_pump_dead"
	FaultNoFuel         Fault = "no_fuel"
	FaultVapourInLines  Fault = "vapour_in_lines"
	FaultWeakBattery    Fault = "weak_battery"
	FaultDeadBattery    Fault = "dead_battery"
	FaultSulphated      Fault = "sulphated_battery"
	FaultDriveSticks    Fault = "starter_does_not_engage"
	FaultStaysEngaged   Fault = "starter_stays_engaged"
	FaultLeftMagneto    Fault = "left_magneto_dead"
	FaultRightMagneto   Fault = "right_magneto_dead"
	FaultImpulse        Fault = "impulse_coupling_failed"
	FaultNoOilPressure  Fault = "no_oil_pressure"
	FaultAlternatorDead Fault = "alternator_dead"
	FaultMixtureStuck   Fault = "mixture_linkage_stuck"
	FaultInductionFire  Fault = "induction_fire"
	FaultFlooded        Fault = "flooded"
)

// How much of it: fuel that must be asked for before the line is free of
// vapour, and fuel that lies in the induction, in g. Estimates.
const (
	vapourSlug = 12.0
	spiltGrams = 10.0
)

// faults is what is wrong with a plant.
type faults struct {
	pumpDead, noFuel, sulphated, driveSticks, staysEngaged, welded bool
	leftDead, rightDead, couplingFailed, noOil, alternatorDead     bool
	mixtureStuck, inductionFire                                    bool
}

// FaultInfo tells an instructor what a fault is.
type FaultInfo struct {
	Fault  Fault
	Name   string
	Signs  string // what the pilot sees and hears
	WayOut string // the right act
}

// Faults lists every fault, in the order an instructor would look for them.
func Faults() []FaultInfo {
	return []FaultInfo{
		{FaultPumpDead, "Boost pump dead", "pump on, but no fuel pressure and no flow; amperes as ever", "pump off, breaker; with the mixture forward the engine's own pump primes while cranking, else a mechanic"},
		{FaultNoFuel, "No fuel", "pump on and heard, but no pressure and no flow, whatever the mixture", "stop: selector and tanks before anything else"},
		{FaultVapourInLines, "Vapour in the lines", "flow low and wandering; it stumbles after it fires", "pump on, throttle at the prime mark, mixture forward until the flow is steady; then count the prime; leave the pump on until it runs smoothly"},
		{FaultWeakBattery, "Weak battery", "bus volts low before the start; it cranks slowly and the volts sink", "do not crank on: charge it or use external power"},
		{FaultDeadBattery, "Dead battery", "bus volts far below the least; the contactor chatters, the propeller hardly moves", "battery off: charge it or use external power"},
		{FaultSulphated, "Sulphated battery", "bus volts read well until it cranks, then fall by half", "watch the dip: a battery that cannot carry the starter is for the mechanic; external power"},
		{FaultDriveSticks, "Starter does not engage", "starter light on and a whirr, but the propeller stands", "release, wait until it is still, try again; then a mechanic"},
		{FaultStaysEngaged, "Starter stays engaged", "starter light on and amperes low after the switch went back to BOTH", "mixture to cut-off and battery off, at once"},
		{FaultLeftMagneto, "Left magneto dead", "it cranks well, fuel is right, and it never fires: only the left has an impulse coupling", "stop: a mechanic"},
		{FaultRightMagneto, "Right magneto dead", "starts as ever; a little slow; on R it dies", "do not fly: a mechanic"},
		{FaultImpulse, "Impulse coupling failed", "it cranks well, fuel is right, and it never fires: no spark at cranking speed", "stop: a mechanic"},
		{FaultNoOilPressure, "No oil pressure", "oil pressure stays at zero after the start", "mixture to cut-off within 30 s"},
		{FaultAlternatorDead, "Alternator dead", "alternator on, volts do not rise, amperes stay on discharge", "alternator off and on once; then a mechanic"},
		{FaultMixtureStuck, "Mixture linkage stuck", "lever at cut-off, and the fuel still flows", "pump off and fuel selector off: the lever no longer stops it"},
		{FaultInductionFire, "Induction fire after over-priming", "fuel drips below the engine; then a thump, smoke and flame at the cowling", "keep cranking, mixture to cut-off, throttle open, pump off; the aircraft's own handbook rules"},
		{FaultFlooded, "Flooded by the previous pilot", "smell of fuel, drips; it does not fire or coughs wet", "no more prime: patience, or an open throttle"},
	}
}

// Inject sets a fault, now.
func (p *Plant) Inject(f Fault) error {
	switch f {
	case FaultPumpDead:
		p.fault.pumpDead = true
	case FaultNoFuel:
		p.fault.noFuel = true
		p.bowl = 0
	case FaultVapourInLines:
		p.slug = vapourSlug
	case FaultWeakBattery:
		p.soc = min(p.soc, 0.22)
	case FaultDeadBattery:
		p.soc = min(p.soc, 0.01)
		p.fault.sulphated = true // a battery left flat sulphates
	case FaultSulphated:
		p.fault.sulphated = true
	case FaultDriveSticks:
		p.fault.driveSticks = true
	case FaultStaysEngaged:
		p.fault.staysEngaged = true
	case FaultLeftMagneto:
		p.fault.leftDead = true
	case FaultRightMagneto:
		p.fault.rightDead = true
	case FaultImpulse:
		p.fault.couplingFailed = true
	case FaultNoOilPressure:
		p.fault.noOil = true
	case FaultAlternatorDead:
		p.fault.alternatorDead = true
	case FaultMixtureStuck:
		p.fault.mixtureStuck = true
	case FaultInductionFire:
		p.fault.inductionFire = true
		p.flood(1)
		spilt := max(0, spiltGrams-p.puddle)
		p.puddle += spilt
		p.audit.in += spilt
	case FaultFlooded:
		p.flood(1.4)
	default:
		return fmt.Errorf("no fault is called %q: see Faults for those there are", f)
	}
	p.properties()
	return nil
}

// flood puts a previous pilot's fuel in the ports, and what they cannot hold in
// the cylinders.
func (p *Plant) flood(times float64) {
	before := p.held()
	most, light := p.slow.filmMost, p.spec.Fuel.LightShare
	p.filmLight = max(p.filmLight, float64(0.8*light*most))
	p.filmHeavy = max(p.filmHeavy, float64((1-light)*most))
	p.wet = max(p.wet, float64(times*p.spec.Ports.FilmGrams/3))
	p.audit.in += p.held() - before
}
