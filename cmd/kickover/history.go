package main

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/practice"
	"kickover/procedure/proficiency"
	"kickover/procedure/record"
)

// This file joins the store to what looks at many runs: what became of each step
// is worked out once, when a run ends, and read from then on.

// summaryOf is what the store keeps of a run's end.
func summaryOf(h record.Header, r *debrief.Report, events []procedure.Event) record.Summary {
	return record.Summary{
		Outcome: r.Outcome, Prime: r.Prime, Attempts: len(r.Attempts), Unsafe: len(r.Breaches), Duration: r.Length,
		Running: r.Started, Steps: stepsOf(h, r, events),
	}
}

// stepsOf is nil where the flow is gone: a later look can work them out when it is
// back.
func stepsOf(h record.Header, r *debrief.Report, events []procedure.Event) []record.Step {
	lib, err := library(string(h.Aircraft))
	if err != nil {
		return nil
	}
	flow, ok := lib.Flow(h.Flow)
	if !ok {
		return nil
	}
	began := map[procedure.StepID]time.Duration{}
	for _, s := range r.Steps[:min(len(flow.Steps), len(r.Steps))] {
		began[s.Step.ID] = s.Begin
	}
	var steps []record.Step
	for _, s := range proficiency.Observe(h.Started, flow, h.Phase, r, events).Steps {
		steps = append(steps, record.Step{
			ID: s.ID, Title: s.Title, Kind: s.Kind, Criticality: s.Criticality, Verdict: s.Verdict, Window: s.Window,
			Begin: began[s.ID], Elapsed: s.Elapsed, Hesitation: s.Hesitation, TakenFor: s.TakenFor,
		})
	}
	return steps
}

// flownOneself reports whether a person flew a run of this phase themselves.
func flownOneself(p procedure.Phase) bool { return p == procedure.Perform || p == procedure.Evaluate }

// historyOf gives the runs that a person flew themselves, to look at together,
// oldest first; an empty person's are those that are nobody's.
func historyOf(store *record.Store, person string, filter record.Filter) ([]proficiency.Run, error) {
	list, err := flownOf(store, person, filter, func(int) error { return nil })
	if err != nil {
		return nil, err
	}
	titles, err := flowTitles()
	if err != nil {
		return nil, err
	}
	var runs []proficiency.Run
	for _, l := range list {
		runs = append(runs, observed(l, titles[flowKey{l.Header.Aircraft, l.Header.Flow}]))
	}
	return runs, nil
}

// flownOf gives them as they are stored; read is told of each, and may end it with
// an error. Runs that were stored without their steps are replayed, and stored with
// them.
func flownOf(store *record.Store, person string, filter record.Filter, read func(runs int) error) ([]record.Listing, error) {
	all, err := store.HistoryAsRead(person, filter, read)
	if err != nil {
		return nil, err
	}
	var list []record.Listing
	for _, l := range all {
		if !flownOneself(l.Header.Phase) {
			continue
		}
		if len(l.Summary.Steps) == 0 {
			if l, err = replayed(store, l); err != nil {
				return nil, err
			}
		}
		list = append(list, l)
	}
	return list, nil
}

type flowKey struct {
	aircraft procedure.AircraftID
	flow     procedure.FlowID
}

// flowTitles are those of the flows there are now.
func flowTitles() (map[flowKey]string, error) {
	libs, err := libraries()
	if err != nil {
		return nil, err
	}
	titles := map[flowKey]string{}
	for _, lib := range libs {
		for _, f := range lib.Flows {
			titles[flowKey{lib.Aircraft.ID, f.ID}] = f.Title
		}
	}
	return titles, nil
}

// observed is a stored run as a look at many takes it.
func observed(l record.Listing, title string) proficiency.Run {
	h, sum := l.Header, l.Summary
	run := proficiency.Run{
		At: h.Started, Aircraft: h.Aircraft, Flow: h.Flow, FlowTitle: title, Phase: h.Phase, Prompted: h.Phase != procedure.Evaluate,
		Attempts: sum.Attempts, Breaches: sum.Unsafe, Started: sum.Running,
		Steps: make([]proficiency.Step, len(sum.Steps)),
	}
	for i, s := range sum.Steps {
		run.Steps[i] = proficiency.Step{
			ID: s.ID, Title: s.Title, Kind: s.Kind, Criticality: s.Criticality, Verdict: s.Verdict, Window: s.Window,
			Elapsed: s.Elapsed, Hesitation: s.Hesitation, TakenFor: s.TakenFor,
		}
	}
	return run
}

// replayed works out a run's steps and stores them. A run that cannot be replayed
// any more stays without.
func replayed(store *record.Store, l record.Listing) (record.Listing, error) {
	_, events, err := store.Run(l.Header.ID)
	if err != nil {
		return l, err
	}
	report, err := reportOf(l.Header, events)
	if err != nil {
		return l, nil
	}
	l.Summary = summaryOf(l.Header, report, events)
	err = store.Summarise(l.Header.ID, l.Summary)
	if errors.Is(err, record.ErrReadOnly) {
		err = nil // it is worked out again the next time
	}
	return l, err
}

func progressCommand(path *string) *cobra.Command {
	var person, aircraft, flow string
	c := &cobra.Command{
		Use: "progress", Short: "Say how somebody gets on with one flow over all their runs", Args: cobra.NoArgs,
		Long: "Say how somebody gets on with one flow over all their runs. Without --person it looks\nat the runs that are nobody's: those of somebody who practises alone.",
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				id, err := personNamed(s, person)
				if err != nil {
					return err
				}
				runs, err := historyOf(s, id, record.Filter{Aircraft: procedure.AircraftID(aircraft), Flow: procedure.FlowID(flow)})
				if err != nil {
					return broken(err)
				}
				if len(runs) == 0 {
					err = writeUnflown(c.OutOrStdout(), s, id, procedure.AircraftID(aircraft), procedure.FlowID(flow))
				} else {
					err = writeProgress(c, proficiency.Of(runs))
				}
				if err != nil {
					return err
				}
				return writeNext(c, s, id)
			})
		},
	}
	c.Flags().StringVar(&person, "person", "", "a person's name or id")
	c.Flags().StringVar(&aircraft, "aircraft", demoAircraft, "aircraft")
	c.Flags().StringVar(&flow, "flow", "cold", "flow")
	return c
}

func writeProgress(c *cobra.Command, r *proficiency.Report) error {
	out := c.OutOrStdout()
	fmt.Fprintf(out, "%s from %s to %s; the engine ran at the end in %s.\n", counted(r.Runs, "run"),
		r.From.Local().Format("2 January 2006"), r.To.Local().Format("2 January 2006"), r.Started.Words())
	word, because := r.Working()
	fmt.Fprintf(out, "Is it working? %s. %s\n", word, because)
	t := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	for _, s := range r.Steps {
		fmt.Fprintf(t, "%s\t%s\n", s.Title, strings.Join(s.Words(), " "))
	}
	return t.Flush()
}

// writeNext says what to practise next, of all that somebody has flown.
func writeNext(c *cobra.Command, s *record.Store, person string) error {
	all, err := historyOf(s, person, record.Filter{})
	if err != nil {
		return broken(err)
	}
	for _, n := range practice.Next(all, time.Now(), practice.Options{Most: 2}) {
		fmt.Fprintf(c.OutOrStdout(), "\n%s\n  %s\n", n.Head, n.Body)
	}
	return nil
}
