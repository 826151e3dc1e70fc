package planner

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kickover/procedure"
	"kickover/procedure/flowfile/shipped"
	"kickover/procedure/powerplant"
)

func aeroplane(t testing.TB, id procedure.AircraftID) *Aeroplane {
	t.Helper()
	a, err := NewAeroplane(shipped.Aircraft(t, id))
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func brindle180(t testing.TB) *Aeroplane { return aeroplane(t, "brindle-180") }

// The windows are those of the aircraft's own flows: cold 3.5 to 5 s, warm 1.2 to
// 2.4 s, hot 1 to 1.8 s; the Brindle 100 has three strokes cold and none warm.
func TestTheHandbooksWindow(t *testing.T) {
	const h, m = time.Hour, time.Minute
	for _, c := range []struct {
		aircraft        procedure.AircraftID
		oat             float64
		since           time.Duration
		flow            procedure.FlowID
		least, best, to float64
	}{
		{"brindle-180", 10, 0, "cold", 3.5, 4.2, 5},
		{"brindle-180", 10, 2*h + time.Second, "cold", 3.5, 4.2, 5},
		{"brindle-180", 35, 2 * h, "warm", 1.2, 1.8, 2.4},
		{"brindle-180", -20, 2 * h, "cold", 3.5, 4.2, 5}, // the head is below 40 degC by then
		{"brindle-180", 10, 30 * m, "warm", 1.2, 1.8, 2.4},
		{"brindle-180", 10, 30*m - time.Second, "hot", 1, 1.4, 1.8},
		{"brindle-100", 10, 0, "cold", 3, 3, 3},
		{"brindle-100", 20, 45 * m, "warm", 0, 0, 0},
		{"brindle-100", 20, 10 * m, "warm", 0, 0, 0}, // it has no flow of its own for hot
	} {
		got, err := aeroplane(t, c.aircraft).Handbook("", powerplant.Conditions{OATCelsius: c.oat, SinceShutdown: c.since})
		if err != nil {
			t.Fatal(err)
		}
		if got.Flow != c.flow || got.Min != c.least || got.Ideal != c.best || got.Max != c.to {
			t.Errorf("%s, %g degC, %v: %s %g to %g, ideal %g; want %s %g to %g, ideal %g", c.aircraft, c.oat, c.since,
				got.Flow, got.Min, got.Max, got.Ideal, c.flow, c.least, c.to, c.best)
		}
	}
}

func fly(t testing.TB, s *Survey, err error) *Survey {
	t.Helper()
	if err == nil {
		err = s.Fly()
	}
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func at(t testing.TB, r Row, prime float64) Point {
	t.Helper()
	for _, p := range r.Points() {
		if p.Prime == prime {
			return p
		}
	}
	t.Fatalf("no point at %g", prime)
	return Point{}
}

// What a cold start at 10 degC should come to: at least 0.9 over the cold window,
// at most 0.3 at 1 s and at 10 s, and there it is flooded. The bounds are the
// product's own requirement, the practice is common, no source.
func TestColdChart(t *testing.T) {
	t.Parallel()
	q := Question{Aeroplane: brindle180(t), Conditions: powerplant.Conditions{OATCelsius: 10}, Primes: []float64{1, 3.5, 4.2, 5, 10}}
	s, err := q.Chart()
	r := fly(t, s, err).Rows[0]
	for _, prime := range []float64{3.5, 4.2, 5} {
		if p := at(t, r, prime); p.Start.Value() < 0.9 {
			t.Errorf("%g s: %+v", prime, p)
		}
	}
	if p := at(t, r, 1); p.Start.Value() > 0.3 || p.Flood.Value() > 0.1 {
		t.Errorf("1 s: %+v", p)
	}
	if p := at(t, r, 10); p.Start.Value() > 0.3 || p.Flood.Value() < 0.7 {
		t.Errorf("10 s: %+v", p)
	}
	a := r.Advice()
	if !a.Given || a.Point.Prime != 4.2 || a.Beyond != "" || !strings.Contains(a.Why, "handbook") {
		t.Errorf("advice %+v, want the handbook's 4.2 s", a)
	}
}

func TestNoPrimeNoAdvice(t *testing.T) {
	a := aeroplane(t, "brindle-100")
	q := Question{Aeroplane: a, Conditions: powerplant.Conditions{OATCelsius: 15, SinceShutdown: time.Hour}, Primes: []float64{0, 2}, Precision: Precision{Most: 20}}
	s, err := q.Chart()
	if got := fly(t, s, err).Rows[0].Advice(); got.Given || got.Why == "" {
		t.Errorf("a flow that primes not at all gave the advice %+v", got)
	}
}

// Strokes of a hand primer: none is too few in the cold.
func TestStrokes(t *testing.T) {
	q := Question{Aeroplane: aeroplane(t, "brindle-100"), Conditions: powerplant.Conditions{OATCelsius: 5}, Primes: []float64{0, 3}, Precision: Precision{Most: 100}}
	s, err := q.Chart()
	r := fly(t, s, err).Rows[0]
	if none, three := at(t, r, 0), at(t, r, 3); none.Start.High > three.Start.Low {
		t.Errorf("no stroke %+v, three strokes %+v", none, three)
	}
	if a := r.Advice(); !a.Given || a.Point.Prime != 3 {
		t.Errorf("advice %+v", a)
	}
}

// Whatever the trials come to, advice lies in the window, and what lies outside
// is never more than mentioned.
func TestAdviceNeverLeavesTheWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(0, 6).Draw(t, "min")
		high := low + rapid.Float64Range(0.01, 4).Draw(t, "span")
		h := Handbook{Unit: Seconds, Min: low, Max: high, Ideal: low + (high-low)*rapid.Float64Range(0, 1).Draw(t, "ideal")}
		r := Row{Handbook: h}
		for range rapid.IntRange(0, 12).Draw(t, "cells") {
			n := rapid.IntRange(0, 200).Draw(t, "trials")
			started := rapid.IntRange(0, n).Draw(t, "started")
			r.Cells = append(r.Cells, &Cell{
				prime: rapid.Float64Range(0, 12).Draw(t, "prime"), trials: n, started: started,
				flooded: rapid.IntRange(0, n-started).Draw(t, "flooded"),
			})
		}
		a := r.Advice()
		if a.Why == "" || a.Given && !h.Inside(a.Point.Prime) {
			t.Fatalf("window %g to %g, advice %+v", low, high, a)
		}
		for _, p := range r.Points() {
			if a.Given && h.Inside(p.Prime) && p.Prime == h.Ideal && p.Start.Low > a.Point.Start.High {
				t.Fatalf("the ideal does clearly better than the advice %+v", a)
			}
		}
	})
}

