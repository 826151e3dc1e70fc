package flowfile

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kickover/procedure"
)

// unit is a unit of measurement: value × factor + offset gives the first unit
// of its dimension.
type unit struct {
	name           string
	dimension      string
	factor, offset float64
}

// units in the order in which messages offer them. Factors from the
// definitions of the inch, the pound-force per square inch and the bar (NIST
// SP 811, appendix B.8).
var units = []unit{
	{"s", "time", 1, 0},
	{"ms", "time", 1e-3, 0},
	{"min", "time", 60, 0},
	{"h", "time", 3600, 0},
	{"mm", "length", 1, 0},
	{"in", "length", 25.4, 0},
	{"V", "voltage", 1, 0},
	{"A", "current", 1, 0},
	{"rpm", "speed of rotation", 1, 0},
	{"kPa", "pressure", 1, 0},
	{"bar", "pressure", 100, 0},
	{"psi", "pressure", 6.894757, 0},
	{"degC", "temperature", 1, 0},
	{"degF", "temperature", 5.0 / 9.0, -160.0 / 9.0},
	{"g/s", "fuel flow", 1, 0},
	{"kg/h", "fuel flow", 1 / 3.6, 0},
	{"%", "share", 1e-2, 0},
	{procedure.UnitLamp, "light", 1, 0},
}

func unitNamed(name string) (unit, bool) {
	i := slices.IndexFunc(units, func(u unit) bool { return u.name == name })
	if i < 0 {
		return unit{}, false
	}
	return units[i], true
}

// unitNames lists the units of a dimension.
func unitNames(dimension string) []string {
	var names []string
	for _, u := range units {
		if u.dimension == dimension {
			names = append(names, u.name)
		}
	}
	return names
}

// article is the dimension as a sentence has it.
func article(dimension string) string { return "a " + dimension }

var quantityPattern = regexp.MustCompile(`^([+-]?[0-9]{1,9}(?:\.[0-9]{1,9})?)(?: ?([^\s0-9.,+-][^\s]*))?$`)

// quantity reads a number with a unit of the dimension, in the dimension's
// first unit.
func quantity(r *report, n *node, dimension, example string) (float64, bool) {
	v, u, ok := amount(r, n, dimension, example)
	return v*u.factor + u.offset, ok
}

// amount reads a number with a unit of the dimension, as they stand. It
// complains, and gives false, when there is none.
func amount(r *report, n *node, dimension, example string) (float64, unit, bool) {
	s, ok := scalar(r, n, article(dimension))
	if !ok {
		return 0, unit{}, false
	}
	mend := fmt.Sprintf("write a number with its unit (%s), for example %q", strings.Join(unitNames(dimension), ", "), example)
	if strings.Contains(s, ",") {
		mend += "; a number has a point and no commas"
	}
	m := quantityPattern.FindStringSubmatch(strings.TrimSpace(s))
	if m == nil {
		r.complain(n, fmt.Sprintf("%q is not %s", s, article(dimension)), mend)
		return 0, unit{}, false
	}
	if m[2] == "" {
		r.complain(n, fmt.Sprintf("%q has no unit where %s is due", s, article(dimension)), mend)
		return 0, unit{}, false
	}
	u, known := unitNamed(m[2])
	if !known {
		r.complain(n, fmt.Sprintf("%q is not a unit that is read", m[2]), mend)
		return 0, unit{}, false
	}
	if u.dimension != dimension {
		r.complain(n, fmt.Sprintf("%q is %s where %s is due", s, article(u.dimension), article(dimension)), mend)
		return 0, unit{}, false
	}
	v, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		r.complain(n, fmt.Sprintf("%q is not a number", m[1]), mend)
		return 0, unit{}, false
	}
	return v, u, true
}

// longestTime bounds every time in a file: nothing in a start takes a day.
const longestTime = 24 * time.Hour

// duration reads a time that is not negative, exact to the nanosecond.
func duration(r *report, n *node) (time.Duration, bool) {
	seconds, ok := quantity(r, n, "time", "3.5 s")
	if !ok {
		return 0, false
	}
	d := time.Duration(math.Round(seconds * 1e9))
	if d < 0 || d > longestTime {
		r.complain(n, fmt.Sprintf("%q is not between 0 s and 24 h", n.text), "write how long it takes, for example \"3.5 s\"")
		return 0, false
	}
	return d, true
}

// positive is duration for a time that must be longer than nothing.
func positive(r *report, n *node) time.Duration {
	d, ok := duration(r, n)
	if ok && d == 0 {
		r.complain(n, "this time must be longer than nothing", "write how long it takes, for example \"3 s\"")
	}
	return d
}

// measured reads a quantity in an instrument's own unit, whatever unit of the
// same dimension the file has.
func measured(r *report, n *node, own unit) (float64, bool) {
	v, ok := quantity(r, n, own.dimension, "10 "+own.name)
	if !ok {
		return 0, false
	}
	if own.factor == 1 && own.offset == 0 {
		return v, true
	}
	return (v - own.offset) / own.factor, true
}

// spread reads a difference of two readings in an instrument's own unit: where
// a scale begins, as that of degF does, must not enter into it.
func spread(r *report, n *node, own unit) (float64, bool) {
	v, u, ok := amount(r, n, own.dimension, "10 "+own.name)
	if !ok {
		return 0, false
	}
	return v * u.factor / own.factor, true
}
