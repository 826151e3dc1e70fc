package speech

import "math"

// biquad is a second-order filter, coefficients normalised to a0 = 1.
type biquad struct{ b0, b1, b2, a1, a2 float64 }

// run filters x into a new slice, starting from rest.
func (f biquad) run(x []float64) []float64 {
	y := make([]float64, len(x))
	var z1, z2 float64
	for i, v := range x {
		o := f.b0*v + z1
		z1 = f.b1*v - f.a1*o + z2
		z2 = f.b2*v - f.a2*o
		y[i] = o
	}
	return y
}

// runZeroPhase filters forwards and then backwards, so that nothing is delayed.
func (f biquad) runZeroPhase(x []float64) []float64 {
	y := f.run(x)
	reverse(y)
	y = f.run(y)
	reverse(y)
	return y
}

func reverse(x []float64) {
	for i, j := 0, len(x)-1; i < j; i, j = i+1, j-1 {
		x[i], x[j] = x[j], x[i]
	}
}

// bandPass is a first-order Butterworth band-pass between two edges in hertz.
func bandPass(rate, low, high float64) biquad {
	t1, t2 := math.Tan(math.Pi*low/rate), math.Tan(math.Pi*high/rate)
	width, centre2 := t2-t1, t1*t2
	a0 := 1 + width + centre2
	return biquad{b0: width / a0, b2: -width / a0, a1: 2 * (centre2 - 1) / a0, a2: (1 - width + centre2) / a0}
}

// lowPass is a first-order Butterworth low-pass.
func lowPass(rate, corner float64) biquad {
	t := math.Tan(math.Pi * corner / rate)
	return biquad{b0: t / (1 + t), b1: t / (1 + t), a1: (t - 1) / (1 + t)}
}

// trebleShelf lifts what lies above the corner by gain decibels. It is the high
// shelf of R. Bristow-Johnson's "Cookbook formulae for audio equalizer biquad
// filter coefficients" with a slope of one half.
func trebleShelf(rate, corner, gain float64) biquad {
	const slope = 0.5
	a := math.Pow(10, gain/40)
	w := 2 * math.Pi * corner / rate
	cos, alpha := math.Cos(w), math.Sin(w)/2*math.Sqrt((a+1/a)*(1/slope-1)+2)
	root := 2 * math.Sqrt(a) * alpha
	a0 := (a + 1) - (a-1)*cos + root
	return biquad{
		b0: a * ((a + 1) + (a-1)*cos + root) / a0,
		b1: -2 * a * ((a - 1) + (a+1)*cos) / a0,
		b2: a * ((a + 1) + (a-1)*cos - root) / a0,
		a1: 2 * ((a - 1) - (a+1)*cos) / a0,
		a2: ((a + 1) - (a-1)*cos - root) / a0,
	}
}
