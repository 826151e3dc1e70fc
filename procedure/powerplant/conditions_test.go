package powerplant

import (
	"math"
	"strings"
	"testing"
	"time"
)

func TestConditionsThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		cond Conditions
		says string
	}{
		{Conditions{OATCelsius: -80}, "temperature -80 degC cannot be simulated: use -40 to 50"},
		{Conditions{OATCelsius: math.NaN()}, "temperature"},
		{Conditions{PressureAltitudeM: 9000}, "pressure altitude 9000 m"},
		{Conditions{BatteryCharge: 1.5}, "battery charge 1.5"},
		{Conditions{SinceShutdown: -time.Second}, "since shutdown"},
		{Conditions{Preheat: 100 * time.Hour}, "preheat"},
		{Conditions{OilGrade: "olive"}, `"olive"`},
	} {
		_, err := New(injected180(), c.cond, 1)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: error %v, want one that says %q", c.cond, err, c.says)
		}
	}
	_, err := New(injected180(), Conditions{OATCelsius: 99, PressureAltitudeM: 9000}, 1)
	if err == nil || !strings.Contains(err.Error(), "99") || !strings.Contains(err.Error(), "9000") {
		t.Errorf("error %v, want both mistakes at once", err)
	}
}

func TestSpecThatCannotBe(t *testing.T) {
	for name, spoil := range map[string]func(*Spec){
		"Engine.Inertia":      func(s *Spec) { s.Engine.Inertia = 0 },
		"Ports.Nozzles[2]":    func(s *Spec) { s.Ports.Nozzles[2] = math.NaN() },
		"Battery.Ohms":        func(s *Spec) { s.Battery.Ohms = -1 },
		"fuel system":         func(s *Spec) { s.FuelSystem = "steam" },
		"oil grade":           func(s *Spec) { s.Oil.Grade = "butter" },
		"Throttle.LeakArea":   func(s *Spec) { s.Throttle.LeakArea = math.Inf(1) },
		"Starter.CaseHeat":    func(s *Spec) { s.Starter.CaseHeat = 0 },
		"Fuel.VapourMolar":    func(s *Spec) { s.Fuel.VapourMolar = 0 },
		"Supply.ValveSpan":    func(s *Spec) { s.Supply.ValveSpan = 0 },
		"Battery.AmpereHours": func(s *Spec) { s.Battery.AmpereHours = 0 },
	} {
		spec := injected180()
		spoil(&spec)
		if _, err := New(spec, Conditions{}, 1); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s spoilt: error %v, want one that names it", name, err)
		}
	}
	if _, err := ByName("steam-4"); err == nil || !strings.Contains(err.Error(), "injected-180") {
		t.Errorf("error %v, want one that names what there is", err)
	}
}

// Every parameter says what it is measured in and where it comes from.
func TestParametersSayWhereTheyComeFrom(t *testing.T) {
	for _, spec := range Specs() {
		if err := spec.Validate(); err != nil {
			t.Errorf("%s: %v", spec.Name, err)
		}
		list := Parameters(spec)
		if len(list) < 100 {
			t.Errorf("%s lists %d parameters", spec.Name, len(list))
		}
		for _, p := range list {
			if p.Unit == "" || p.Source == "" {
				t.Errorf("%s: %s has unit %q and source %q", spec.Name, p.Name, p.Unit, p.Source)
			}
		}
	}
}

// Heat soak: just after a flight the ports get hotter than they were in it,
// then everything goes to the air's temperature.
func TestSoak(t *testing.T) {
	at := func(d time.Duration) Inside {
		return mustNew(t, injected180(), Conditions{OATCelsius: 15, SinceShutdown: d}).Inside()
	}
	if a, b := at(time.Minute).PortC, at(15*time.Minute).PortC; b < a+10 {
		t.Errorf("ports at %.0f degC after a minute and %.0f after a quarter of an hour, want them to soak", a, b)
	}
	if c := at(24 * time.Hour); math.Abs(c.PortC-15) > 0.5 || c.LineFill > 0.1 {
		t.Errorf("a day later the ports are at %.1f degC and the line %.2f full", c.PortC, c.LineFill)
	}
	last := math.Inf(1)
	for m := 10; m <= 720; m += 10 {
		in := at(time.Duration(m) * time.Minute)
		if in.LineFill > last+1e-9 {
			t.Errorf("the line fills by itself %d min after shutdown", m)
		}
		last = in.LineFill
	}
}

