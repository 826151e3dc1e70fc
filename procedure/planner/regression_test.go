package planner

import (
	"math"
	"testing"
)

// Failures of O-rings against temperature, 23 flights: 15.0429 (7.3786) and
// -0.2322 (0.1082) per degF. Dalal, Fowlkes & Hoadley 1989, Journal of the
// American Statistical Association 84:945-957, the fit as commonly printed.
func TestRegressionAgainstThePublished(t *testing.T) {
	failed := []float64{53, 57, 58, 63, 70, 70, 75}
	held := []float64{66, 67, 67, 67, 68, 69, 70, 70, 72, 73, 75, 76, 76, 78, 79, 81}
	all := append(append([]float64(nil), failed...), held...)
	beta, se, err := Regress(len(all), func(i int) []float64 { return []float64{1, all[i]} }, func(i int) bool { return i < len(failed) }, 0)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range [][2]float64{{15.0429, 7.3786}, {-0.2322, 0.1082}} {
		if math.Abs(beta[i]-want[0]) > 5e-5*math.Abs(want[0])+5e-5 || math.Abs(se[i]-want[1]) > 5e-5*want[1]+5e-5 {
			t.Errorf("coefficient %d: %.4f (%.4f), want %.4f (%.4f)", i, beta[i], se[i], want[0], want[1])
		}
	}
	if _, _, err := Regress(3, func(int) []float64 { return []float64{1, 2, 4} }, func(i int) bool { return i == 0 }, 0); err == nil {
		t.Error("terms that depend on each other were fitted")
	}
	if _, _, err := Regress(0, nil, nil, 0); err == nil {
		t.Error("a regression without observations was fitted")
	}
}
