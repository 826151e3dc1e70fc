package main

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/flowfile"
)

func flowsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "flows",
		Short: "List, show and check flow files",
		Long:  "Flows are YAML files. Your own are read from\n  " + userFolder() + "\nin aircraft/*.yaml and flows/AIRCRAFT/*.yaml.",
	}
	c.AddCommand(
		&cobra.Command{
			Use: "list", Short: "List every flow of every aircraft", Args: cobra.NoArgs,
			RunE: func(c *cobra.Command, _ []string) error { return listFlows(c.OutOrStdout()) },
		},
		showFlowCommand(),
		&cobra.Command{
			Use: "check FILE…", Short: "Check flow and aircraft files: every mistake with line, column and mend", Args: cobra.MinimumNArgs(1),
			RunE: func(c *cobra.Command, files []string) error {
				return checkFiles(c.OutOrStdout(), c.ErrOrStderr(), files)
			},
		},
		&cobra.Command{
			Use: "schema [flow|aircraft]", Short: "Print the JSON Schema of a kind of file, for an editor",
			Args: cobra.MaximumNArgs(1), ValidArgs: []string{"flow", "aircraft"},
			RunE: func(c *cobra.Command, args []string) error { return printSchema(c.OutOrStdout(), args) },
		},
	)
	return c
}

func listFlows(out io.Writer) error {
	libs, err := libraries()
	if err != nil {
		return err
	}
	t := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	for _, l := range libs {
		for _, f := range l.Flows {
			fmt.Fprintf(t, "%s\t%s\t%s\t%d steps\t%s\n", l.Aircraft.ID, f.ID, f.Title, len(f.Steps), f.KnownBy)
		}
	}
	return t.Flush()
}

func showFlowCommand() *cobra.Command {
	var aircraft string
	c := &cobra.Command{
		Use: "show FLOW", Short: "Show a flow's steps, windows and reasons", Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			lib, err := library(aircraft)
			if err != nil {
				return err
			}
			f, err := flow(lib, args[0])
			if err != nil {
				return err
			}
			return showFlow(c.OutOrStdout(), lib.Aircraft, f)
		},
	}
	c.Flags().StringVar(&aircraft, "aircraft", "brindle-180", "whose flow")
	return c
}

func showFlow(out io.Writer, a *procedure.Aircraft, f *procedure.Flow) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n%s\n%s\n\n", a.Name, f.Title, f.KnownBy, caution)
	writeSteps(&b, f.Steps)
	if f.NoStart != nil {
		b.WriteString("\nIt did not fire:\n")
		writeSteps(&b, f.NoStart.Steps)
		for _, c := range f.NoStart.Choices {
			fmt.Fprintf(&b, "  %s → %s\n", c.Ask, c.Title)
		}
	}
	_, err := io.WriteString(out, b.String())
	return err
}

func writeSteps(b *strings.Builder, steps []procedure.Step) {
	for i, s := range steps {
		fmt.Fprintf(b, "%3d  %-36s %-6s %s\n", i+1, s.Title, s.Hand, windowWords(s))
		if s.Why != "" {
			fmt.Fprintf(b, "     %s\n", s.Why)
		}
		if s.Wrong != "" {
			fmt.Fprintf(b, "     %s\n", s.Wrong)
		}
	}
}

func windowWords(s procedure.Step) string {
	w := s.Window
	switch {
	case w.Zero():
		return ""
	case w.Min > 0:
		return fmt.Sprintf("%g to %g s, ideal %g s", w.Min.Seconds(), w.Max.Seconds(), w.Ideal.Seconds())
	default:
		return fmt.Sprintf("within %g s", w.Max.Seconds())
	}
}

func checkFiles(out, errOut io.Writer, files []string) error {
	libs, err := libraries()
	if err != nil {
		return err
	}
	wrong := 0
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			return usage(fmt.Errorf("%s cannot be read: %w", name, err))
		}
		if err := flowfile.Check(name, data, libs); err != nil {
			fmt.Fprintln(errOut, err)
			wrong++
			continue
		}
		fmt.Fprintf(out, "%s: nothing wrong\n", name)
	}
	if wrong > 0 {
		return &exitError{code: exitUsage}
	}
	return nil
}

func printSchema(out io.Writer, args []string) error {
	kind := "flow"
	if len(args) > 0 {
		kind = args[0]
	}
	data, err := fs.ReadFile(assets.Schemas(), kind+"-1.schema.json")
	if err != nil {
		return usage(fmt.Errorf("there is no schema %q: choose flow or aircraft", kind))
	}
	_, err = out.Write(data)
	return err
}
