package planner

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Regress fits a logistic regression by Newton's method (iteratively reweighted
// least squares). Row i of the design are design(i), each as long as the first;
// ridge keeps coefficients small, as so many squares on each but the first. It
// returns the coefficients and their standard errors.
func Regress(n int, design func(i int) []float64, outcome func(i int) bool, ridge float64) (beta, se []float64, err error) {
	if n == 0 {
		return nil, nil, errors.New("a regression needs observations")
	}
	d := len(design(0))
	beta = make([]float64, d)
	var chol mat.Cholesky
	for range 60 {
		gradient, hessian := newton(n, design, outcome, beta, ridge)
		if !chol.Factorize(hessian) {
			return nil, nil, errors.New("the terms of the regression depend on each other: leave one out, or raise the ridge")
		}
		var step mat.VecDense
		if err := chol.SolveVecTo(&step, gradient); err != nil {
			return nil, nil, err
		}
		moved := 0.0
		for i := range beta {
			beta[i] += step.AtVec(i)
			moved = max(moved, math.Abs(step.AtVec(i)))
		}
		if moved < 1e-7 {
			break
		}
	}
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil {
		return nil, nil, err
	}
	se = make([]float64, d)
	for i := range se {
		se[i] = math.Sqrt(inverse.At(i, i))
	}
	return beta, se, nil
}

// newton is the gradient of the log likelihood and the negative of its second
// derivatives.
func newton(n int, design func(int) []float64, outcome func(int) bool, beta []float64, ridge float64) (*mat.VecDense, *mat.SymDense) {
	d := len(beta)
	g, h := make([]float64, d), make([]float64, d*d)
	for i := 1; i < d; i++ {
		g[i] -= ridge * beta[i]
		h[i*d+i] += ridge
	}
	for i := range n {
		x := design(i)
		sum := 0.0
		for j, v := range x {
			sum += beta[j] * v
		}
		p := logistic(sum)
		off := -p
		if outcome(i) {
			off = 1 - p
		}
		w := max(p*(1-p), 1e-10)
		for j, v := range x {
			g[j] += off * v
			if wv := w * v; wv != 0 {
				row := h[j*d : j*d+d]
				for k := j; k < d; k++ {
					row[k] += wv * x[k]
				}
			}
		}
	}
	return mat.NewVecDense(d, g), mat.NewSymDense(d, h)
}
