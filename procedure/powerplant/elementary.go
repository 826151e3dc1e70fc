package powerplant

import "math"

// The standard library's exponentials and sines are assembly on some processors
// and fused on others, so their last bits differ from machine to machine. These
// use only sums and products that are rounded one by one, which every IEEE 754
// machine does alike. Series and constants follow the public fdlibm.

const (
	ln2High = 6.93147180369123816490e-01
	ln2Low  = 1.90821492927058770002e-10
	log2E   = 1.44269504088896338700e+00
)

// exp is e to the x, within 1e-15 relative for |x| < 700; beyond, 0 or a very
// large number.
func exp(x float64) float64 {
	if x < -700 {
		return 0
	}
	x = min(x, 700)
	k := math.Floor(float64(log2E*x) + 0.5)
	hi := x - float64(k*ln2High)
	lo := float64(k * ln2Low)
	r := hi - lo
	t := float64(r * r)
	c := 4.13813679705723846039e-08
	c = float64(t*c) - 1.65339022054652515390e-06
	c = float64(t*c) + 6.61375632143793436117e-05
	c = float64(t*c) - 2.77777777770155933842e-03
	c = float64(t*c) + 1.66666666666666019037e-01
	c = r - float64(t*c)
	y := 1 - ((lo - float64(r*c)/(2-c)) - hi)
	return float64(y * math.Float64frombits(uint64(int64(k)+1023)<<52))
}

// log is the natural logarithm of a normal positive x, within 1e-15 relative.
func log(x float64) float64 {
	b := math.Float64bits(x)
	k := int64(b>>52) - 1023
	m := math.Float64frombits(b&(1<<52-1) | 1023<<52)
	if m > math.Sqrt2 {
		m /= 2
		k++
	}
	f := m - 1
	s := f / (2 + f)
	s2 := float64(s * s)
	s4 := float64(s2 * s2)
	t1 := 1.479819860511658591e-01
	t1 = float64(s4*t1) + 1.818357216161805012e-01
	t1 = float64(s4*t1) + 2.857142874366239149e-01
	t1 = float64(s4*t1) + 6.666666666666735130e-01
	t2 := 1.531383769920937332e-01
	t2 = float64(s4*t2) + 2.222219843214978396e-01
	t2 = float64(s4*t2) + 3.999999999940941908e-01
	r := float64(s2*t1) + float64(s4*t2)
	h := float64(0.5 * float64(f*f))
	kf := float64(k)
	return float64(kf*ln2High) - ((h - (float64(s*(h+r)) + float64(kf*ln2Low))) - f)
}

// pow is x to the y for x > 0, and 0 for x <= 0.
func pow(x, y float64) float64 {
	if x <= 0 {
		return 0
	}
	return exp(float64(y * log(x)))
}

// log10 and exp10 are their namesakes to the base ten.
func log10(x float64) float64 { return float64(log(x) * (1 / math.Ln10)) }
func exp10(x float64) float64 { return exp(float64(x * math.Ln10)) }

// sinCos is the sine and cosine of an angle from 0 to pi, within 1e-9, which is
// far finer than the torque it is used for.
func sinCos(th float64) (sin, cos float64) {
	x := th - math.Pi/2
	t := float64(x * x)
	// Taylor series about a quarter turn: |x| <= pi/2.
	c := 1.0 / 479001600 / 182 * -1
	c = float64(t*c) + 1.0/479001600
	c = float64(t*c) - 1.0/3628800
	c = float64(t*c) + 1.0/40320
	c = float64(t*c) - 1.0/720
	c = float64(t*c) + 1.0/24
	c = float64(t*c) - 0.5
	s := -1.0 / 6227020800 / 210
	s = float64(t*s) + 1.0/6227020800
	s = float64(t*s) - 1.0/39916800
	s = float64(t*s) + 1.0/362880
	s = float64(t*s) - 1.0/5040
	s = float64(t*s) + 1.0/120
	s = float64(t*s) - 1.0/6
	return float64(t*c) + 1, -(x + float64(float64(x*t)*s))
}

// sat clamps to 0..1. Comparisons are cheaper than min and max, which mind the
// sign of zero.
func sat(x float64) float64 {
	if x <= 0 {
		return 0
	}
	if x >= 1 {
		return 1
	}
	return x
}

// logistic rises from 0 to 1 about x = 0.
func logistic(x float64) float64 { return 1 / (1 + exp(-x)) }
