package flowfile_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"kickover/procedure"
	"kickover/procedure/flowfile"
)

// seed gives a fuzz target every file there is, right and wrong.
func seed(f *testing.F) {
	f.Helper()
	for _, pattern := range []string{
		"../../assets/aircraft/*.yaml", "../../assets/flows/*/*.yaml", wrongFolder + "/*.yaml",
	} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			f.Fatalf("%s: %d files, %v", pattern, len(files), err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
}

// explained fails unless an error is of the promised type and says where, what
// and how to mend it.
func explained(t *testing.T, err error) {
	t.Helper()
	var wrong *flowfile.Errors
	if !errors.As(err, &wrong) || len(wrong.Problems) == 0 {
		t.Fatalf("an error of another kind: %v", err)
	}
	for _, p := range wrong.Problems {
		if p.What == "" || p.Mend == "" || p.Line > 0 && p.Column < 1 {
			t.Fatalf("unexplained: %+v", p)
		}
	}
}

// Whatever is in a file: no panic, an explained error or a flow that can be
// flown.
func FuzzFlow(f *testing.F) {
	seed(f)
	aircraft := shipped(f)["brindle-180"].Aircraft
	f.Fuzz(func(t *testing.T, data []byte) {
		flow, err := flowfile.ParseFlow("fuzz.yaml", data, aircraft)
		if err != nil {
			explained(t, err)
			return
		}
		clear, branch := false, []procedure.Step(nil)
		if flow.NoStart != nil {
			branch = flow.NoStart.Steps
		}
		for _, s := range append(append([]procedure.Step(nil), flow.Steps...), branch...) {
			if w := s.Window; w.Min < 0 || w.Min > w.Ideal || w.Ideal > w.Max {
				t.Fatalf("step %s has the window %+v", s.ID, w)
			}
			for _, target := range s.Targets {
				c, ok := aircraft.Control(target.Control)
				if !ok || c.Clamp(target.At) != target.At && c.Kind == procedure.Lever {
					t.Fatalf("step %s has the target %+v", s.ID, target)
				}
			}
			switch s.Kind {
			case procedure.StepPropClear:
				clear = true
			case procedure.StepRest:
				clear = false
			case procedure.StepCrank:
				if !clear || s.Window.Max > aircraft.Starter.Crank {
					t.Fatalf("step %s cranks unsafely", s.ID)
				}
				clear = false
			}
		}
	})
}

func FuzzAircraft(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		a, err := flowfile.ParseAircraft("fuzz.yaml", data)
		if err != nil {
			explained(t, err)
			return
		}
		for _, c := range a.Controls {
			if c.Clamp(c.Initial) != c.Initial || c.Rest(c.Initial) != c.Initial {
				t.Fatalf("the %s cannot stand at %v", c.ID, c.Initial)
			}
		}
		for _, i := range a.Instruments {
			if !(i.Max > i.Min) || !(i.Resolution > 0) {
				t.Fatalf("the %s has the scale %v to %v by %v", i.ID, i.Min, i.Max, i.Resolution)
			}
		}
		ignition, _ := a.Control(procedure.ControlIgnition)
		start, ok := ignition.Detent(procedure.DetentStart)
		if !ok || ignition.Rest(start) == start {
			t.Fatal("the starter does not spring back")
		}
	})
}
