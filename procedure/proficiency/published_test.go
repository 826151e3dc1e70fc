package proficiency

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"kickover/procedure"
)

// columns reads numbers from a file of testdata/statistics, line by line.
func columns(t *testing.T, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("../../testdata/statistics/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out [][]float64
	for s := bufio.NewScanner(f); s.Scan(); {
		if strings.HasPrefix(s.Text(), "#") || strings.TrimSpace(s.Text()) == "" {
			continue
		}
		var row []float64
		for _, field := range strings.Fields(s.Text()) {
			var v float64
			if _, err := fmt.Sscan(field, &v); err != nil {
				t.Fatalf("%s: %q: %v", name, field, err)
			}
			row = append(row, v)
		}
		out = append(out, row)
	}
	return out
}

// near fails unless two numbers agree to a number of significant digits.
func near(t *testing.T, what string, got, want float64, digits int) {
	t.Helper()
	if !(math.Abs(got-want) <= math.Abs(want)*0.5*math.Pow(10, float64(1-digits))) {
		t.Errorf("%s: %.12g, published %.12g", what, got, want)
	}
}

// closeTo fails unless two numbers agree to an absolute error: for published
// values rounded to some decimals.
func closeTo(t *testing.T, what string, got, want, err float64) {
	t.Helper()
	if !(math.Abs(got-want) <= err) {
		t.Errorf("%s: %.9g, published %.9g", what, got, want)
	}
}

// NIST StRD, univariate: certified values, here to nine digits.
func TestMichelso(t *testing.T) {
	var y []float64
	for _, row := range columns(t, "michelso.txt") {
		y = append(y, row[0])
	}
	if len(y) != 100 {
		t.Fatalf("%d values of 100", len(y))
	}
	mean, sd := stat.MeanStdDev(y, nil)
	near(t, "mean", mean, 299.852400000000, 9)
	near(t, "standard deviation", sd, 0.0790105478190518, 9)
	near(t, "lag-1 autocorrelation", autocorrelation(y), 0.535199668621283, 9)
}

// NIST StRD, nonlinear regression: certified values from both published starts.
func TestMisra1a(t *testing.T) {
	var x, y []float64
	for _, row := range columns(t, "misra1a.txt") {
		y, x = append(y, row[0]), append(x, row[1])
	}
	curve := func(p []float64, x float64, slope []float64) float64 {
		e := math.Exp(-p[1] * x)
		slope[0], slope[1] = 1-e, p[0]*x*e
		return p[0] * (1 - e)
	}
	for _, start := range [][]float64{{500, 0.0001}, {250, 0.0005}} {
		fit, err := leastSquares(curve, x, y, start)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "b1", fit.params[0], 2.3894212918e+02, 7)
		near(t, "b2", fit.params[1], 5.5015643181e-04, 7)
		near(t, "residual standard deviation", fit.sd, 1.0187876330e-01, 8)
		near(t, "standard deviation of b1", math.Sqrt(fit.covariance.At(0, 0)), 2.7070075241, 6)
		near(t, "standard deviation of b2", math.Sqrt(fit.covariance.At(1, 1)), 7.2668688436e-06, 6)
	}
}

// NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.2, flow rate.
func TestIndividualsChart(t *testing.T) {
	l := LimitsOf([]float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1})
	closeTo(t, "centre", l.Centre, 50.81, 1e-9)
	closeTo(t, "mean moving range", l.MovingRange, 1.8778, 5e-5)
	closeTo(t, "upper limit", l.Upper, 55.8041, 5e-5)
	closeTo(t, "lower limit", l.Lower, 45.8159, 5e-5)
}

// Shewhart's constant d2 for ranges of two is the mean range of two standard
// normal values, 2/√π = 1.12838 (tables give 1.128).
func TestShewhartConstant(t *testing.T) { closeTo(t, "d2", d2, 2/math.Sqrt(math.Pi), 5e-4) }

// D4 is 1 + 3·d3/d2, with d3 = √(2 − 4/π) for ranges of two (tables give 3.267).
func TestShewhartRangeConstant(t *testing.T) {
	closeTo(t, "D4", upperRange, 1+3*math.Sqrt(2-4/math.Pi)/(2/math.Sqrt(math.Pi)), 1e-3)
}

