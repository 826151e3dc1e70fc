package powerplant

import (
	"errors"
	"fmt"
	"reflect"
)

// Validate refuses a spec that cannot be simulated.
func (s Spec) Validate() error {
	if s.sound() {
		return nil
	}
	var errs []error
	if s.FuelSystem != Injected && s.FuelSystem != Carburetted {
		errs = append(errs, fmt.Errorf("fuel system %q is not known: use %q or %q", s.FuelSystem, Injected, Carburetted))
	}
	eachParameter(reflect.ValueOf(&s).Elem(), "", func(name string, v float64, _ reflect.StructTag) {
		if !finite(v) || v < 0 {
			errs = append(errs, fmt.Errorf("parameter %s is %g: use a number that is not negative", name, v))
		}
	})
	for _, d := range s.divisors() {
		if d.value == 0 {
			errs = append(errs, fmt.Errorf("parameter %s is 0: use a number above 0", d.name))
		}
	}
	if _, _, ok := s.Oil.Grade.Viscosities(); !ok {
		errs = append(errs, fmt.Errorf("oil grade %q is not known: use one of %v", s.Oil.Grade, OilGrades()))
	}
	return errors.Join(errs...)
}

// divisor is a parameter that must not be zero.
type divisor struct {
	name  string
	value float64
}

func (s *Spec) divisors() [20]divisor {
	return [...]divisor{
		{"Engine.Displacement", s.Engine.Displacement},
		{"Engine.Inertia", s.Engine.Inertia},
		{"Engine.BearingSeconds", s.Engine.BearingSeconds},
		{"Throttle.TravelMM", s.Throttle.TravelMM},
		{"Throttle.ManifoldVolume", s.Throttle.ManifoldVolume},
		{"Fuel.ReidKPa", s.Fuel.ReidKPa},
		{"Fuel.AirFuel", s.Fuel.AirFuel},
		{"Fuel.VapourMolar", s.Fuel.VapourMolar},
		{"Fuel.LeanWidth", s.Fuel.LeanWidth},
		{"Fuel.RichWidth", s.Fuel.RichWidth},
		{"Fuel.ColdBoil", s.Fuel.ColdBoil},
		{"Supply.GaugeSeconds", s.Supply.GaugeSeconds},
		{"Supply.ValveSpan", s.Supply.ValveSpan},
		{"Ports.Volume", s.Ports.Volume},
		{"Ports.FilmGrams", s.Ports.FilmGrams},
		{"Battery.Cells", s.Battery.Cells},
		{"Battery.AmpereHours", s.Battery.AmpereHours},
		{"Battery.Ohms", s.Battery.Ohms},
		{"Starter.WindingHeat", s.Starter.WindingHeat},
		{"Starter.CaseHeat", s.Starter.CaseHeat},
	}
}

// sound is Validate's answer without the words, and without their cost: every
// trial of a plan asks it.
func (s *Spec) sound() bool {
	for _, d := range s.divisors() {
		if d.value == 0 {
			return false
		}
	}
	_, _, oil := s.Oil.Grade.Viscosities()
	return oil && (s.FuelSystem == Injected || s.FuelSystem == Carburetted) && soundNumbers(reflect.ValueOf(s).Elem())
}

func soundNumbers(v reflect.Value) bool {
	for i := range v.NumField() {
		switch sub := v.Field(i); sub.Kind() {
		case reflect.Struct:
			if !soundNumbers(sub) {
				return false
			}
		case reflect.Float64:
			if x := sub.Float(); !finite(x) || x < 0 {
				return false
			}
		case reflect.Array:
			for j := range sub.Len() {
				if x := sub.Index(j).Float(); !finite(x) || x < 0 {
					return false
				}
			}
		}
	}
	return true
}