// Where the simulation would rather prime outside the window, it says so, says
// that it is no advice, and advises inside.
func TestTheHandbookRules(t *testing.T) {
	r := Row{Handbook: Handbook{Title: "Cold start", Unit: Seconds, Min: 3.5, Ideal: 4.2, Max: 5}, Cells: []*Cell{
		{prime: 2.5, trials: 100, started: 99}, {prime: 3.5, trials: 100, started: 90},
		{prime: 4.2, trials: 100, started: 50, flooded: 50}, {prime: 5, trials: 100, started: 5, flooded: 95},
	}}
	a := r.Advice()
	if a.Point.Prime != 3.5 || !strings.Contains(a.Beyond, "2.5 s") || !strings.Contains(a.Beyond, "not advised") {
		t.Errorf("%+v", a)
	}
}

// The prime that suits rises from hot to cold with no cliff, so the maps' rows
// keep to their own windows, and a map is what it is made of.
func TestMapIsChartsByRow(t *testing.T) {
	t.Parallel()
	q := Question{Aeroplane: brindle180(t), Conditions: powerplant.Conditions{SinceShutdown: 90 * time.Minute}, Precision: Precision{Most: 40}, Seed: 3}
	m, err := q.Map()
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Rows) != 21 || len(m.Primes) != 13 || len(m.Cells()) != 273 {
		t.Fatalf("%d rows of %d primes", len(m.Rows), len(m.Primes))
	}
	if first, last := m.Rows[0], m.Rows[20]; first.Handbook.Flow != "cold" || last.Handbook.Flow != "warm" || first.Conditions.OATCelsius != -20 || last.Conditions.OATCelsius != 40 {
		t.Errorf("rows %+v to %+v", first.Handbook, last.Handbook)
	}
	q.Temperatures, q.Primes = []float64{-5, 25}, []float64{1.5, 4.5}
	s, err := q.Map()
	two := fly(t, s, err)
	for _, row := range two.Rows {
		q.Conditions = row.Conditions
		s, err := q.Chart()
		if got := fly(t, s, err).Rows[0]; !reflect.DeepEqual(got.Points(), row.Points()) {
			t.Errorf("%g degC: map %+v, chart %+v", row.Conditions.OATCelsius, row.Points(), got.Points())
		}
	}
}

// A seed decides every count; another seed others.
func TestTheSeedDecides(t *testing.T) {
	counts := func(seed uint64) []Point {
		s, err := Question{Aeroplane: brindle180(t), Primes: []float64{2.5, 3}, Precision: Precision{Most: 60}, Seed: seed}.Chart()
		return fly(t, s, err).Rows[0].Points()
	}
	if a, b := counts(7), counts(7); !reflect.DeepEqual(a, b) {
		t.Errorf("one seed gave %+v and %+v", a, b)
	}
	if a, b := counts(7), counts(8); reflect.DeepEqual(a, b) {
		t.Errorf("two seeds gave the same %+v", a)
	}
}

func TestWrongQuestions(t *testing.T) {
	a := brindle180(t)
	for name, q := range map[string]Question{
		"no aeroplane":        {},
		"too cold":            {Aeroplane: a, Conditions: powerplant.Conditions{OATCelsius: -60}},
		"a negative prime":    {Aeroplane: a, Primes: []float64{-1}},
		"no number":           {Aeroplane: a, Primes: []float64{math.NaN()}},
		"a flow nobody has":   {Aeroplane: a, Flow: "tepid"},
		"too many trials":     {Aeroplane: a, Precision: Precision{Most: 1 << 40}},
		"too wide a half":     {Aeroplane: a, Precision: Precision{HalfWidth: 2}},
		"a row beyond winter": {Aeroplane: a, Temperatures: []float64{-90}},
	} {
		if _, err := q.Map(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// The chart always shows the window's own ends and ideal, in rising order.
func TestChartPrimes(t *testing.T) {
	for _, h := range []Handbook{
		{Unit: Seconds, Min: 3.5, Ideal: 4.2, Max: 5}, {Unit: Seconds, Min: 1, Ideal: 1.4, Max: 1.8},
		{Unit: Seconds, Min: 1.23, Ideal: 1.25, Max: 1.26}, {Unit: Seconds}, {Unit: Strokes, Min: 3, Ideal: 3, Max: 3},
	} {
		found := map[float64]bool{}
		last := -1.0
		for _, p := range chartPrimes(h) {
			if p <= last {
				t.Errorf("%+v: %v", h, chartPrimes(h))
			}
			found[p], last = true, p
		}
		if h.Primes() && (!found[h.Ideal] || h.Max-h.Min > 0.1 && !(found[h.Min] && found[h.Max])) {
			t.Errorf("%+v: the window is not in %v", h, chartPrimes(h))
		}
	}
}
