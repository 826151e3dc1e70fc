package powerplant

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"
)

const checksFile = "../../testdata/powerplant/checks.csv"

// check is one row of checks.csv: what the package computes for it, and how
// near it must come to the published value in the row's own unit.
type check struct {
	got       float64
	tolerance float64
	want      float64 // for rows whose published value is not one number; else 0
}

// notModelled are rows that state a fact of the world the model does not
// compute. Each says why it stays in the file.
var notModelled = map[string]string{
	"C33": "the fuel's distillation enters as a vapour pressure and two fractions",
	"C34": "the same", "C35": "the same", "C36": "the same", "C37": "the same",
	"C38": "no fuel freezes at -40 degC, the coldest that can be simulated",
	"C67": "resistance is a parameter; only its rise with temperature is computed",
	"C69": "the starter is held to class F; the other classes stand here for whoever changes it",
	"C70": "the same", "C72": "the same",
	"C75": "arithmetic on the rule that the starter's limits test flies",
	"C89": "the engine's rated power is a name; only starting and idling are modelled",
	"C73": "a rise over coolant, where the starter is judged by temperature",
	"C74": "a definition",
}

func fahrenheit(f float64) float64 { return (f - 32) / 1.8 }

func computed(t *testing.T) map[string]check {
	spec := injected180()
	c := map[string]check{}
	for id, h := range map[string]float64{"C01": 0, "C03": 500, "C05": 1000, "C09": 2000, "C11": 2500} {
		p, _ := Atmosphere(h)
		c[id] = check{got: p * 1000, tolerance: p * 0.5}
	}
	for id, h := range map[string]float64{"C02": 0, "C06": 1000, "C08": 1500, "C12": 2500, "C14": 3000} {
		rho := AirDensity(Atmosphere(h))
		c[id] = check{got: rho, tolerance: rho * 0.0005}
	}
	_, k := Atmosphere(1000)
	c["C15"] = check{got: k + 273.15, tolerance: 0.01}
	p11, _ := Atmosphere(11000)
	c["C17"] = check{got: p11 * 1000, tolerance: 1}

	// The regression's own absolute zero is -459.6 degF, a hair off the engine's.
	const zero = (32 + 459.6) / 1.8
	tvp := func(rvp, f, slope float64) float64 {
		return gasolineCurve(rvp*psiKPa, slope).at(fahrenheit(f)+zero-celsius0) / psiKPa
	}
	for id, in := range map[string][2]float64{
		"C18": {13, 40}, "C20": {13, 80}, "C21": {13, 100},
		"C22": {10, 40}, "C23": {10, 60}, "C25": {10, 100},
		"C26": {7, 40}, "C28": {7, 80},
	} {
		v := tvp(in[0], in[1], 3)
		c[id] = check{got: v, tolerance: 0.06 * v}
	}
	c["C30"] = check{got: tvp(6.382, 59, 2), tolerance: 0.005}
	c["C31"] = check{got: tvp(6.382, 100, 2), tolerance: 0.005}
	c["C32"] = check{got: spec.Fuel.ReidKPa, want: 43.5, tolerance: 5.5}
	c["C39"] = check{got: spec.Fuel.LowerHeating, tolerance: 0.001}

	c["C40"] = check{got: WaltherThrough(40, 404, 100, 28).At(60), tolerance: 0.1}
	// That page's zero is 273, not 273.15.
	page := WaltherThrough(40-0.15, 32, 100-0.15, 5.4)
	c["C41"] = check{got: page.A + page.B, want: 9.5259 + 3.7449, tolerance: 0.0005}
	at40, at100, _ := OilGrade100.Viscosities()
	oil := WaltherThrough(40, at40, 100, at100)
	for id, at := range map[string]float64{"C44": -10, "C45": 0, "C47": 80} {
		c[id] = check{got: oil.At(at), tolerance: 0.005 * oil.At(at)}
	}
	c["C48"] = check{got: at100, want: (16.3 + 21.9) / 2, tolerance: (21.9 - 16.3) / 2}
	grade, _ := strconv.ParseFloat(string(spec.Oil.Grade), 64)
	c["C49"] = check{got: grade}

	c["C50"] = check{got: spec.Fuel.AirFuel, tolerance: 0.04}
	c["C51"] = check{got: spec.Fuel.AirFuel, tolerance: 0.09} // its air is leaner in argon
	octane := FuelSpec{VapourMolar: 114.232, AirFuel: 15.13}
	c["C52"] = check{got: 1.65 * equivalence(&octane, 0.0165), tolerance: 0.01}
	c["C53"] = check{got: spec.Fuel.LeanLimit * 100, tolerance: 1e-9}
	c["C54"] = check{got: spec.Fuel.RichLimit * 100, tolerance: 1e-9}
	c["C55"] = check{got: equivalence(&spec.Fuel, 0.013), tolerance: 0.001}
	c["C57"] = check{got: IsoOctaneVapourKPa(99.24), tolerance: 0.5}

	// These pages have t = C / I^k, where the engine's battery is rated by what it
	// gives in 20 hours.
	empties := func(c, k, amps float64) (hours float64) {
		rated := spec
		rated.Battery.AmpereHours, rated.Battery.Peukert = 20*math.Pow(c/20, 1/k), k
		return 1 / -mustNew(t, rated, Conditions{OATCelsius: 25}).chargeRate(-amps) / 3600
	}
	c["C58"] = check{got: empties(100, 1.2, 5), tolerance: 0.05}
	c["C59"] = check{got: empties(250, 1.3, 20), tolerance: 1e-5}
	b := spec.Battery
	gravity := func(cells, sg float64) float64 {
		b.Cells = cells
		return b.OpenCircuitVolts((sg - b.GravityEmpty) / b.GravitySpan)
	}
	c["C61"] = check{got: gravity(6, 1.27), tolerance: 0.07}
	c["C62"] = check{got: gravity(6, 1.24), tolerance: 0.07}
	c["C63"] = check{got: gravity(6, 1.21), tolerance: 0.07}
	c["C65"] = check{got: gravity(12, 1.155), tolerance: 0.001}

	copper := spec
	copper.Starter.Ohms = 0.1
	warm := mustNew(t, copper, Conditions{})
	warm.winding = 50
	c["C66"] = check{got: warm.windingOhms(), tolerance: 1e-5}
	c["C71"] = check{got: ClassFCelsius}

	c["C79"] = check{got: warm.slow.pumping * 100, tolerance: 0.01}
	c["C81"] = check{got: chokedFlow, tolerance: 1e-4}
	c["C82"] = check{got: criticalRatio, tolerance: 5e-4}
	c["C88"] = check{got: spec.Engine.Propeller * math.Pow(2300*math.Pi/30, 3) / 1000, tolerance: 0.1}
	turning := mustNew(t, spec, Conditions{})
	turning.speed = 104.72
	c["C90"] = check{got: turning.rpm(), tolerance: 0.01}
	identityChecks(t, c)
	return c
}

