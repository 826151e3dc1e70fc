package powerplant

import (
	"math"
	"testing"
)

// The standard library is the outside world here.
func TestElementaryFunctions(t *testing.T) {
	near := func(name string, x, got, want, relative float64) {
		t.Helper()
		if math.Abs(got-want) > relative*max(1e-300, math.Abs(want)) {
			t.Errorf("%s(%g) = %.17g, want %.17g", name, x, got, want)
		}
	}
	for x := -600.0; x < 600; x += 0.737 {
		near("exp", x, exp(x), math.Exp(x), 1e-15)
	}
	if exp(-1e6) != 0 || math.IsInf(exp(1e6), 0) {
		t.Errorf("exp far out: %g and %g, want 0 and something finite", exp(-1e6), exp(1e6))
	}
	for x := 1e-12; x < 1e12; x *= 1.0371 {
		if math.Abs(x-1) > 1e-3 {
			near("log", x, log(x), math.Log(x), 1e-15)
		}
		near("pow", x, pow(x, 0.35), math.Pow(x, 0.35), 1e-14)
	}
	if log(1) != 0 || pow(0, 2) != 0 {
		t.Errorf("log(1) = %g, pow(0, 2) = %g, want 0", log(1), pow(0, 2))
	}
	for x := 0.0; x < 20; x += 0.00371 {
		if got := decay(x); math.Abs(got-math.Exp(-x)) > 2e-7 {
			t.Errorf("decay(%g) = %g, want %g", x, got, math.Exp(-x))
		}
	}
	for x := 0.0; x <= math.Pi; x += 0.001 {
		sin, cos := sinCos(x)
		if math.Abs(sin-math.Sin(x)) > 1e-9 || math.Abs(cos-math.Cos(x)) > 1e-9 {
			t.Errorf("sinCos(%g) = %g, %g, want %g, %g", x, sin, cos, math.Sin(x), math.Cos(x))
		}
	}
}
