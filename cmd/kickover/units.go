package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kickover/procedure/units"
)

// chosenUnits are those in which the person reads quantities.
func chosenUnits() units.Units {
	if preferences == nil {
		return units.Units{}
	}
	return preferences.Settings().Units
}

// unitsFlag lets a command be told the units of what it writes. Where nothing is
// said the settings' hold.
func unitsFlag(fs *pflag.FlagSet, u *units.Units) {
	fs.Var(unitList{u}, "units", "what quantities are written in: "+unitChoices()+"; several with commas, and the rest as in Settings")
}

// unitChoices are the units, each quantity's with "or".
func unitChoices() string {
	var pairs []string
	for _, q := range quantities {
		pairs = append(pairs, strings.Join(q.units, " or "))
	}
	return strings.Join(pairs, ", ")
}

// quantities are what can be read in more than one unit.
var quantities = []struct {
	units []string
	field func(*units.Units) *string
}{
	{units.Levers, func(u *units.Units) *string { return &u.Lever }},
	{units.Temperatures, func(u *units.Units) *string { return &u.Temperature }},
	{units.Altitudes, func(u *units.Units) *string { return &u.Altitude }},
	{units.Pressures, func(u *units.Units) *string { return &u.Pressure }},
	{units.FuelFlows, func(u *units.Units) *string { return &u.FuelFlow }},
}

// unitList is a flag's value: some units, with commas between them.
type unitList struct{ of *units.Units }

// Type implements pflag.Value.
func (l unitList) Type() string { return "list" }

// String implements pflag.Value.
func (l unitList) String() string {
	if l.of == nil {
		return ""
	}
	var all []string
	for _, q := range quantities {
		if unit := *q.field(l.of); unit != "" {
			all = append(all, unit)
		}
	}
	return strings.Join(all, ",")
}

// Set implements pflag.Value.
func (l unitList) Set(text string) error {
next:
	for _, unit := range strings.Split(text, ",") {
		unit = strings.TrimSpace(unit)
		for _, q := range quantities {
			if slices.Contains(q.units, unit) {
				*q.field(l.of) = unit
				continue next
			}
		}
		return fmt.Errorf("%q is none of the units that can be chosen: %s", unit, unitChoices())
	}
	return nil
}