// Explain's quantities, against arithmetic done by hand with the named rules.
func TestExplainCanBeCheckedByHand(t *testing.T) {
	q, err := Explain(injected180(), Conditions{OATCelsius: 5, PressureAltitudeM: 500}, Technique{Prime: seconds(4)})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]float64{}
	for _, x := range q {
		if !finite(x.Value) || x.Name == "" || x.Unit == "" {
			t.Errorf("%+v is not a quantity", x)
		}
		got[x.Key] = x.Value
	}
	for key, want := range map[string][2]float64{ // value, tolerance
		"ambient_pressure":     {95.461, 0.05},                      // ISO 2533, 500 m
		"ambient_density":      {95461 / (287.053 * 278.15), 0.001}, // p / R T
		"air_per_cylinder":     {0.80 * 5900 / 4 * 95461 / (287.053 * 278.15) / 1000, 0.01},
		"battery_open_circuit": {12 * (0.845 + 1.10 + 0.18*0.88), 0.01},
		"oil_viscosity":        {2873, 60}, // ASTM D341 through 215 at 40 and 19.5 at 100, worked by hand
		"lean_limit_ratio":     {0.467, 0.001},
		"vapour_fraction":      {3.5, 2}, // inside the band that burns
	} {
		if math.Abs(got[key]-want[0]) > want[1] {
			t.Errorf("%s is %.5g, want %.5g within %.2g", key, got[key], want[0], want[1])
		}
	}
	if got["cranking_volts"] > got["bus_volts"]-1 || got["cranking_rpm"] < 80 || got["cranking_rpm"] > 200 {
		t.Errorf("cranking at %.1f V and %.0f rpm", got["cranking_volts"], got["cranking_rpm"])
	}
}

// Whatever the hands do, nothing becomes infinite, negative or lost.
func FuzzControls(f *testing.F) {
	f.Add([]byte{0xff, 0x80, 0x40, 0x01, 0xf7, 0x10}, uint64(1), 10.0, true)
	f.Add([]byte{0x0f, 0x00, 0xff, 0x3f, 0x00, 0x00}, uint64(2), -30.0, false)
	f.Fuzz(func(t *testing.T, hands []byte, seed uint64, oat float64, carburetted bool) {
		spec := injected180()
		if carburetted {
			spec = carburetted100()
		}
		p, err := New(spec, Conditions{OATCelsius: oat}, seed)
		if err != nil {
			return
		}
		list := Faults()
		var d Detector
		for i := 0; i+2 < len(hands) && i < 120; i += 3 {
			a, b, c := hands[i], hands[i+1], hands[i+2]
			p.SetControls(Controls{
				Battery: a&1 != 0, Alternator: a&2 != 0, BoostPump: a&4 != 0, Starter: a&8 != 0,
				FuelOff: a&0x70 == 0x70, ExternalPower: a&0x80 != 0,
				ThrottleMM: float64(b), Mixture: float64(c) / 200, Primer: float64(c&1) - 0.2,
				Magnetos: Magnetos(b & 3), PrimerUnlocked: b&4 != 0,
			})
			if c == 0x55 {
				if err := p.Inject(list[int(b)%len(list)].Fault); err != nil {
					t.Fatal(err)
				}
			}
			p.Advance(time.Duration(b) * 20 * time.Millisecond)
			d.Observe(p.Elapsed(), p)
			in := p.Inside()
			for name, v := range map[string]float64{
				"light film": in.FilmLightG, "heavy film": in.FilmHeavyG, "vapour": in.VapourG, "wet": in.WetG,
				"puddle": in.PuddleG, "line": in.LineFill, "manifold": in.ManifoldKPa, "charge": in.BatteryCharge,
				"winding": in.WindingC + 100, "fraction": in.NowFraction, "rpm": p.Readings().RPM,
			} {
				if !finite(v) || v < -1e-12 {
					t.Fatalf("%s is %g", name, v)
				}
			}
			if rpm := p.Readings().RPM; rpm > 4000 {
				t.Fatalf("%g rpm", rpm)
			}
			if r := fuelResidual(p); math.Abs(r) > 1e-6 {
				t.Fatalf("%g g of fuel unaccounted for", r)
			}
		}
	})
}
