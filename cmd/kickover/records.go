package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/hands"
	"kickover/procedure/powerplant"
	"kickover/procedure/record"
	"kickover/procedure/rehearsal"
)

func recordsCommand() *cobra.Command {
	var path string
	c := &cobra.Command{
		Use: "records", Short: "Runs, people, real starts and sign-offs that were kept",
		Long: "Runs are kept as they happen, in your own file unless --store or your settings say otherwise.\n\n" +
			"A school may keep them in PostgreSQL: name the database with --store as a URL,\n" +
			"postgres://USER@HOST/DATABASE. Leave the password to PostgreSQL's own password file or\n" +
			"PGPASSWORD, since other users can see a program's arguments.",
	}
	storeFlag(c.PersistentFlags(), &path)
	c.AddCommand(listRecords(&path), showRecord(&path), progressCommand(&path), chartsCommand(&path), exportRecords(&path), importRecords(&path), columnsCommand(),
		exportHands(&path), deleteRecord(&path), backupRecords(&path), restoreRecords(&path), checkRecords(&path),
		peopleCommand(&path), inventCommand(&path), assignRun(&path), signCommand(&path), signOffsCommand(&path), realStarts(&path))
	return c
}

// withStore opens the store for one command.
func withStore(c *cobra.Command, path string, do func(*record.Store) error) error {
	s, err := openStore(path)
	if err != nil {
		return broken(err)
	}
	defer s.Close()
	for _, n := range s.Notices() {
		fmt.Fprintln(c.ErrOrStderr(), "kickover:", n)
	}
	return do(s)
}

// filterFlags say which runs are meant.
type filterFlags struct {
	person, aircraft, flow, phase, outcome, from, to string
}

func (f *filterFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.person, "person", "", "runs of this person only, by name or id; - is nobody's")
	c.Flags().StringVar(&f.aircraft, "aircraft", "", "runs on this aircraft only")
	c.Flags().StringVar(&f.flow, "flow", "", "runs of this flow only")
	c.Flags().StringVar(&f.phase, "phase", "", "explain, demonstrate, perform or evaluate only")
	c.Flags().StringVar(&f.outcome, "outcome", "", "runs that ended so only: started, \"not started\", unsafe, stopped, abandoned or read")
	c.Flags().StringVar(&f.from, "from", "", "runs from this day on, as 2026-01-31")
	c.Flags().StringVar(&f.to, "until", "", "runs until this day, it included")
}

func (f *filterFlags) filter(s *record.Store) (record.Filter, error) {
	out := record.Filter{
		Person: f.person, Aircraft: procedure.AircraftID(f.aircraft), Flow: procedure.FlowID(f.flow),
		Phase: procedure.Phase(f.phase), Outcome: procedure.Outcome(f.outcome),
	}
	if err := f.check(); err != nil {
		return out, err
	}
	var err error
	if f.person != record.Nobody {
		if out.Person, err = personNamed(s, f.person); err != nil {
			return out, err
		}
	}
	if out.From, err = calendarDay(f.from); err != nil {
		return out, err
	}
	if out.To, err = calendarDay(f.to); err == nil && f.to != "" {
		out.To = out.To.AddDate(0, 0, 1)
	}
	return out, err
}

// check refuses words that no run can have: a list that is empty for a slip of the
// fingers would be taken for the truth.
func (f *filterFlags) check() error {
	phases := []procedure.Phase{procedure.Explain, procedure.Demonstrate, procedure.Perform, procedure.Evaluate}
	if f.phase != "" && !slices.Contains(phases, procedure.Phase(f.phase)) {
		return usage(fmt.Errorf("there is no phase %q: choose explain, demonstrate, perform or evaluate", f.phase))
	}
	outcomes := []procedure.Outcome{procedure.Started, procedure.NotStarted, procedure.EndUnsafe, procedure.Stopped, procedure.Abandoned, procedure.Read}
	if f.outcome != "" && !slices.Contains(outcomes, procedure.Outcome(f.outcome)) {
		return usage(fmt.Errorf("no run ends %q: choose started, \"not started\", unsafe, stopped, abandoned or read", f.outcome))
	}
	return nil
}

// calendarDay reads a day of the user's own calendar; empty is none.
func calendarDay(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	day, err := time.ParseInLocation(time.DateOnly, text, time.Local)
	if err != nil {
		return day, usage(fmt.Errorf("%q is no day; write it as 2026-01-31", text))
	}
	return day, nil
}

func listRecords(path *string) *cobra.Command {
	var page record.Page
	var filter filterFlags
	var asCSV bool
	c := &cobra.Command{
		Use: "list", Short: "List runs, newest first", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				if page.Limit < 1 {
					return usage(fmt.Errorf("--limit is %d; it must be 1 or more", page.Limit))
				}
				f, err := filter.filter(s)
				if err != nil {
					return err
				}
				list, err := s.Runs(f, page)
				if err != nil {
					return recordError(err, page.After)
				}
				names, err := peopleNames(s)
				if err != nil {
					return broken(err)
				}
				if asCSV {
					return broken(listAsCSV(c.OutOrStdout(), list))
				}
				return listAsText(c.OutOrStdout(), list, names)
			})
		},
	}
	c.Flags().IntVar(&page.Limit, "limit", 50, "runs at most")
	c.Flags().StringVar(&page.After, "after", "", "continue after the run with this id")
	c.Flags().BoolVar(&asCSV, "csv", false, "as CSV for a spreadsheet, a row each, people by id; 'export' writes what can be taken in again")
	filter.add(c)
	return c
}

func listAsText(w io.Writer, list []record.Listing, names func(string) string) error {
	t := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, l := range list {
		// What a run that was cut short came to was never summed up; its debrief tells.
		prime, attempts := "-", "-"
		if l.Finished {
			prime, attempts = fmt.Sprintf("prime %.1f s", l.Summary.Prime.Seconds()), counted(l.Summary.Attempts, "attempt")
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", l.Header.ID,
			l.Header.Started.Local().Format("2006-01-02 15:04"), l.Header.Flow, l.Header.Phase, outcomeWord(l),
			prime, attempts, names(l.Header.Person))
	}
	return t.Flush()
}

// counted is a number of things, in words: "1 attempt", "2 attempts".
func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func outcomeWord(l record.Listing) string {
	if !l.Finished {
		return "cut short"
	}
	return string(l.Summary.Outcome)
}

func listAsCSV(w io.Writer, list []record.Listing) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	err := out.Write([]string{"id", "started_utc", "person", "aircraft", "flow", "phase", "outcome", "prime_s", "attempts", "unsafe", "duration_s"})
	seconds := func(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 3, 64) }
	for _, l := range list {
		h, sum := l.Header, l.Summary
		row := []string{h.ID, h.Started.Format(time.RFC3339), h.Person, string(h.Aircraft), string(h.Flow), string(h.Phase), outcomeWord(l)}
		if l.Finished {
			row = append(row, seconds(sum.Prime), strconv.Itoa(sum.Attempts), strconv.Itoa(sum.Unsafe), seconds(sum.Duration))
		} else {
			row = append(row, "", "", "", "") // never summed up
		}
		err = errors.Join(err, out.Write(row))
	}
	out.Flush()
	return errors.Join(err, out.Error())
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
	if errors.Is(err, record.ErrNoPerson) {
		return peopleError(err)
	}
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
