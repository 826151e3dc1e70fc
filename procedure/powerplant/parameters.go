package powerplant

import (
	"reflect"
	"strconv"
)

// Parameter is one number of a Spec with its unit and where it comes from: a
// standard, "common practice, no source", "estimate", "fitted" and so on.
type Parameter struct {
	Name   string // as the field of Spec: "Supply.PumpKPa"
	Value  float64
	Unit   string
	Source string
}

// Parameters lists every number of a spec, in the order of its fields.
func Parameters(spec Spec) []Parameter {
	var list []Parameter
	eachParameter(reflect.ValueOf(spec), "", func(name string, v float64, tag reflect.StructTag) {
		list = append(list, Parameter{Name: name, Value: v, Unit: tag.Get("unit"), Source: tag.Get("source")})
	})
	at40, at100, _ := spec.Oil.Grade.Viscosities()
	const oil = "typical of its SAE grade, from memory; inside SAE J300's window"
	return append(list,
		Parameter{Name: "Oil.At40", Value: at40, Unit: "cSt", Source: oil},
		Parameter{Name: "Oil.At100", Value: at100, Unit: "cSt", Source: oil},
	)
}

// eachParameter calls visit for every number below v.
func eachParameter(v reflect.Value, path string, visit func(name string, v float64, tag reflect.StructTag)) {
	for i := range v.NumField() {
		field, sub := v.Type().Field(i), v.Field(i)
		name := field.Name
		if path != "" {
			name = path + "." + name
		}
		switch sub.Kind() {
		case reflect.Struct:
			eachParameter(sub, name, visit)
		case reflect.Float64:
			visit(name, sub.Float(), field.Tag)
		case reflect.Array:
			for j := range sub.Len() {
				visit(name+"["+strconv.Itoa(j)+"]", sub.Index(j).Float(), field.Tag)
			}
		}
	}
}
