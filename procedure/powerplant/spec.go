package powerplant

import "fmt"

// FuelSystem says how fuel reaches the intake.
type FuelSystem string

// The fuel systems.
const (
	Injected    FuelSystem = "injected"    // boost pump, idle cut-off, constant-flow nozzles at the ports
	Carburetted FuelSystem = "carburetted" // float bowl, accelerator pump, hand primer to the ports
)

// Spec holds every parameter of one powerplant. Each number carries its unit
// and its source as struct tags, which [Parameters] reads. Change a field of a
// copy to get another engine; [New] refuses what cannot be simulated.
type Spec struct {
	Name       string
	Title      string
	FuelSystem FuelSystem

	Engine      EngineSpec
	Throttle    ThrottleSpec
	Fuel        FuelSpec
	Supply      SupplySpec
	Carburettor CarburettorSpec
	Ports       PortSpec
	Cylinder    CylinderSpec
	Ignition    IgnitionSpec
	Heat        HeatSpec
	Oil         OilSpec
	Battery     BatterySpec
	Alternator  AlternatorSpec
	Starter     StarterSpec
	Fire        FireSpec
}

// EngineSpec is the crankshaft and what turns with it.
type EngineSpec struct {
	Displacement    float64 `unit:"m3" source:"this aircraft's own"`
	Inertia         float64 `unit:"kg m2" source:"estimate"`                              // crankshaft and propeller
	Propeller       float64 `unit:"N m s2" source:"estimate"`                             // torque over speed squared
	Ripple          float64 `unit:"N m" source:"estimate"`                                // compression torque at sea level
	FrictionDry     float64 `unit:"N m" source:"estimate"`                                // torque that no oil changes
	FrictionOil     float64 `unit:"N m" source:"estimate"`                                // at 100 cSt
	FrictionOilPow  float64 `unit:"1" source:"estimate"`                                  // growth with viscosity
	FrictionSpeed   float64 `unit:"N m per 1000 rpm" source:"estimate"`                   // with speed
	Efficiency      float64 `unit:"1" source:"estimate"`                                  // work out of heat, both magnetos
	OneMagneto      float64 `unit:"1" source:"fitted: a drop near 75 rpm on one magneto"` // work on one plug
	BreathingCrank  float64 `unit:"1" source:"estimate"`                                  // volumetric efficiency below 300 rpm
	BreathingRun    float64 `unit:"1" source:"estimate"`                                  // and above
	BearingSeconds  float64 `unit:"s" source:"estimate"`                                  // running dry until it seizes
	BearingPressure float64 `unit:"kPa" source:"estimate"`                                // below which bearings suffer
}

// ThrottleSpec is the air path.
type ThrottleSpec struct {
	TravelMM       float64 `unit:"mm" source:"fitted: about 1000 rpm at an eighth open"`
	LeakArea       float64 `unit:"m2" source:"estimate"`    // closed against its stop
	LinearArea     float64 `unit:"m2/mm" source:"estimate"` // per mm of lever
	FullArea       float64 `unit:"m2" source:"estimate"`    // added at full travel
	FullPow        float64 `unit:"1" source:"estimate"`     // how late it opens
	ManifoldVolume float64 `unit:"m3" source:"estimate"`    // between throttle and valves
}

// FuelSpec is aviation gasoline.
type FuelSpec struct {
	ReidKPa      float64 `unit:"kPa" source:"ASTM D910 (38 to 49), from memory"`
	Slope        float64 `unit:"1" source:"EPA AP-42 ch. 7, refined stock, from memory"` // distillation slope at 10 %
	VapourMolar  float64 `unit:"g/mol" source:"order of EPA AP-42 ch. 7, from memory"`
	AirFuel      float64 `unit:"1" source:"computed from C8H18"`
	LowerHeating float64 `unit:"kJ/g" source:"ASTM D910, from memory"`
	LeanLimit    float64 `unit:"1 by volume" source:"Bureau of Mines Bulletin 627"`
	RichLimit    float64 `unit:"1 by volume" source:"Bureau of Mines Bulletin 627, from memory"`
	LeanWidth    float64 `unit:"1 by volume" source:"fitted"`
	RichWidth    float64 `unit:"1 by volume" source:"fitted"`
	LightShare   float64 `unit:"1" source:"fitted"`                                      // the rest is heavy
	HeavyPortion float64 `unit:"1 of iso-octane's pressure" source:"estimate"`           // vapour pressure of the heavy part
	BowlGrams    float64 `unit:"g" source:"common practice, no source"`                  // carburettor float bowl
	HotPumpLoss  float64 `unit:"1" source:"fitted"`                                      // flow lost to vapour in the line
	HotBoil      float64 `unit:"1/s" source:"fitted"`                                    // line boiling off after a flight
	ColdBoil     float64 `unit:"s" source:"common practice, no source: empty overnight"` // line drying when cold
}

