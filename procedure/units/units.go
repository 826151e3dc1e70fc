// Package units turns quantities into the units that a person reads.
//
// Everything inside the program is in the units of its files: millimetres,
// degrees Celsius, metres, kilopascals, grams a second. A [Units] says what is
// shown instead: [Units.Instrument] and [Units.Reading] for a gauge,
// [Units.Celsius] and [Units.Metres] for a condition, [Units.Words] for a
// sentence that is written already.
//
// Promises: pure; the zero value shows everything as the files have it; nothing
// that is shown is ever read back, so that no rounding enters a run.
package units

import (
	"math"
	"strconv"
	"strings"

	"kickover/procedure"
)

// Units are what quantities are shown in. An empty field is the file's own unit.
type Units struct {
	Lever       string // "mm" or "in"
	Temperature string // "degC" or "degF"
	Altitude    string // "m" or "ft"
	Pressure    string // "kPa" or "psi"
	FuelFlow    string // "L/h" or "gal/h"
}

// The units of each quantity, the one that is used unless another is chosen first.
var (
	Levers       = []string{"mm", "in"}
	Temperatures = []string{"degC", "degF"}
	Altitudes    = []string{"m", "ft"}
	Pressures    = []string{"kPa", "psi"}
	FuelFlows    = []string{"L/h", "gal/h"}
)

// conversion is from a file's unit to one that is shown: multiply, then add.
type conversion struct {
	factor, offset float64
	decimals       int // more digits after the point than the file's unit needs
}

// same is the conversion that is none.
var same = conversion{factor: 1}

// gramsALitre is the density of aviation gasoline that makes a US gallon weigh
// 6 lb: FAA-H-8083-25, weight and balance.
const gramsALitre = 6 * 453.59237 / litresAGallon

const litresAGallon = 3.785411784 // the US gallon of 231 cubic inches, NIST SP 811

// conversions by the unit from and the unit to: NIST SP 811, appendix B.8.
var conversions = map[[2]string]conversion{
	{"mm", "in"}:     {factor: 1 / 25.4, decimals: 2},
	{"degC", "degF"}: {factor: 1.8, offset: 32},
	{"m", "ft"}:      {factor: 1 / 0.3048},
	{"kPa", "psi"}:   {factor: 1 / 6.894757},
	{"g/s", "L/h"}:   {factor: 3600 / gramsALitre},
	{"g/s", "gal/h"}: {factor: 3600 / gramsALitre / litresAGallon},
}

// to is the unit that a file's unit is shown in, and how to get there.
func (u Units) to(from string) (string, conversion) {
	from = strings.ReplaceAll(from, "°", "deg")
	to := map[string]string{"mm": u.Lever, "degC": u.Temperature, "m": u.Altitude, "kPa": u.Pressure, "g/s": u.FuelFlow}[from]
	if c, ok := conversions[[2]string{from, to}]; ok {
		return to, c
	}
	return from, same
}

func (c conversion) of(v float64) float64 { return float64(v*c.factor) + c.offset }

// Reading is a value in a file's unit as it is shown. One that is not a number
// stays so.
func (u Units) Reading(unit string, v float64) float64 {
	_, c := u.to(unit)
	return c.of(v)
}

// Unit is the unit that a file's unit is shown in, as it is printed: "°F".
func (u Units) Unit(unit string) string {
	to, _ := u.to(unit)
	return Sign(to)
}

// Sign prints a unit as a gauge's face has it; files spell degrees out.
func Sign(unit string) string { return strings.ReplaceAll(unit, "deg", "°") }

// Instrument is a gauge with its scale and its markings in the units that are
// shown, and ends of its scale that can be read.
func (u Units) Instrument(i procedure.Instrument) procedure.Instrument {
	to, c := u.to(i.Unit)
	if c == same {
		return i
	}
	i.Unit, i.Decimals = to, i.Decimals+c.decimals
	i.Min, i.Max = ends(c.of(i.Min), c.of(i.Max))
	i.Resolution *= c.factor
	ranges := make([]procedure.Range, len(i.Ranges))
	for n, r := range i.Ranges {
		ranges[n] = procedure.Range{Kind: r.Kind, From: c.of(r.From), To: c.of(r.To)}
	}
	i.Ranges = ranges
	return i
}

// Aircraft is an aircraft whose gauges are in the units that are shown. Its
// controls keep theirs: events are in them.
func (u Units) Aircraft(a *procedure.Aircraft) *procedure.Aircraft {
	shown := *a
	shown.Instruments = make([]procedure.Instrument, len(a.Instruments))
	for n, i := range a.Instruments {
		shown.Instruments[n] = u.Instrument(i)
	}
	return &shown
}

// ends widens a scale so that its figures are round.
func ends(low, high float64) (float64, float64) {
	major := Step(high-low, 6)
	const slack = 1e-9
	return major * math.Floor(low/major+slack), major / 5 * math.Ceil(high/(major/5)-slack)
}

// Step is a step of 1, 2 or 5 times a power of ten that divides a range into
// about n parts.
func Step(span float64, n int) float64 {
	raw := span / float64(n)
	mag := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if raw <= m*mag*1.0001 {
			return m * mag
		}
	}
	return 10 * mag
}

// Celsius prints a temperature in whole degrees: "−4 °C", "25 °F".
func (u Units) Celsius(v float64) string { return u.quantity("degC", v) }

// Metres prints an altitude: "120 m", "400 ft", a foot's to the nearest ten.
func (u Units) Metres(v float64) string { return u.quantity("m", v) }

// Millimetres prints a place on a lever's travel: "28 mm", "1.10 in".
func (u Units) Millimetres(v float64) string { return u.quantity("mm", v) }

func (u Units) quantity(unit string, v float64) string {
	to, c := u.to(unit)
	return number(rounded(to, c.of(v)), c.decimals) + " " + Sign(to)
}

// rounded takes a foot's false precision away.
func rounded(to string, v float64) float64 {
	if to == "ft" {
		return 10 * math.Round(v/10)
	}
	return v
}

// number prints with a true minus sign, and never a negative nothing.
func number(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if digits, negative := strings.CutPrefix(s, "-"); negative {
		if strings.Trim(digits, "0.") == "" {
			return digits
		}
		return "−" + digits
	}
	return s
}
