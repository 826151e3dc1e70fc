package main

import (
	"errors"
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"kickover/procedure/debrief"
	"kickover/procedure/hands"
	"kickover/procedure/powerplant"
	"kickover/procedure/record"
	"kickover/procedure/rehearsal"
)

func recordsCommand() *cobra.Command {
	var path string
	c := &cobra.Command{
		Use: "records", Short: "List, show, export and import the runs that were kept",
		Long: "Runs are kept in " + record.DefaultPath() + " as they happen.",
	}
	c.PersistentFlags().StringVar(&path, "store", record.DefaultPath(), "the file they are kept in")
	c.AddCommand(listRecords(&path), showRecord(&path), exportRecord(&path), exportHands(&path), importRecords(&path), deleteRecord(&path))
	return c
}

// withStore opens the store for one command.
func withStore(c *cobra.Command, path string, do func(*record.Store) error) error {
	s, err := record.Open(path)
	if err != nil {
		return broken(err)
	}
	defer s.Close()
	for _, n := range s.Notices() {
		fmt.Fprintln(c.ErrOrStderr(), "kickover:", n)
	}
	return do(s)
}

func listRecords(path *string) *cobra.Command {
	var limit int
	var after string
	c := &cobra.Command{
		Use: "list", Short: "List runs, newest first", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				list, err := s.Runs(record.Filter{}, record.Page{Limit: limit, After: after})
				if err != nil {
					return recordError(err, after)
				}
				t := tabwriter.NewWriter(c.OutOrStdout(), 0, 4, 2, ' ', 0)
				for _, l := range list {
					outcome := string(l.Summary.Outcome)
					if !l.Finished {
						outcome = "cut short"
					}
					fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\tprime %.1f s\t%d attempts\n", l.Header.ID,
						l.Header.Started.Local().Format("2006-01-02 15:04"), l.Header.Flow, l.Header.Phase, outcome,
						l.Summary.Prime.Seconds(), l.Summary.Attempts)
				}
				return t.Flush()
			})
		},
	}
	c.Flags().IntVar(&limit, "limit", 50, "runs at most")
	c.Flags().StringVar(&after, "after", "", "continue after the run with this id")
	return c
}

func showRecord(path *string) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use: "show RUN", Short: "Debrief a run again", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				h, events, err := s.Run(args[0])
				if err != nil {
					return recordError(err, args[0])
				}
				report, err := reportOf(h, events)
				if err != nil {
					return err
				}
				if asJSON {
					return broken(report.WriteJSON(c.OutOrStdout(), storedHeading(h)))
				}
				return broken(report.WriteText(c.OutOrStdout()))
			})
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write it as JSON")
	return c
}

func exportRecord(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "export RUN", Short: "Write a run, all of it, as JSON lines", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				return recordError(s.Export(c.OutOrStdout(), args[0]), args[0])
			})
		},
	}
}

func exportHands(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "hands RUN", Short: "Write a run's acts in the form that 'kickover rehearse --hands' reads", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				h, events, err := s.Run(args[0])
				if err != nil {
					return recordError(err, args[0])
				}
				lib, err := library(string(h.Aircraft))
				if err != nil {
					return err
				}
				return broken(hands.Write(c.OutOrStdout(), events, lib.Aircraft))
			})
		},
	}
}

func importRecords(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "import", Short: "Take runs in from standard input, as export writes them; twice changes nothing", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				in, err := s.Import(c.InOrStdin())
				for _, p := range in.Problems {
					fmt.Fprintln(c.ErrOrStderr(), "kickover:", p)
				}
				fmt.Fprintf(c.OutOrStdout(), "%d runs taken in, %d were there already\n", in.Added, in.Known)
				if err == nil && len(in.Problems) > 0 {
					return &exitError{code: exitUsage}
				}
				return broken(err)
			})
		},
	}
}

func deleteRecord(path *string) *cobra.Command {
	return &cobra.Command{
		Use: "delete RUN", Short: "Delete a run for good", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, *path, func(s *record.Store) error { return recordError(s.Delete(args[0]), args[0]) })
		},
	}
}

// recordError tells a wrong id from a store that broke.
func recordError(err error, id string) error {
	if errors.Is(err, record.ErrNoRun) {
		return usage(fmt.Errorf("there is no run %q; 'kickover records list' names them", id))
	}
	return broken(err)
}

func conditionsOf(h record.Header) rehearsal.Conditions {
	c := h.Conditions
	return rehearsal.Conditions{
		OATCelsius: c.OATCelsius, PressureAltM: c.PressureAltM, SinceShutdown: c.SinceShutdown,
		BatteryCharge: c.BatteryCharge, SurpriseOffered: c.Hidden,
	}
}

func faultsOf(h record.Header) []powerplant.Fault {
	var out []powerplant.Fault
	for _, f := range h.Faults {
		out = append(out, powerplant.Fault(f))
	}
	return out
}

func storedHeading(h record.Header) debrief.Heading {
	return debrief.Heading{
		Run: h.ID, Aircraft: string(h.Aircraft), Flow: string(h.Flow), Phase: string(h.Phase), Panel: h.Panel,
		OATCelsius: h.Conditions.OATCelsius, PressureAltM: h.Conditions.PressureAltM,
		SinceShutdown: h.Conditions.SinceShutdown.Seconds(), BatteryCharge: h.Conditions.BatteryCharge,
		Faults: h.Faults, Seed: h.Seed,
	}
}