// SupplySpec is the pump, the metering valve, the line and the flow gauge of an
// injected engine.
type SupplySpec struct {
	PumpKPa      float64 `unit:"kPa" source:"common practice, no source"`
	PumpFullVolt float64 `unit:"V" source:"estimate"` // full pressure at and above
	EngineShare  float64 `unit:"1" source:"estimate"` // engine-driven pump over the boost pump
	EngineRPM    float64 `unit:"rpm" source:"estimate"`
	RiseSeconds  float64 `unit:"s" source:"estimate"`
	FallSeconds  float64 `unit:"s" source:"estimate"`
	CutOff       float64 `unit:"1 of lever travel" source:"common practice, no source"`
	ValveSpan    float64 `unit:"1 of lever travel" source:"estimate"`
	FlowClosed   float64 `unit:"g/s" source:"fitted"`    // full rich, throttle closed
	FlowPerMM    float64 `unit:"g/s/mm" source:"fitted"` // prime flow against the throttle lever
	FlowMost     float64 `unit:"g/s" source:"fitted"`
	RichRunning  float64 `unit:"1" source:"common practice, no source"` // equivalence ratio, full rich
	LineGrams    float64 `unit:"g" source:"common practice, no source"`
	LineOpens    float64 `unit:"1 of line" source:"fitted: the flow levels off in 3 to 5 s"`
	LineSpan     float64 `unit:"1 of line" source:"fitted: the flow levels off in 3 to 5 s"`
	DripFrom     float64 `unit:"1 of line" source:"estimate"`
	DripSeconds  float64 `unit:"s" source:"estimate"`
	GaugeSeconds float64 `unit:"s" source:"common practice, no source"`
	LineWarm     float64 `unit:"s" source:"estimate"` // line follows the ports
	LineHold     float64 `unit:"g" source:"estimate"` // fuel that must pass to cool it
}

// CarburettorSpec is the float carburettor and the hand primer.
type CarburettorSpec struct {
	BowlWarm       float64 `unit:"s" source:"estimate"` // bowl follows the ports
	BowlFill       float64 `unit:"s" source:"estimate"`
	Rich           float64 `unit:"1" source:"common practice, no source"` // equivalence ratio, full rich
	IdleDraw       float64 `unit:"g/s of air" source:"estimate"`          // half the fuel below this air flow
	AccelPerMM     float64 `unit:"g/mm" source:"estimate"`                // accelerator pump
	AccelRefill    float64 `unit:"s" source:"estimate"`
	AccelGrams     float64 `unit:"g" source:"estimate"`                   // pump chamber
	AccelCarried   float64 `unit:"g/s of air" source:"estimate"`          // half is carried up at this air flow, the rest drips
	PrimerGrams    float64 `unit:"g" source:"common practice, no source"` // one stroke
	PrimerFill     float64 `unit:"s" source:"common practice, no source: hold each stroke a second"`
	FireSpill      float64 `unit:"g/s" source:"estimate"` // boiled out of the bowl by a fire, mixture rich
	PrimerUnlocked float64 `unit:"g/s" source:"estimate"` // drawn through an unlocked primer at idle vacuum
}

// PortSpec is the film on the walls and the vapour above it.
type PortSpec struct {
	WallStopped   float64    `unit:"1" source:"estimate"`                                    // share of the fuel that wets the wall
	WallTurning   float64    `unit:"1" source:"fitted, in the form of Aquino, SAE 810494"`   // the same, engine turning
	Evaporation   float64    `unit:"1/s" source:"fitted, in the form of Aquino, SAE 810494"` // still air
	Volume        float64    `unit:"m3" source:"estimate"`                                   // induction volume
	VapourSeconds float64    `unit:"s" source:"estimate"`                                    // vapour leaks away
	VapourSweep   float64    `unit:"1/s" source:"estimate"`                                  // pulses blow vapour out of an open throttle
	FilmGrams     float64    `unit:"g" source:"fitted"`                                      // cold walls hold
	FilmKPa       float64    `unit:"kPa" source:"fitted"`                                    // vapour pressure that halves it
	FilmPow       float64    `unit:"1" source:"fitted"`
	DrainSeconds  float64    `unit:"s" source:"estimate"`   // what the walls cannot hold
	DrainIn       float64    `unit:"1" source:"estimate"`   // of it to the cylinders, cold
	DrainInHot    float64    `unit:"1" source:"estimate"`   // more of it, hot
	Transfer      float64    `unit:"1/kPa" source:"fitted"` // transfer units per charge
	TransferKPa   float64    `unit:"kPa" source:"fitted"`
	TransferPow   float64    `unit:"1" source:"fitted"`
	Entrain       float64    `unit:"1" source:"fitted"`   // film torn off as drops per charge at 1000 rpm
	Sweep         float64    `unit:"1" source:"estimate"` // film blown on by an open throttle per charge
	Nozzles       [4]float64 `unit:"1" source:"estimate"` // each cylinder's share
}

