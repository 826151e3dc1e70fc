package planner

import (
	"fmt"
	"math"
)

// Advice is a prime to aim for, always inside the handbook's window.
type Advice struct {
	Given bool
	Point Point  // what is advised; its Prime is the aim
	Why   string // in words
	// Beyond says that the simulation starts more often outside the window, and
	// that this is no advice; empty when it does not.
	Beyond string
}

// Advice weighs the row.
func (r Row) Advice() Advice { return Advise(r.Handbook, r.Points()) }

// Advise weighs points that were flown. The advice is the handbook's own ideal,
// unless another prime of the window starts clearly more often: with an interval
// wholly above the ideal's. Then it is the one of those nearest the ideal.
func Advise(h Handbook, points []Point) Advice {
	if !h.Primes() {
		return Advice{Why: fmt.Sprintf("%s: the flow primes not at all, and so no prime is advised.", h.Title)}
	}
	ideal, ok := nearest(points, h.Ideal, h.Inside)
	if !ok {
		return Advice{Why: "Nothing inside the handbook's window has been flown."}
	}
	a := Advice{Given: true, Point: ideal}
	for _, p := range points {
		if clearlyBetter(p, ideal) && h.Inside(p.Prime) &&
			(a.Point == ideal || math.Abs(p.Prime-h.Ideal) < math.Abs(a.Point.Prime-h.Ideal)) {
			a.Point = p
		}
	}
	a.Why = a.because(h, ideal)
	if best, ok := beyond(points, a.Point, h); ok {
		a.Beyond = fmt.Sprintf("Outside the window, %s starts more often in the simulation (%s against %s). It is not advised.",
			amount(best.Prime, h.Unit), percent(best.Start.Value()), percent(a.Point.Start.Value()))
	}
	return a
}

func (a Advice) because(h Handbook, ideal Point) string {
	odds := fmt.Sprintf("it starts in %s and floods in %s", shareWords(a.Point.Start), shareWords(a.Point.Flood))
	switch {
	case a.Point != ideal:
		return fmt.Sprintf("Inside the handbook's window, and on this day clearly better than its ideal of %s, which starts in %s: %s.",
			amount(ideal.Prime, h.Unit), shareWords(ideal.Start), odds)
	case ideal.Prime != h.Ideal:
		return fmt.Sprintf("Of the primes flown the nearest to the handbook's ideal of %s: %s.", amount(h.Ideal, h.Unit), odds)
	}
	return fmt.Sprintf("The handbook's own ideal: %s, and nothing else in the window does clearly better.", odds)
}

func clearlyBetter(p, than Point) bool { return p.Start.Low > than.Start.High }

// beyond finds the best prime outside the window that is clearly better.
func beyond(points []Point, advised Point, h Handbook) (Point, bool) {
	best, found := advised, false
	for _, p := range points {
		if !h.Inside(p.Prime) && clearlyBetter(p, advised) && p.Start.Value() > best.Start.Value() {
			best, found = p, true
		}
	}
	return best, found
}

// nearest finds the point nearest a prime among those that are allowed.
func nearest(points []Point, prime float64, allowed func(float64) bool) (Point, bool) {
	var best Point
	found := false
	for _, p := range points {
		if allowed(p.Prime) && (!found || math.Abs(p.Prime-prime) < math.Abs(best.Prime-prime)) {
			best, found = p, true
		}
	}
	return best, found
}

func percent(x float64) string { return fmt.Sprintf("%.0f %%", 100*x) }

// shareWords says a share with the ends of its interval.
func shareWords(s Share) string {
	return fmt.Sprintf("%s (%.0f to %s)", percent(s.Value()), 100*s.Low, percent(s.High))
}

func amount(prime float64, unit Unit) string {
	if unit == Strokes {
		if prime == 1 {
			return "1 stroke"
		}
		return fmt.Sprintf("%g strokes", prime)
	}
	return fmt.Sprintf("%.3g s", prime)
}
