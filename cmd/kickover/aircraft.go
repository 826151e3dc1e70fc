package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/powerplant"
)

func aircraftCommand() *cobra.Command {
	c := &cobra.Command{Use: "aircraft", Short: "List the aircraft, and show one with its simulated engine"}
	c.AddCommand(
		&cobra.Command{
			Use: "list", Short: "List the aircraft", Args: cobra.NoArgs,
			RunE: func(c *cobra.Command, _ []string) error {
				libs, err := libraries()
				if err != nil {
					return err
				}
				for _, l := range libs {
					fmt.Fprintf(c.OutOrStdout(), "%-14s %-12s %s\n", l.Aircraft.ID, l.Aircraft.Name, l.Aircraft.Summary)
				}
				return nil
			},
		},
		&cobra.Command{
			Use: "show AIRCRAFT", Short: "Show controls, instruments, limits and every parameter of the engine with its source",
			Args: cobra.ExactArgs(1),
			RunE: func(c *cobra.Command, args []string) error {
				lib, err := library(args[0])
				if err != nil {
					return err
				}
				return showAircraft(c.OutOrStdout(), lib.Aircraft)
			},
		},
	)
	return c
}

func showAircraft(out io.Writer, a *procedure.Aircraft) error {
	t := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(t, "%s: %s\n%s\n\nControls\n", a.Name, a.Summary, caution)
	for _, c := range a.Controls {
		fmt.Fprintf(t, "  %s\t%s\t%s\t%s\n", c.ID, c.Name, c.Hand, controlWords(&c))
	}
	fmt.Fprint(t, "\nInstruments\n")
	for _, i := range a.Instruments {
		fmt.Fprintf(t, "  %s\t%s\t%g to %g %s\n", i.ID, i.Name, i.Min, i.Max, i.Unit)
	}
	s := a.Starter
	fmt.Fprintf(t, "\nStarter\n  %g s at most, %g s between, %g min after %d attempts\n", s.Crank.Seconds(), s.Rest.Seconds(), s.LongRest.Minutes(), s.Attempts)
	spec, err := powerplant.ByName(a.Powerplant)
	if err != nil {
		return usage(err)
	}
	fmt.Fprintf(t, "\nSimulated engine %q: fitted to common practice, a validation of nothing\n", a.Powerplant)
	for _, p := range powerplant.Parameters(spec) {
		fmt.Fprintf(t, "  %s\t%g\t%s\t%s\n", p.Name, p.Value, p.Unit, p.Source)
	}
	return t.Flush()
}

func controlWords(c *procedure.Control) string {
	if c.Kind != procedure.Lever {
		return fmt.Sprint(c.Detents)
	}
	out := fmt.Sprintf("0 to %g %s", float64(c.Travel), c.Unit)
	for _, m := range c.Marks {
		out += fmt.Sprintf(", %s mark at %g ± %g %s", m.Name, float64(m.At), float64(m.Tolerance), c.Unit)
	}
	if c.Edge != "" {
		out += ", lined up by its " + c.Edge + " edge"
	}
	return out
}
