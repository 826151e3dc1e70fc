package practice_test

import (
	"math"
	"testing"

	"kickover/procedure/practice"
)

func within(t *testing.T, what string, got, want, err float64) {
	t.Helper()
	if !(math.Abs(got-want) <= err) {
		t.Errorf("%s: %.9g, want %.9g", what, got, want)
	}
}

func days(at ...float64) []practice.Practice {
	var out []practice.Practice
	for _, d := range at {
		out = append(out, practice.Practice{Day: d, Weight: 1})
	}
	return out
}

// The equation as printed (Anderson et al. 2023), with the fitted parameters;
// the values were worked separately, in double precision.
func TestEquation(t *testing.T) {
	e := practice.Fitted
	m := e.Strength(days(0, 1, 7), 37)
	within(t, "strength, days 0, 1, 7, tested on 37", m, .987789, 5e-7)
	within(t, "chance", e.Chance(m), .816979, 5e-7)
	m = e.Strength(days(0), 30)
	within(t, "strength, day 0, tested on 30", m, .923497, 5e-7)
	within(t, "chance", e.Chance(m), .738670, 5e-7)
}

// Pavlik & Anderson 2005, the worked example: presentations at 0, 126, 252 and
// 4844 s, test at 5877 s.
func TestActivation(t *testing.T) {
	a := practice.Published
	var m practice.Memory
	a.Present(&m, 0)
	for _, c := range []struct{ at, strength float64 }{
		{126, -.8560219}, {252, -.4341527}, {4844, -.9314301}, {5877, -.6187361},
	} {
		within(t, "activation", a.Strength(&m, c.at), c.strength, 5e-8)
		a.Present(&m, c.at)
	}
}

// What the two models must agree on, whatever their numbers: practice that is
// spaced is kept better than the same practice massed, over a month.
func TestBothModelsKeepSpacedPracticeBetter(t *testing.T) {
	massed, spaced := days(0, .02, .04, .06), days(0, 3, 6, 9)
	if m, s := practice.Fitted.Strength(massed, 39), practice.Fitted.Strength(spaced, 39); s <= m {
		t.Errorf("equation: spaced %.4f, massed %.4f", s, m)
	}
	a := practice.Published
	strength := func(seen []practice.Practice) float64 {
		var m practice.Memory
		for _, p := range seen {
			a.Present(&m, p.Day*scaledDay)
		}
		return a.Strength(&m, 39*scaledDay)
	}
	if m, s := strength(massed), strength(spaced); s <= m {
		t.Errorf("activation: spaced %.4f, massed %.4f", s, m)
	}
}