// CylinderSpec is what becomes of fuel inside the cylinders.
type CylinderSpec struct {
	CaptureCold float64 `unit:"1" source:"fitted"`   // drops that become vapour
	CaptureFire float64 `unit:"1" source:"fitted"`   // more when it fires
	CaptureHeat float64 `unit:"1/K" source:"fitted"` // more on a warm head
	CaptureMost float64 `unit:"1" source:"fitted"`   // and no more
	WetRelease  float64 `unit:"1" source:"fitted"`   // liquid that evaporates per charge
	WetFire     float64 `unit:"1" source:"fitted"`   // more when it fires
	WetVapour   float64 `unit:"1" source:"fitted"`   // more when the fuel boils
	Purge       float64 `unit:"1" source:"fitted"`   // liquid blown out per charge
	PurgeOpen   float64 `unit:"1" source:"estimate"` // more with the throttle open
	DrySeconds  float64 `unit:"s" source:"fitted"`   // liquid lost past the rings and valves
	DryKPa      float64 `unit:"kPa" source:"fitted"` // vapour pressure that doubles it
	PlugsWet    float64 `unit:"g" source:"fitted"`   // in one cylinder, that halves its sparks
	BestFire    float64 `unit:"1" source:"estimate"` // of charges that could burn
	WeakCrank   float64 `unit:"1" source:"estimate"` // work at cranking speed over work at 600 rpm
}

// IgnitionSpec is the magnetos.
type IgnitionSpec struct {
	SparkRPM    float64 `unit:"rpm" source:"estimate"`                   // with an impulse coupling
	CouplingRPM float64 `unit:"rpm" source:"common practice, no source"` // without one
}

// HeatSpec is how the engine warms and cools. A flight ends at the Flight
// temperatures, then everything soaks.
type HeatSpec struct {
	FlightHead    float64 `unit:"degC" source:"common practice, no source"`
	FlightPort    float64 `unit:"degC" source:"estimate"`
	FlightOil     float64 `unit:"degC" source:"common practice, no source"`
	FlightLine    float64 `unit:"degC" source:"estimate"`
	HeadGain      float64 `unit:"K per g of air" source:"fitted: settles near 120 K above the air at idle"`
	HeadSeconds   float64 `unit:"s" source:"fitted: cold after an evening"`
	HeadFan       float64 `unit:"1/rpm" source:"estimate"`
	PortSeconds   float64 `unit:"s" source:"fitted"`
	PortRunning   float64 `unit:"1" source:"estimate"` // ports over the head, with air and fuel cooling them
	ChargeShare   float64 `unit:"1" source:"estimate"` // how far the air warms to the ports
	OilShare      float64 `unit:"1" source:"estimate"`
	OilRunning    float64 `unit:"s" source:"estimate"`
	OilStopped    float64 `unit:"s" source:"estimate"`
	PreheatRise   float64 `unit:"K" source:"common practice, no source"` // an hour or two of blown warm air
	PreheatSecond float64 `unit:"s" source:"common practice, no source"`
	PreheatMost   float64 `unit:"degC" source:"common practice, no source"`
}

// OilSpec is the oil and its pump.
type OilSpec struct {
	Grade       OilGrade
	ReliefKPa   float64 `unit:"kPa" source:"common practice, no source"`
	ReliefThick float64 `unit:"1/cSt" source:"estimate"`
	PumpKPa     float64 `unit:"kPa/rpm" source:"estimate"`
	PumpPow     float64 `unit:"1" source:"estimate"`
	FillSeconds float64 `unit:"s at 1000 rpm" source:"fitted: pressure in 4 s at 20 degC, 9 s at -10"`
	FillThick   float64 `unit:"s" source:"fitted: pressure in 4 s at 20 degC, 9 s at -10"`
	DrainSecond float64 `unit:"s" source:"estimate"` // galleries drain after shutdown
	GaugeSecond float64 `unit:"s" source:"estimate"`
}

