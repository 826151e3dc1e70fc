package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/adrg/xdg"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
)

// userFolder is where a person's own aircraft and flows are looked for.
func userFolder() string { return filepath.Join(xdg.DataHome, "kickover") }

// libraries loads the shipped aircraft and flows and the person's own. A wrong
// file of the person's own is an error only to somebody who asked for it: the
// shipped ones still work.
func libraries() ([]*procedure.Library, error) {
	shipped, err := flowfile.Load(assets.Library())
	if err != nil {
		return nil, broken(err)
	}
	own, err := flowfile.LoadUser(userFolder(), shipped)
	if errors.Is(err, fs.ErrNotExist) {
		own, err = shipped, nil
	}
	if own == nil {
		own = shipped
	}
	// The aeroplane of the demonstration comes first wherever one is chosen.
	slices.SortStableFunc(own, func(a, b *procedure.Library) int {
		return cmp.Compare(rank(a), rank(b))
	})
	if err != nil {
		fmt.Fprintf(os.Stderr, "kickover: some of your own files are wrong and were left out; the rest works:\n%v\n", err)
	}
	return own, nil
}

func rank(l *procedure.Library) int {
	if l.Aircraft.ID == demoAircraft {
		return 0
	}
	return 1
}

// demoAircraft is the one that the demonstration flies.
const demoAircraft = "brindle-180"

// library finds one aircraft's.
func library(id string) (*procedure.Library, error) {
	libs, err := libraries()
	if err != nil {
		return nil, err
	}
	var known []string
	for _, l := range libs {
		if string(l.Aircraft.ID) == id {
			return l, nil
		}
		known = append(known, string(l.Aircraft.ID))
	}
	return nil, usage(fmt.Errorf("there is no aircraft %q: choose one of %s", id, strings.Join(known, ", ")))
}

// flow finds one flow of an aircraft.
func flow(lib *procedure.Library, id string) (*procedure.Flow, error) {
	if f, ok := lib.Flow(procedure.FlowID(id)); ok {
		return f, nil
	}
	var known []string
	for _, f := range lib.Flows {
		known = append(known, string(f.ID))
	}
	return nil, usage(fmt.Errorf("%s has no flow %q: choose one of %s", lib.Aircraft.Name, id, strings.Join(known, ", ")))
}