// identityChecks are the rows that a run must satisfy.
func identityChecks(t *testing.T, c map[string]check) {
	p := mustNew(t, injected180(), Conditions{OATCelsius: 20})
	if o := Fly(p, Technique{Prime: 4 * time.Second}); !o.Started {
		t.Fatalf("the plant for the identities did not start: %s", o.Reason)
	}
	turns, angle, steps := p.halfTurns, 0.0, 0
	for ; steps < 50000; steps++ {
		p.Step()
		angle += p.speed * p.pace.dt
	}
	perRevolution := float64(p.halfTurns-turns) / (angle / (2 * math.Pi))
	c["C76"] = check{got: perRevolution, tolerance: 0.005} // whole turns counted in 100 s
	c["C77"] = check{got: perRevolution * 1000 / 60, tolerance: 0.05}
	c["C78"] = check{got: perRevolution * 120 / 60, tolerance: 0.01}

	// Simpson's rule over the torques that crank uses.
	var work, ripple float64
	const n = 1000
	for i := range n + 1 {
		sin, cos := sinCos(math.Pi * float64(i) / n)
		weight := 2 + 2*float64(i%2)
		if i == 0 || i == n {
			weight = 1
		}
		work += weight * sin / 2
		ripple += weight * 2 * sin * cos
	}
	c["C83"] = check{got: work * math.Pi / n / 3, want: 1, tolerance: 1e-6}
	c["C84"] = check{got: ripple * math.Pi / n / 3, tolerance: 1e-9}
	c["C85"] = check{got: fuelResidual(p), tolerance: 1e-6}
	c["C86"] = check{got: starterResidual(t), tolerance: 1e-9}
	c["C87"] = check{got: heatResidual(p), tolerance: 1e-6}
}

// TestPublishedValues holds the package to every row of checks.csv. The
// tolerance and the source of each stand in the file.
func TestPublishedValues(t *testing.T) {
	f, err := os.Open(checksFile)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	checks := computed(t)
	for _, row := range rows[1:] {
		id, quantity, inputs, expected, unit, source := row[0], row[1], row[2], row[3], row[4], row[6]
		t.Run(id+" "+quantity, func(t *testing.T) {
			c, ok := checks[id]
			if !ok {
				if notModelled[id] == "" {
					t.Errorf("row %s is neither checked nor said not to be modelled", id)
				}
				return
			}
			delete(checks, id)
			want := c.want
			if want == 0 {
				if want, err = strconv.ParseFloat(strings.Fields(expected)[0], 64); err != nil && id != "C83" {
					t.Fatalf("row %s has no number: %q", id, expected)
				}
			}
			if !(math.Abs(c.got-want) <= c.tolerance+1e-12) {
				t.Errorf("%s (%s) is %.6g %s, want %.6g within %.3g: %s", quantity, inputs, c.got, unit, want, c.tolerance, source)
			}
		})
	}
	for id := range checks {
		t.Errorf("no row %s in %s", id, checksFile)
	}
}

func mustNew(t testing.TB, spec Spec, cond Conditions, faults ...Fault) *Plant {
	t.Helper()
	p, err := New(spec, cond, 4, faults...)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