// BatterySpec is a lead-acid battery.
type BatterySpec struct {
	Cells        float64 `unit:"1" source:"this aircraft's own"`
	AmpereHours  float64 `unit:"A h" source:"common practice, no source"`
	Ohms         float64 `unit:"ohm" source:"common practice, no source"` // at 25 degC, full
	OhmsCold     float64 `unit:"1/K" source:"common practice, no source"` // more below 25 degC
	CapacityCold float64 `unit:"1/K" source:"common practice, no source"` // less below 25 degC
	Peukert      float64 `unit:"1" source:"common practice, no source"`
	VoltRule     float64 `unit:"V per cell" source:"open circuit = specific gravity + 0.845, rule from memory"`
	GravityEmpty float64 `unit:"1" source:"common practice, no source"`
	GravitySpan  float64 `unit:"1" source:"common practice, no source"`
	BusLoad      float64 `unit:"A" source:"estimate"` // instruments
	PumpLoad     float64 `unit:"A" source:"estimate"`
	SolenoidLoad float64 `unit:"A" source:"estimate"`
}

// AlternatorSpec is the alternator with its regulator.
type AlternatorSpec struct {
	Volts      float64 `unit:"V" source:"common practice, no source"`
	ChargeMost float64 `unit:"A" source:"estimate"`
	OnlineRPM  float64 `unit:"rpm" source:"estimate"`
	WireOhms   float64 `unit:"ohm" source:"estimate"`
	Efficiency float64 `unit:"1" source:"estimate"`
}

// StarterSpec is the starter motor with its drive and heat.
type StarterSpec struct {
	Ohms        float64 `unit:"ohm" source:"estimate"` // winding at 20 degC
	OhmsPerK    float64 `unit:"1/K" source:"copper, IEC 60028"`
	CableOhms   float64 `unit:"ohm" source:"estimate"`
	BrushVolts  float64 `unit:"V" source:"estimate"`
	VoltSeconds float64 `unit:"V s" source:"estimate"`   // back-EMF at the crankshaft, gear included
	Torque      float64 `unit:"N m/A" source:"estimate"` // at the crankshaft, gear losses included
	GearLoss    float64 `unit:"1" source:"estimate"`     // of the crank power, into the case
	FreeAmps    float64 `unit:"A" source:"estimate"`     // running free
	WindingHeat float64 `unit:"J/K" source:"fitted: inside class F when the limits are kept"`
	CaseHeat    float64 `unit:"J/K" source:"fitted"`
	WindingCool float64 `unit:"W/K" source:"fitted"`
	CaseCool    float64 `unit:"W/K" source:"fitted: thirty minutes bring it back"`
	BurnCelsius float64 `unit:"degC" source:"estimate: well past class H, IEC 60085"`
	PullIn      float64 `unit:"1 of nominal volts" source:"estimate"` // contactor closes at
	DropOut     float64 `unit:"1 of nominal volts" source:"estimate"` // and opens at,
	DropSeconds float64 `unit:"s" source:"estimate"`                  // when the volts stay below for so long
}

// FireSpec is fire in the induction system.
type FireSpec struct {
	PuddleSeconds float64 `unit:"s" source:"estimate"` // spilt fuel dries
	PuddleGrams   float64 `unit:"g" source:"estimate"` // enough to burn
	Backfire      float64 `unit:"1" source:"estimate"` // chance per spark of an engine that hardly fires, while a puddle lies there
	Provoked      float64 `unit:"1" source:"estimate"` // the same when the fault is set
	GrowSeconds   float64 `unit:"s" source:"estimate"` // to full size
	DrawnSeconds  float64 `unit:"s" source:"estimate"` // drawn in by a cranked engine with the throttle open
	StarveSeconds float64 `unit:"s" source:"estimate"` // without fuel
	BurnRate      float64 `unit:"g/s" source:"estimate"`
	TimeToSpread  float64 `unit:"s" source:"estimate"` // at full size until cranking no longer helps
}

// Specs are the powerplants that ship, in order of their names.
func Specs() []Spec { return []Spec{carburetted100(), injected180()} }

// ByName finds a powerplant that ships.
func ByName(name string) (Spec, error) {
	for _, s := range Specs() {
		if s.Name == name {
			return s, nil
		}
	}
	return Spec{}, fmt.Errorf("no powerplant is called %q: use %q or %q", name, "injected-180", "carburetted-100")
}
