package powerplant

import "math"

const (
	celsius0    = 273.15 // K
	gasConstant = 8.314  // J/mol/K
	airMolar    = 28.9644
	airGas      = 287.053 // J/kg/K
	psiKPa      = 6.894757
	seaLevelKPa = 101.325
)

// Atmosphere gives the International Standard Atmosphere (ISO 2533) at a
// pressure altitude in metres, in the troposphere: pressure in kPa and
// temperature in degC.
func Atmosphere(altitudeM float64) (pressureKPa, celsius float64) {
	fall := float64(0.0065 * altitudeM)
	return float64(seaLevelKPa * pow(1-fall/288.15, 5.25588)), 15 - fall
}

// AirDensity is dry air's density in kg/m3.
func AirDensity(pressureKPa, celsius float64) float64 {
	return pressureKPa * 1000 / (airGas * (celsius + celsius0))
}

// clausius is a vapour pressure curve, ln P = a + b/T with T in K and P in kPa.
type clausius struct{ a, b float64 }

func (c clausius) at(celsius float64) float64 { return exp(c.a + c.b/(celsius+celsius0)) }

// gasolineCurve is EPA AP-42 chapter 7's regression for refined petroleum
// stocks, from Reid vapour pressure and distillation slope. Its Rankine zero is
// 459.6, so the curve is a hair off an exact absolute temperature.
func gasolineCurve(reidKPa, slope float64) clausius {
	lr := log10(reidKPa / psiKPa)
	rs := math.Sqrt(slope)
	a := float64(0.7553*rs*lr) - float64(1.854*rs) - float64(2.013*lr) + 15.64
	b := float64(-413*rs*lr) + float64(1042*rs) + float64(2416*lr) - 8742
	return clausius{a: a + log(psiKPa), b: b / 1.8}
}

// IsoOctaneVapourKPa is the vapour pressure of iso-octane by Antoine's equation
// with the coefficients that NIST lists.
func IsoOctaneVapourKPa(celsius float64) float64 {
	return float64(100 * exp10(3.93679-1257.84/(celsius+celsius0-52.415)))
}

// OilGrade is the oil in the sump.
type OilGrade string

// The grades. The empty grade is whatever the powerplant's Spec names.
const (
	OilGrade65    OilGrade = "65"     // SAE 30
	OilGrade80    OilGrade = "80"     // SAE 40
	OilGrade100   OilGrade = "100"    // SAE 50
	OilGrade20W50 OilGrade = "20W-50" // multigrade
)

// OilGrades are the grades known, thinnest first.
func OilGrades() []OilGrade {
	return []OilGrade{OilGrade65, OilGrade80, OilGrade20W50, OilGrade100}
}

// Viscosities gives the kinematic viscosity of a grade at 40 and 100 degC in
// cSt: typical values from memory, inside SAE J300's windows. It reports false
// for a grade it does not know.
func (g OilGrade) Viscosities() (at40, at100 float64, ok bool) {
	switch g {
	case OilGrade65:
		return 100, 11.2, true
	case OilGrade80:
		return 142, 14.7, true
	case OilGrade100:
		return 215, 19.5, true
	case OilGrade20W50:
		return 165, 19.0, true
	}
	return 0, 0, false
}

// Walther is the straight line of ASTM D341 through two known viscosities.
type Walther struct{ A, B float64 }

// WaltherThrough fits the line to two temperatures in degC and viscosities in cSt.
func WaltherThrough(t1, v1, t2, v2 float64) Walther {
	y1, y2 := log10(log10(v1+0.7)), log10(log10(v2+0.7))
	x1, x2 := log10(t1+celsius0), log10(t2+celsius0)
	b := (y1 - y2) / (x2 - x1)
	return Walther{A: y1 + float64(b*x1), B: b}
}

// At is the kinematic viscosity in cSt at a temperature in degC.
func (w Walther) At(celsius float64) float64 {
	return exp10(exp10(w.A-float64(w.B*log10(celsius+celsius0)))) - 0.7
}
