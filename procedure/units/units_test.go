package units_test

import (
	"math"
	"strings"
	"testing"

	"kickover/procedure"
	"kickover/procedure/units"
)

var imperial = units.Units{Lever: "in", Temperature: "degF", Altitude: "ft", Pressure: "psi", FuelFlow: "gal/h"}

// NIST SP 811, appendix B.8 and B.9: 1 in = 25.4 mm, t/degF = 1.8 t/degC + 32,
// 1 ft = 0.3048 m, 1 psi = 6.894757 kPa, 1 US gal = 3.785412 L.
func TestConversionsOfTheStandard(t *testing.T) {
	for _, c := range []struct {
		unit     string
		in, want float64
	}{
		{"mm", 25.4, 1}, {"degC", 100, 212}, {"degC", -40, -40}, {"degC", 0, 32},
		{"m", 304.8, 1000}, {"kPa", 689.4757, 100},
		// FAA-H-8083-25: a US gallon of gasoline weighs 6 lb, which is 2721.554 g.
		{"g/s", 2721.55422 / 3600, 1},
	} {
		if got := imperial.Reading(c.unit, c.in); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("%g %s is shown as %g, want %g", c.in, c.unit, got, c.want)
		}
	}
	litres := units.Units{FuelFlow: "L/h"}
	if got := litres.Reading("g/s", 2721.55422/3600); math.Abs(got-3.785412) > 1e-4 {
		t.Errorf("a gallon an hour is shown as %g L/h", got)
	}
	if !math.IsNaN(imperial.Reading("kPa", math.NaN())) {
		t.Error("a dead gauge came alive")
	}
}

func TestTheZeroValueChangesNothing(t *testing.T) {
	i := procedure.Instrument{Unit: "kPa", Max: 700, Ranges: []procedure.Range{{From: 1, To: 2}}}
	var u units.Units
	if got := u.Instrument(i); got.Unit != "kPa" || got.Max != 700 || got.Ranges[0].To != 2 {
		t.Errorf("got %+v", got)
	}
	if s := u.Words("held at 28 mm and 10 degC"); s != "held at 28 mm and 10 °C" {
		t.Errorf("got %q", s)
	}
}

// A converted scale has round figures and holds all of the old one, with its
// markings where they were.
func TestScalesStayReadable(t *testing.T) {
	for _, i := range []procedure.Instrument{
		{Unit: "kPa", Max: 700, Ranges: []procedure.Range{{Kind: procedure.Limit, From: 660, To: 660}}},
		{Unit: "degC", Max: 260}, {Unit: "°C", Max: 260}, {Unit: "degC", Min: -20, Max: 260}, {Unit: "g/s", Max: 5, Decimals: 1},
	} {
		got := imperial.Instrument(i)
		if got.Min > imperial.Reading(i.Unit, i.Min)+1e-6 || got.Max < imperial.Reading(i.Unit, i.Max)-1e-6 {
			t.Errorf("%v to %v %s became %v to %v %s", i.Min, i.Max, i.Unit, got.Min, got.Max, got.Unit)
		}
		major := units.Step(got.Max-got.Min, 6)
		if whole := got.Min / major; math.Abs(whole-math.Round(whole)) > 1e-6 {
			t.Errorf("the scale of %s begins at %v, in steps of %v", got.Unit, got.Min, major)
		}
		if len(i.Ranges) > 0 && math.Abs(got.Ranges[0].From-95.7249) > 1e-3 { // 660 kPa / 6.894757
			t.Errorf("the limit stands at %v psi", got.Ranges[0].From)
		}
	}
}

func TestWords(t *testing.T) {
	for in, want := range map[string]string{
		"Brindle 180, cold start  ·  10 °C  ·  Evaluate": "Brindle 180, cold start  ·  50 °F  ·  Evaluate",
		"−20 °C and 120 m":                               "−4 °F and 390 ft",
		"-20 degC":                                       "−4 °F",
		"345 kPa":                                        "50 psi",
		"throttle 28 mm, then 9 mm.":                     "throttle 1.10 in, then 0.35 in.",
		"a rest of 5 min, 4.2 s, 24.1 V, 2700 rpm":       "a rest of 5 min, 4.2 s, 24.1 V, 2700 rpm",
		"2.0 g/s":                                        "2.6 gal/h",
		"10 mph":                                         "10 mph",
		"12 mm 3 mm":                                     "0.47 in 0.12 in",
		"":                                               "",
	} {
		if got := imperial.Words(in); got != want {
			t.Errorf("%q became %q, want %q", in, got, want)
		}
	}
	if got := (units.Units{Temperature: "degF"}).Words("−20 °C at 3 m"); got != "−4 °F at 3 m" {
		t.Errorf("got %q", got)
	}
}

func TestQuantities(t *testing.T) {
	for got, want := range map[string]string{
		imperial.Celsius(-40): "−40 °F", imperial.Metres(120): "390 ft", imperial.Millimetres(28): "1.10 in",
		(units.Units{}).Celsius(-0.2): "0 °C", (units.Units{}).Metres(120): "120 m", (units.Units{}).Millimetres(28): "28 mm",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// Whatever the sentence, nothing but quantities changes and nothing is lost.
func FuzzWords(f *testing.F) {
	for _, s := range []string{"28 mm", "−5 °C, 120 m", "1 m2", "3.5 to 5.0 s", "g/s 4"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if strings.ToValidUTF8(s, "") != s {
			return
		}
		got := imperial.Words(s)
		if strings.Count(got, "\n") != strings.Count(s, "\n") {
			t.Errorf("%q became %q", s, got)
		}
		plain := strings.NewReplacer("−", "-", "°C", "degC").Replace
		if again := (units.Units{Lever: "mm"}).Words(s); plain(again) != plain(s) {
			t.Errorf("%q became %q though nothing is shown otherwise", s, again)
		}
	})
}