// Student's sleep data (Student 1908, Biometrika 6:1–25) as R's manual page of
// t.test compares them; the interval is from memory.
func TestWelch(t *testing.T) {
	low, high := welch(
		[]float64{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4},
		[]float64{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0},
	)
	closeTo(t, "low", low, -3.3654832, 1e-6)
	closeTo(t, "high", high, 0.2054832, 1e-6)
}

// Newcombe 1998, Statistics in Medicine 17:857–872 (values from memory), and two
// worked by hand.
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		of, n     int
		low, high float64
		digits    float64
	}{
		{81, 263, .2553, .3662, 5e-5}, {15, 148, .0624, .1605, 5e-5}, {0, 20, 0, .1611, 5e-5}, {1, 29, .0061, .1718, 5e-5},
		{8, 10, .490162, .943318, 5e-7}, {20, 20, .838875, 1, 5e-7},
	} {
		s := ShareOf(c.of, c.n)
		closeTo(t, fmt.Sprintf("%d of %d, low", c.of, c.n), s.Low, c.low, c.digits)
		closeTo(t, fmt.Sprintf("%d of %d, high", c.of, c.n), s.High, c.high, c.digits)
	}
	// All passed: the lower limit is n/(n + z²).
	near(t, "all of 7", ShareOf(7, 7).Low, 7/(7+normal95*normal95), 12)
}

// Newcombe 1998, Statistics in Medicine 17:873–890, method 10 (from memory).
func TestDifferenceOfShares(t *testing.T) {
	d, low, high := Difference(ShareOf(56, 70), ShareOf(48, 80))
	closeTo(t, "difference", d, .2000, 5e-5)
	closeTo(t, "low", low, .0524, 5e-5)
	closeTo(t, "high", high, .3339, 5e-5)
}

// Bonett's example of ci.theil, R package statpsych.
func TestTheilSenPublished(t *testing.T) {
	y := []float64{21, 4, 9, 12, 35, 18, 10, 22, 24, 1, 6, 8, 13, 16, 19}
	x := []float64{67, 28, 30, 28, 52, 40, 25, 37, 44, 10, 14, 20, 28, 40, 51}
	s := TheilSen(x, y)
	closeTo(t, "slope", s.Slope, .5, 1e-12)
	closeTo(t, "low", s.Low, .3243243, 5e-8)
	closeTo(t, "high", s.High, .75, 1e-12)
}

// Hyndman & Fan 1996, definition 7, as R's default: quantile(c(1, 2, 4, 8)) gives
// 1, 1.75, 3, 5, 8 (worked by hand from the definition).
func TestQuartiles(t *testing.T) {
	s := SpreadOf([]float64{8, 1, 4, 2})
	for _, c := range [][2]float64{{s.Shortest, 1}, {s.Low, 1.75}, {s.Median, 3}, {s.High, 5}, {s.Longest, 8}} {
		closeTo(t, "quartile", c[0], c[1], 1e-12)
	}
}

// Heathcote, Brown & Mewhort 2000: A = 1, B = 9, N = 10, α = .1 is 4.310915.
func TestExponentialCurve(t *testing.T) {
	closeTo(t, "curve", math.Exp(curveAt([]float64{0, math.Log(9), math.Log(.1)}, 10, make([]float64, 3))), 4.310915, 5e-7)
}

// A 3.5 to 5.0 s hold by a hand whose sense of time has a Weber fraction of .07
// (counting) or .14 (not counting), with .10 s of reaction: worked in closed form.
func TestChanceOfAHold(t *testing.T) {
	w := procedure.Window{Min: 3500 * time.Millisecond, Ideal: 4200 * time.Millisecond, Max: 5 * time.Second}
	for _, c := range []struct{ weber, chance float64 }{{.07, .983}, {.14, .786}} {
		closeTo(t, "chance", chanceInside(4.25, handSpread(4.25, c.weber), w), c.chance, 5e-4)
		if aim := bestAim(c.weber, w); aim < 4.17 || aim > 4.23 {
			t.Errorf("best aim at Weber fraction %g: %g s, published 4.17 to 4.23 s", c.weber, aim)
		}
	}
}
