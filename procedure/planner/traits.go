package planner

import "kickover/procedure/powerplant"

// Traits are what one aeroplane keeps from start to start that another has not,
// each as a factor of the model's value. The model's own aeroplane has 1, 1, 1.
type Traits struct {
	Flow     float64 // prime flow
	Transfer float64 // fuel from the walls to the air
	Film     float64 // what the walls hold before they drain
}

// traitCount is how many there are.
const traitCount = 3

// spread is one standard deviation of each among aeroplanes, as the model has it.
func spread() [traitCount]float64 {
	s := powerplant.UsualScatter()
	return [traitCount]float64{s.Flow, s.Transfer, s.Film}
}

// traitsAt are the traits so many standard deviations from the model's.
func traitsAt(z [traitCount]float64) Traits {
	s := spread()
	return Traits{Flow: 1 + s[0]*z[0], Transfer: 1 + s[1]*z[1], Film: 1 + s[2]*z[2]}
}

// of gives a spec the traits.
func (t Traits) of(spec powerplant.Spec) powerplant.Spec {
	spec.Supply.FlowClosed *= t.Flow
	spec.Supply.FlowPerMM *= t.Flow
	spec.Carburettor.PrimerGrams *= t.Flow
	spec.Ports.Transfer *= t.Transfer
	spec.Ports.FilmGrams *= t.Film
	return spec
}

// withoutTraits leaves in the scatter what is left to chance when the aeroplane
// is given.
func withoutTraits(s powerplant.Scatter) powerplant.Scatter {
	s.Flow, s.Transfer, s.Film = 0, 0, 0
	return s
}
