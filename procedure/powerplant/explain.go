package powerplant

import (
	"fmt"
	"time"
)

// Quantity is one number behind a start, and how to check it by hand.
type Quantity struct {
	Key   string // stable, for machines: "ambient_pressure"
	Name  string
	Value float64
	Unit  string
	How   string // the rule or standard it follows from
}

// Explain works out the quantities behind a start: what the air, the fuel, the
// oil, the battery and the starter bring to it. It primes a plant of this spec
// as the technique says and cranks it with the ignition off, so that what is in
// the cylinders can be seen and does not burn. Nothing is scattered.
func Explain(spec Spec, cond Conditions, technique Technique) ([]Quantity, error) {
	p, err := New(spec, cond, 1)
	if err != nil {
		return nil, fmt.Errorf("explain: %w", err)
	}
	e := explanation{flight: flight{p: p, t: technique.withDefaults(spec)}}
	e.air()
	e.fuel()
	e.battery()
	e.flight.reachForPrime()
	e.flight.primeTo(e.flight.t.Prime, e.flight.t.Strokes)
	e.flight.endPrime()
	e.flight.wait(e.flight.t.Wait)
	e.primed()
	e.crank()
	return e.list, nil
}

type explanation struct {
	flight flight
	list   []Quantity
}

func (e *explanation) add(key, name string, value float64, unit, how string) {
	e.list = append(e.list, Quantity{Key: key, Name: name, Value: value, Unit: unit, How: how})
}

func (e *explanation) air() {
	p := e.flight.p
	oat := p.cond.OATCelsius
	e.add("ambient_pressure", "ambient pressure", p.ambientKPa, "kPa", "ISO 2533: 101.325 (1 - 0.0065 h / 288.15)^5.25588")
	e.add("ambient_density", "ambient density", AirDensity(p.ambientKPa, oat), "kg/m3", "p / (287.053 T)")
	e.add("air_per_cylinder", "air in one cylinder", float64(p.spec.Engine.BreathingCrank*p.slow.sweptAir*p.ambientKPa), "g", "volumetric efficiency x a quarter of the displacement x density, warmed a little by the ports")
}

func (e *explanation) fuel() {
	p := e.flight.p
	f := &p.spec.Fuel
	e.add("head_temperature", "cylinder head", p.head, "degC", "cools from the flight's end towards the air")
	e.add("port_temperature", "intake ports", p.port, "degC", "soak in the heads' heat")
	e.add("line_temperature", "fuel line", p.lineTemp, "degC", "soaks in the ports' heat")
	e.add("vapour_pressure", "fuel vapour pressure at the ports", p.slow.vapourKPa, "kPa", "EPA AP-42 chapter 7 from Reid vapour pressure and distillation slope")
	e.add("vapour_pressure_line", "fuel vapour pressure in the line", p.gasoline.at(p.lineTemp), "kPa", "the same; above the ambient pressure it boils")
	e.add("lean_limit", "least vapour that burns", f.LeanLimit*100, "% by volume", "Bureau of Mines Bulletin 627")
	e.add("rich_limit", "most vapour that burns", f.RichLimit*100, "% by volume", "Bureau of Mines Bulletin 627")
	e.add("lean_limit_ratio", "equivalence ratio at the least", equivalence(f, f.LeanLimit), "1", "y M_fuel / ((1 - y) M_air) x air-fuel ratio")
	e.add("oil_viscosity", "oil viscosity", p.slow.oilCSt, "cSt", "ASTM D341 through the grade's values at 40 and 100 degC")
}

// equivalence is the fuel in a charge over what its air can burn.
func equivalence(f *FuelSpec, fraction float64) float64 {
	return float64(fraction*f.VapourMolar*f.AirFuel) / float64((1-fraction)*airMolar)
}

func (e *explanation) battery() {
	p := e.flight.p
	e.add("battery_charge", "battery charge", p.soc*100, "%", "as given")
	e.add("battery_open_circuit", "battery at rest", p.openVolts, "V", "cells x (specific gravity + 0.845)")
	e.add("battery_resistance", "battery resistance", p.sourceOhms*1000, "mohm", "grows with cold and with discharge")
	e.flight.c.Battery = true
	e.flight.set()
	e.flight.wait(time.Second)
	e.add("bus_volts", "bus before the start", p.busVolts(), "V", "at rest, less the instruments' current through the battery")
}

func (e *explanation) primed() {
	p := e.flight.p
	e.add("line_fill", "fuel line filled", p.Inside().LineFill*100, "%", "the nozzles flow once it is a third full")
	e.add("film", "fuel on the ports' walls", p.filmLight+p.filmHeavy, "g", "what the prime left there")
	e.add("film_most", "fuel the walls can hold", p.slow.filmMost, "g", "less when hot; what is over drains")
	e.add("wet", "liquid in the cylinders", p.wet, "g", fmt.Sprintf("%.1f g wet half the sparks", 4*p.spec.Cylinder.PlugsWet))
}

// crank turns the engine for as long as an attempt may last, ignition off.
func (e *explanation) crank() {
	f, p := &e.flight, e.flight.p
	f.c.ThrottleMM = f.t.StartMM
	f.c.Starter = true
	f.set()
	f.halfTurns = p.halfTurns
	var volts, amps float64
	looks := 0
	begin, turns := p.Elapsed(), p.halfTurns
	for p.Elapsed()-begin < f.t.Crank {
		f.step()
		volts += p.busVolts()
		amps += p.motorAmps
		looks++
	}
	seconds := (p.Elapsed() - begin).Seconds()
	e.add("cranking_volts", "bus while cranking", volts/float64(looks), "V", "at rest, less the starter's current through the battery")
	e.add("cranking_amperes", "starter current", amps/float64(looks), "A", "(volts - brushes - back-EMF) / resistance")
	e.add("cranking_rpm", "cranking speed", float64(p.halfTurns-turns)/2/seconds*60, "rpm", "half revolutions counted")
	e.add("winding_temperature", "starter winding after it", p.winding, "degC", "I2R and brush heat into the winding; class F ends at 155 degC, IEC 60085")
	mean := 0.0
	if f.charges > 0 {
		mean = f.sum / float64(f.charges)
	}
	e.add("vapour_fraction", "vapour in the charges, mean", mean*100, "% by volume", "between the two limits it burns")
	e.add("equivalence_ratio", "equivalence ratio of that", equivalence(&p.spec.Fuel, mean), "1", "1 is just enough air")
	part := func(n int) float64 { return 100 * float64(n) / float64(max(1, f.charges)) }
	e.add("charges_lean", "charges too lean", part(f.lean), "%", "")
	e.add("charges_rich", "charges too rich", part(f.rich), "%", "")
	e.add("charges_wet", "charges with wet plugs", part(f.wet), "%", "")
}
