package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"kickover/procedure"
	"kickover/procedure/record"
)

// writeUnflown says what there is to look at instead, where somebody has no finished
// run of a flow: the other flows they have flown, and who has flown this one.
func writeUnflown(w io.Writer, s *record.Store, person string, aircraft procedure.AircraftID, flow procedure.FlowID) error {
	people, err := s.People()
	if err != nil {
		return broken(err)
	}
	whose, flag := "that is nobody's", ""
	for _, p := range people {
		if p.ID == person {
			whose, flag = "of "+p.Name, fmt.Sprintf(" --person %q", p.Name)
		}
	}
	fmt.Fprintf(w, "There is no finished run %s of the flow %s on %s.\n", whose, flow, aircraft)
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	instead, err := writeOtherFlows(t, s, person, flag)
	if err != nil {
		return err
	}
	others, err := writeWhoFlew(t, s, append(people, record.Person{}), person, aircraft, flow)
	if err != nil {
		return err
	}
	if !instead && !others {
		fmt.Fprintln(t, "Nobody has flown it yet. 'kickover' opens the window to practise in, 'kickover rehearse' flies a run here;\na run counts when it is Perform or Evaluate and flown to its end.")
	}
	return t.Flush()
}

// writeOtherFlows names the flows that somebody has flown.
func writeOtherFlows(w io.Writer, s *record.Store, person, flag string) (any bool, err error) {
	runs, err := ownRuns(s, person)
	if err != nil {
		return false, err
	}
	for _, k := range runs.order {
		if !any {
			fmt.Fprintln(w, "Flown instead, to be looked at with:")
		}
		any = true
		fmt.Fprintf(w, "  --aircraft %s --flow %s%s\t%s\n", k.aircraft, k.flow, flag, counted(runs.of[k], "run"))
	}
	return any, nil
}

// mostNamed is how many people are named at most.
const mostNamed = 12

// writeWhoFlew names the others who have flown a flow; one without an id is nobody.
func writeWhoFlew(w io.Writer, s *record.Store, people []record.Person, but string, aircraft procedure.AircraftID, flow procedure.FlowID) (any bool, err error) {
	named := 0
	for _, p := range people {
		if p.ID == but {
			continue
		}
		runs, err := ownRuns(s, p.ID)
		if err != nil {
			return any, err
		}
		n := runs.of[flowKey{aircraft, flow}]
		if n == 0 {
			continue
		}
		if !any {
			fmt.Fprintln(w, "Others have flown it; look at theirs with:")
		}
		if any = true; named == mostNamed {
			fmt.Fprintln(w, "  and more: 'kickover records people' lists everybody")
			break
		}
		named++
		if p.ID == "" {
			fmt.Fprintf(w, "  no --person, for what is nobody's\t%s\n", counted(n, "run"))
		} else {
			fmt.Fprintf(w, "  --person %q\t%s\n", p.Name, counted(n, "run"))
		}
	}
	return any, nil
}

// flownRuns are how many runs of each flow somebody flew themselves, the latest
// flown first.
type flownRuns struct {
	of    map[flowKey]int
	order []flowKey
}

func ownRuns(s *record.Store, person string) (flownRuns, error) {
	flown, err := s.Flown(person)
	if err != nil {
		return flownRuns{}, broken(err)
	}
	runs := flownRuns{of: map[flowKey]int{}}
	for _, f := range flown {
		if !flownOneself(f.Phase) {
			continue
		}
		k := flowKey{f.Aircraft, f.Flow}
		if runs.of[k] == 0 {
			runs.order = append(runs.order, k)
		}
		runs.of[k] += f.Runs
	}
	return runs, nil
}
