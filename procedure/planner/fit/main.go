// Fit flies seeded trials and fits to them the surrogates that package planner
// learns with. Run it from the top of the module when a powerplant's parameters
// have changed:
//
//	go run ./procedure/planner/fit -out procedure/planner/surrogates
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
	"kickover/procedure/planner"
)

func main() {
	out := flag.String("out", ".", "folder for the surrogates")
	trials := flag.Int("trials", 120000, "trials to fit to")
	seed := flag.Uint64("seed", 1, "seed of all chance")
	aircraft := flag.String("aircraft", "brindle-180", "whose powerplant")
	flag.Parse()
	if err := fit(*out, *aircraft, *trials, *seed); err != nil {
		fmt.Fprintln(os.Stderr, "fit:", err)
		os.Exit(1)
	}
}

func fit(out, aircraft string, trials int, seed uint64) error {
	libraries, err := flowfile.Load(assets.Library())
	if err != nil {
		return err
	}
	for _, lib := range libraries {
		if lib.Aircraft.ID == procedure.AircraftID(aircraft) {
			return fitOne(out, lib, trials, seed)
		}
	}
	return fmt.Errorf("there is no aircraft %q", aircraft)
}

func fitOne(out string, lib *procedure.Library, trials int, seed uint64) error {
	a, err := planner.NewAeroplane(lib)
	if err != nil {
		return err
	}
	drawn := make([]planner.Drawn, trials)
	failed := make([]error, trials)
	var group sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		group.Go(func() {
			for i := w; i < trials; i += workers {
				drawn[i], failed[i] = a.Draw(seed, i)
			}
		})
	}
	group.Wait()
	for _, err := range failed {
		if err != nil {
			return err
		}
	}
	s, err := a.Fit(drawn)
	if err != nil {
		return err
	}
	s.Seed = seed
	data, err := json.MarshalIndent(s, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(out, a.Spec.Name+".json"), append(data, '\n'), 0o644)
}
