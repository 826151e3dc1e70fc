package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/chart"
	"kickover/procedure/proficiency"
	"kickover/procedure/record"
)

func chartsCommand(path *string) *cobra.Command {
	var person, aircraft, flowID, step, out, format string
	c := &cobra.Command{
		Use: "charts", Short: "Write the charts of somebody's progress as PNG, SVG or PDF", Args: cobra.NoArgs,
		Long: "Write the charts of the window's Progress as files, to print or to put into a paper of your\nown: a file a chart. They are readable in black and white.",
		RunE: func(c *cobra.Command, _ []string) error {
			return withStore(c, *path, func(s *record.Store) error {
				id, err := personNamed(s, person)
				if err != nil {
					return err
				}
				runs, err := historyOf(s, id, record.Filter{Aircraft: procedure.AircraftID(aircraft), Flow: procedure.FlowID(flowID)})
				if err != nil {
					return broken(err)
				}
				return writeCharts(c.OutOrStdout(), proficiency.Of(runs), procedure.StepID(step), out, format)
			})
		},
	}
	c.Flags().StringVar(&person, "person", "", "a person's name or id")
	c.Flags().StringVar(&aircraft, "aircraft", demoAircraft, "aircraft")
	c.Flags().StringVar(&flowID, "flow", "cold", "flow")
	c.Flags().StringVar(&step, "step", "prime", "the step that is charted run by run")
	c.Flags().StringVar(&out, "out", ".", "a folder for the files; it is made where it is not there")
	c.Flags().StringVar(&format, "format", "png", "png, svg or pdf")
	return c
}

// writeCharts writes a file a chart. Files of the same names are written anew, as
// they hold nothing that is not in the records.
func writeCharts(said io.Writer, r *proficiency.Report, step procedure.StepID, folder, format string) error {
	write, ok := chartFormats[format]
	if !ok {
		return usage(fmt.Errorf("there is no format %q; it is png, svg or pdf", format))
	}
	charts := map[string]*chart.Chart{
		"each-run": chart.Course(r), "steps": chart.Share(r), "where-time-goes": chart.Hesitation(r), "confusions": chart.Confusions(r),
	}
	found := false
	for i := range r.Steps {
		if s := &r.Steps[i]; s.ID == step {
			charts[string(step)+"-every-run"], charts[string(step)+"-ranges"], charts[string(step)+"-learning"] = chart.Individuals(s), chart.Ranges(s), chart.Learning(s)
			found = true
		}
	}
	if !found {
		return usage(fmt.Errorf("no run came to a step %q: 'kickover flows show' names the steps of a flow", step))
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return usage(fmt.Errorf("the charts cannot be written: %w", err))
	}
	for name, c := range charts {
		if err := writeChart(filepath.Join(folder, name+"."+format), c, write); err != nil {
			return broken(err)
		}
	}
	fmt.Fprintf(said, "%d charts written to %s.\n", len(charts), folder)
	return nil
}

var chartFormats = map[string]func(c *chart.Chart, w io.Writer) error{
	"png": func(c *chart.Chart, w io.Writer) error { return c.WritePNG(w, c.Width, c.Height, 200) },
	"svg": func(c *chart.Chart, w io.Writer) error { return c.WriteSVG(w, c.Width, c.Height) },
	"pdf": func(c *chart.Chart, w io.Writer) error { return c.WritePDF(w, c.Width, c.Height, time.Now()) },
}

func writeChart(name string, c *chart.Chart, write func(*chart.Chart, io.Writer) error) (err error) {
	file, err := os.Create(name)
	if err != nil {
		return err
	}
	defer func() {
		if closed := file.Close(); err == nil {
			err = closed
		}
	}()
	return write(c, file)
}
