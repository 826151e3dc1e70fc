package main

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// dimension is a kind of quantity that a flag takes: its units as factor and
// offset to the first one.
type dimension struct {
	example string
	units   []argumentUnit
}

type argumentUnit struct {
	name           string
	factor, offset float64
}

// dimensions that the flags take. The foot is 0.3048 m exactly (NIST SP 811).
var dimensions = map[string]dimension{
	"temperature": {"10 degC", []argumentUnit{{"degC", 1, 0}, {"degF", 5.0 / 9, -160.0 / 9}}},
	"altitude":    {"500 m", []argumentUnit{{"m", 1, 0}, {"ft", 0.3048, 0}}},
	"time":        {"45 min", []argumentUnit{{"s", 1, 0}, {"min", 60, 0}, {"h", 3600, 0}}},
	"share":       {"88 %", []argumentUnit{{"", 1, 0}, {"%", 0.01, 0}}},
}

// quantity reads the value of a flag with its unit.
func quantity(flag, text, kind string) (float64, error) {
	d := dimensions[kind]
	number := strings.TrimSpace(text)
	end := strings.LastIndexAny(number, "0123456789.") + 1
	name := strings.TrimSpace(number[end:])
	v, err := strconv.ParseFloat(number[:end], 64)
	if err == nil {
		for _, u := range d.units {
			if u.name == name {
				return v*u.factor + u.offset, nil
			}
		}
	}
	var known []string
	for _, u := range d.units {
		if u.name != "" {
			known = append(known, u.name)
		}
	}
	return 0, fmt.Errorf("%s %q is no %s: write a number with its unit (%s), for example %q", flag, text, kind, strings.Join(known, ", "), d.example)
}

// sinceShutdown reads --since-shutdown. Nothing is zero: to the engine that means
// overnight.
func sinceShutdown(text string) (time.Duration, error) {
	since, err := quantity("--since-shutdown", text, "time")
	if err != nil {
		return 0, err
	}
	const year = 365 * 24 * 3600.0
	if !(since >= 1 && since <= year) {
		return 0, fmt.Errorf("--since-shutdown %q cannot be simulated: use 1 s to a year; overnight is as cold as it gets", text)
	}
	return time.Duration(since * float64(time.Second)), nil
}

// batteryCharge reads --battery. Nothing is zero: to the engine that means the
// battery's usual charge.
func batteryCharge(text string) (float64, error) {
	charge, err := quantity("--battery", text, "share")
	if err == nil && !(charge > 0 && charge <= 1) {
		err = fmt.Errorf("--battery %q cannot be simulated: use above 0 to 100 %%; an empty one is the fault dead_battery", text)
	}
	return charge, err
}
