package main

import (
	"encoding/csv"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"kickover/procedure"
	"kickover/ui/timer"
)

// The aeroplanes that were timed on this computer, the last first, so that the
// timer opens with the one that stands outside.

func fleetFile() string { return filepath.Join(timerFolder(), "aeroplanes.csv") }

// aeroplanes lists those that were timed, and then every aircraft that there is a
// file for and none of which was. A list that cannot be read costs a choice by
// hand and nothing else.
func aeroplanes(libs []*procedure.Library) []timer.Aeroplane {
	var out []timer.Aeroplane
	seen := map[string]bool{}
	for _, r := range timedBefore() {
		registration, err := timer.Registration(r[0])
		if err != nil || registration == "" {
			continue
		}
		for _, l := range libs {
			if string(l.Aircraft.ID) == r[1] {
				out = append(out, timer.Aeroplane{Library: l, Registration: registration})
				seen[r[1]] = true
			}
		}
	}
	for _, l := range libs {
		if !seen[string(l.Aircraft.ID)] {
			out = append(out, timer.Aeroplane{Library: l, Registration: string(l.Aircraft.ID)})
		}
	}
	return out
}

// timedBefore is the list on the disk: registration, aircraft.
func timedBefore() [][]string {
	file, err := os.Open(fleetFile())
	if err != nil {
		return nil
	}
	defer file.Close()
	in := csv.NewReader(file)
	in.FieldsPerRecord = 2
	rows, _ := in.ReadAll() // what was read before a mistake is as good as it was
	return rows
}

// mostTimed is how many aeroplanes are remembered.
const mostTimed = 30

// rememberTimed puts an aeroplane first on the list. That it cannot be remembered
// is no reason to trouble a pilot: it can be chosen by hand.
func rememberTimed(a timer.Aeroplane) error {
	row := []string{a.Registration, string(a.Library.Aircraft.ID)}
	rows := slices.DeleteFunc(timedBefore(), func(r []string) bool {
		return strings.EqualFold(r[0], row[0]) && r[1] == row[1]
	})
	rows = append([][]string{row}, rows...)
	if err := os.MkdirAll(timerFolder(), 0o755); err != nil {
		return err
	}
	temp := fleetFile() + ".new"
	file, err := os.Create(temp)
	if err != nil {
		return err
	}
	out := csv.NewWriter(file)
	if err := errors.Join(out.WriteAll(rows[:min(len(rows), mostTimed)]), file.Close()); err != nil {
		return err
	}
	return os.Rename(temp, fleetFile())
}

// chooseAeroplane finds the aeroplane that is meant by an aircraft's id and a registration,
// each of which may be empty: then it is the one that was timed last.
func chooseAeroplane(fleet []timer.Aeroplane, aircraft, registration string) (timer.Aeroplane, error) {
	for _, a := range fleet {
		if (aircraft == "" || string(a.Library.Aircraft.ID) == aircraft) && (registration == "" || strings.EqualFold(a.Registration, registration)) {
			return a, nil
		}
	}
	if aircraft == "" {
		aircraft = demoAircraft
	}
	for _, a := range fleet { // a registration that is new
		if string(a.Library.Aircraft.ID) == aircraft {
			return timer.Aeroplane{Library: a.Library, Registration: registration}, nil
		}
	}
	return timer.Aeroplane{}, fs.ErrNotExist
}
