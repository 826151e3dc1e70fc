package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/realstart"
	"kickover/procedure/timer"
)

func startsFile() string { return filepath.Join(timerFolder(), "starts.csv") }

// keptStarts reads the real starts that the timer kept.
func keptStarts() ([]realstart.Start, error) {
	s, err := realstart.Open(startsFile())
	if err != nil {
		return nil, err
	}
	return s.Starts(), nil
}

// startsCommand takes real starts out and in as CSV.
func startsCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "starts", Short: "List, export and import the real starts that were kept: nobody's maintenance record",
		Long: "List, export and import the real starts that the cockpit timer kept. They are practice notes, and\n" +
			"nobody's maintenance record: the aeroplane's own books are kept elsewhere.",
	}
	var registration string
	list := &cobra.Command{
		Use: "list", Short: "List them, oldest first, each prime against the window of its flow", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return listStarts(c.OutOrStdout(), registration) },
	}
	list.Flags().StringVar(&registration, "registration", "", "only this aeroplane's")
	c.AddCommand(
		list,
		&cobra.Command{
			Use: "export", Short: "Write them as CSV", Args: cobra.NoArgs,
			RunE: func(c *cobra.Command, _ []string) error {
				s, err := realstart.Open(startsFile())
				if err != nil {
					return broken(err)
				}
				return broken(s.Export(c.OutOrStdout()))
			},
		},
		&cobra.Command{
			Use: "import FILE", Short: "Take CSV in; the same file twice changes nothing", Args: cobra.ExactArgs(1),
			RunE: func(c *cobra.Command, args []string) error { return importStarts(c, args[0]) },
		},
	)
	return c
}

func importStarts(c *cobra.Command, name string) error {
	file, err := os.Open(name)
	if err != nil {
		return usage(fmt.Errorf("the starts cannot be read: %w", err))
	}
	defer file.Close()
	s, err := realstart.Open(startsFile())
	if err != nil {
		return broken(err)
	}
	m, err := s.Import(file, time.Now())
	if err != nil {
		return usage(err)
	}
	fmt.Fprintf(c.OutOrStdout(), "%d starts taken in, %d changed, %d there already\n", m.Added, m.Changed, m.Same)
	return nil
}

// observedStarts looks at every start that was kept against its aircraft's flows.
func observedStarts() ([]realstart.Observation, error) {
	starts, err := keptStarts()
	if err != nil {
		return nil, broken(err)
	}
	libs, err := libraries()
	if err != nil {
		return nil, err
	}
	return realstart.Observe(starts, func(s realstart.Start) (procedure.Window, bool) { return primeWindow(libs, s) }), nil
}

// primeWindow is how long the prime of a start might have taken.
func primeWindow(libs []*procedure.Library, s realstart.Start) (procedure.Window, bool) {
	for _, l := range libs {
		if l.Aircraft.ID != s.Aircraft {
			continue
		}
		for _, f := range l.Flows {
			if w, holds := timer.PrimeWindow(f, s.OATCelsius); f.Entry && f.Situation == s.Situation && holds > 0 {
				return w, true
			}
		}
	}
	return procedure.Window{}, false
}

func listStarts(out io.Writer, registration string) error {
	all, err := observedStarts()
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "TIME (UTC)\tAEROPLANE\tSITUATION\tAIR\tSINCE SHUTDOWN\tATTEMPTS\tOUTCOME\tPRIME\tVERDICT\tNOTE")
	n := 0
	for _, o := range all {
		s := o.Start
		if registration != "" && !strings.EqualFold(s.Registration, registration) {
			continue
		}
		n++
		air, since := "", ""
		if !math.IsNaN(s.OATCelsius) {
			air = chosenUnits().Celsius(s.OATCelsius)
		}
		if s.ShutdownKnown {
			since = timer.Spoken(s.SinceShutdown)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%d\t%s\t%s\t%s\t%s\n", s.At.UTC().Format(time.DateTime), s.Registration, s.Situation,
			air, since, s.Attempts, s.Outcome, o.Detail, o.Verdict, strings.ReplaceAll(s.Note, "\n", " "))
	}
	if n == 0 {
		fmt.Fprintln(out, "No real starts were kept yet. The cockpit timer keeps them: 'kickover timer'.")
		return nil
	}
	if err := w.Flush(); err != nil {
		return broken(err)
	}
	fmt.Fprintln(out, "\nPractice notes: nobody's maintenance record.")
	return nil
}
