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
// far finer than the torque it is used for. The terms of each series are added
// in pairs (Estrin's scheme), so that the processor need not wait for each sum
// before it begins the next.
func sinCos(th float64) (sin, cos float64) {
	x := th - math.Pi/2
	// Taylor series about a quarter turn: |x| <= pi/2.
	t := float64(x * x)
	t2 := float64(t * t)
	t4 := float64(t2 * t2)
	sin = float64((1-float64(t*0.5))+float64(t2*(1.0/24-float64(t*(1.0/720))))) +
		float64(t4*((1.0/40320-float64(t*(1.0/3628800)))+float64(t2*(1.0/479001600-float64(t*(1.0/87178291200))))))
	odd := float64((1-float64(t*(1.0/6)))+float64(t2*(1.0/120-float64(t*(1.0/5040))))) +
		float64(t4*((1.0/362880-float64(t*(1.0/39916800)))+float64(t2*(1.0/6227020800-float64(t*(1.0/1307674368000))))))
	return sin, -float64(x * odd)
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

// atMost is x or the most it may be: min without its care for zeros and
// not-a-numbers.
func atMost(most, x float64) float64 {
	if x > most {
		return most
	}
	return x
}

// Powers of e at even steps.
const (
	decayPer  = 32 // steps a unit
	decayEnds = 16 // e to the -16 is nothing
)

var decayTable = func() (t [decayPer*decayEnds + 1]float64) {
	for i := range t {
		t[i] = exp(-float64(i) / decayPer)
	}
	return t
}()

// decay is e to the -x for x >= 0, within 2e-7: from the nearest step below by
// the series.
func decay(x float64) float64 {
	scaled := float64(x * decayPer)
	if scaled >= decayPer*decayEnds {
		return 0
	}
	i := int(scaled)
	d := (scaled - float64(i)) * (1.0 / decayPer)
	return float64(decayTable[i] * (1 - float64(d*(1-float64(d*(0.5-float64(d*(1.0/6))))))))
}
