package proficiency

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// fitted is a curve fitted by least squares.
type fitted struct {
	params     []float64
	covariance *mat.Dense // of params
	sd         float64    // of the residuals
	freedom    int        // points less parameters
}

var errNoFit = errors.New("the curve does not fit")

// curve is a function to fit. It gives its value at x, and puts the derivatives
// by its parameters into slope.
type curve func(params []float64, x float64, slope []float64) float64

// leastSquares fits a curve to points by Levenberg and Marquardt's method
// (Marquardt 1963, SIAM Journal 11:431–441). gonum solves its equations; it has
// no least squares for curves.
func leastSquares(f curve, x, y, start []float64) (fitted, error) {
	n, k := len(x), len(start)
	p := append([]float64(nil), start...)
	trial := make([]float64, k)
	r, next := make([]float64, n), make([]float64, n)
	jacobian, nextJacobian := mat.NewDense(n, k, nil), mat.NewDense(n, k, nil)
	sum := residuals(f, x, y, p, r, jacobian)
	damping := 1e-3
	for range 200 {
		step, ok := marquardt(jacobian, r, damping)
		if !ok {
			return fitted{}, errNoFit
		}
		floats.AddTo(trial, p, step)
		after := residuals(f, x, y, trial, next, nextJacobian)
		if !(after <= sum) {
			if damping *= 10; damping > 1e10 {
				break
			}
			continue
		}
		settled := sum-after <= 1e-11*sum
		p, trial = trial, p
		r, next = next, r
		jacobian, nextJacobian = nextJacobian, jacobian
		sum, damping = after, max(damping/10, 1e-12)
		if settled {
			break
		}
	}
	return uncertainty(jacobian, p, sum)
}

// residuals fills what the curve leaves of y, and the curve's derivatives, and
// gives the sum of squares.
func residuals(f curve, x, y, p, r []float64, jacobian *mat.Dense) float64 {
	for i := range x {
		r[i] = y[i] - f(p, x[i], jacobian.RawRowView(i))
	}
	return floats.Dot(r, r)
}

// marquardt solves for one step, damped along each parameter's own scale.
func marquardt(jacobian *mat.Dense, r []float64, damping float64) ([]float64, bool) {
	var normal mat.Dense
	normal.Mul(jacobian.T(), jacobian)
	var right, step mat.VecDense
	right.MulVec(jacobian.T(), mat.NewVecDense(len(r), r))
	for i := range right.Len() {
		normal.Set(i, i, normal.At(i, i)*(1+damping))
	}
	var condition mat.Condition
	if err := step.SolveVec(&normal, &right); err != nil && !errors.As(err, &condition) {
		return nil, false
	}
	values := step.RawVector().Data
	return values, !floats.HasNaN(values) && !math.IsInf(floats.Norm(values, 1), 0)
}

// uncertainty makes the covariance of the parameters from the derivatives where
// they stand.
func uncertainty(jacobian *mat.Dense, p []float64, sum float64) (fitted, error) {
	n, k := jacobian.Dims()
	fit := fitted{params: p, freedom: n - k, sd: math.Sqrt(sum / float64(n-k))}
	var normal, inverse mat.Dense
	normal.Mul(jacobian.T(), jacobian)
	var condition mat.Condition
	if err := inverse.Inverse(&normal); err != nil && (!errors.As(err, &condition) || math.IsInf(float64(condition), 1)) {
		return fitted{}, errNoFit
	}
	inverse.Scale(fit.sd*fit.sd, &inverse)
	if floats.HasNaN(inverse.RawMatrix().Data) || floats.HasNaN(p) {
		return fitted{}, errNoFit
	}
	fit.covariance = &inverse
	return fit, nil
}
