package main

import (
	"cmp"
	"errors"
	"fmt"
	"image"
	"io"
	"io/fs"
	"math"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/paper"
	"kickover/procedure/practice"
	"kickover/procedure/proficiency"
	"kickover/procedure/record"
	"kickover/procedure/units"
)

// document is what can be printed.
type document interface {
	Write(io.Writer) error
	Preview(dpi int) ([]image.Image, error)
}

// printFlags are what all three share.
type printFlags struct {
	aircraft, sheet, out string
}

func (f *printFlags) add(c *cobra.Command, sheet, sheets string) {
	c.Flags().StringVar(&f.aircraft, "aircraft", demoAircraft, "aircraft")
	c.Flags().StringVar(&f.sheet, "paper", sheet, sheets)
	c.Flags().StringVar(&f.out, "out", "", "a new file to write the PDF to; - is standard output (default a name of its own, here)")
}

// write writes a document to where the flags say.
func (f *printFlags) write(c *cobra.Command, d document, name string) error {
	if f.out == "-" {
		return usage(d.Write(c.OutOrStdout()))
	}
	if f.out != "" {
		name = f.out
	}
	if err := saveDocument(d, name); err != nil {
		return usage(err)
	}
	fmt.Fprintf(c.OutOrStdout(), "Written to %s. Print it at 100 %%, “actual size”.\n", name)
	return nil
}

// saveDocument writes a document to a new file, whole or not at all.
func saveDocument(d document, name string) error {
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already, and nothing was written: give another name", name)
	}
	if err != nil {
		return fmt.Errorf("nothing was written: %w", err)
	}
	if err := errors.Join(d.Write(file), file.Sync(), file.Close()); err != nil {
		_ = os.Remove(name)
		return fmt.Errorf("nothing was written: %w", err)
	}
	return nil
}

func printCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "print", Short: "Make a training record, a card for the knee or a strip of throttle marks, as PDF",
		Long: "Make what is printed, as PDF. Print it at 100 %, \"actual size\".\n\n" + caution,
	}
	c.AddCommand(printRecord(), printCard(), printMarks())
	return c
}

func printCard() *cobra.Command {
	f := &printFlags{}
	var flowID, oat string
	shown := chosenUnits()
	c := &cobra.Command{
		Use: "card", Short: "A flow as a card for the knee", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			celsius, err := optional("--oat", oat, "temperature")
			if err != nil {
				return usage(err)
			}
			d, err := cardOf(f.aircraft, flowID, f.sheet, celsius, shown)
			if err != nil {
				return err
			}
			return f.write(c, d, "card-"+f.aircraft+"-"+flowID+".pdf")
		},
	}
	f.add(c, paper.A5.Name, "A5, half-letter, A4 or letter")
	c.Flags().StringVar(&flowID, "flow", "cold", "flow")
	c.Flags().StringVar(&oat, "oat", "", "outside air temperature, where one window is wanted of those for warm and cold")
	unitsFlag(c.Flags(), &shown)
	return c
}

// cardOf makes the card of a flow; a temperature that is not a number prints the
// windows for the cold too.
func cardOf(aircraft, flowID, sheetName string, celsius float64, u units.Units) (document, error) {
	lib, err := library(aircraft)
	if err != nil {
		return nil, err
	}
	f, err := flow(lib, flowID)
	if err != nil {
		return nil, err
	}
	sheet, err := paper.SheetNamed(sheetName)
	if err != nil {
		return nil, usage(err)
	}
	card := paper.Card{Aircraft: lib.Aircraft, Flow: f, Units: u, Sheet: sheet, Date: time.Now()}
	if !math.IsNaN(celsius) {
		card.OATCelsius = &celsius
	}
	return card, nil
}

func printMarks() *cobra.Command {
	f := &printFlags{}
	var edge, unit string
	c := &cobra.Command{
		Use: "marks", Short: "A strip at true scale to lay along the throttle slot", Args: cobra.NoArgs,
		Long: "A strip at true scale to lay along the throttle slot: where to draw the prime and the start\n" +
			"mark, measured from the stop. A mark on a certificated aircraft needs whoever may approve it.",
		RunE: func(c *cobra.Command, _ []string) error {
			d, err := marksOf(f.aircraft, f.sheet, edge, unit)
			if err != nil {
				return err
			}
			return f.write(c, d, "marks-"+f.aircraft+".pdf")
		},
	}
	f.add(c, paper.A4.Name, "A4 or letter")
	c.Flags().StringVar(&edge, "edge", "", "front or rear: which edge of the lever lines up (default the aircraft's)")
	c.Flags().StringVar(&unit, "unit", cmp.Or(chosenUnits().Lever, "mm"), "mm or in; where nothing is said, as in Settings")
	return c
}

func marksOf(aircraft, sheetName, edge, unit string) (document, error) {
	lib, err := library(aircraft)
	if err != nil {
		return nil, err
	}
	sheet, err := paper.SheetNamed(sheetName)
	if err != nil {
		return nil, usage(err)
	}
	m, err := paper.MarksOf(lib.Aircraft, paper.Edge(edge), paper.Unit(unit), sheet, time.Now())
	if err != nil {
		return nil, usage(err)
	}
	return m, nil
}

func printRecord() *cobra.Command {
	f := &printFlags{}
	o := recordOrder{units: chosenUnits()}
	var path string
	c := &cobra.Command{
		Use: "record [RUN]", Short: "A training record of a run, to sign and file", Args: cobra.MaximumNArgs(1),
		Long: "A training record of a run, with the trends over all runs of its flow and what to practise\n" +
			"next, to sign and file. Without a run it is the newest of the flow, of the person if one is\n" +
			"named.",
		RunE: func(c *cobra.Command, args []string) error {
			return withStore(c, path, func(s *record.Store) (err error) {
				if len(args) > 0 {
					o.run = args[0]
				}
				if o.person, err = personNamed(s, o.person); err != nil {
					return err
				}
				o.aircraft, o.sheet = f.aircraft, f.sheet
				d, name, err := recordOf(s, o)
				if err != nil {
					return err
				}
				return f.write(c, d, name)
			})
		},
	}
	f.add(c, paper.A4.Name, "A4 or letter")
	storeFlag(c.Flags(), &path)
	c.Flags().StringVar(&o.flow, "flow", "cold", "flow")
	c.Flags().StringVar(&o.person, "person", "", "a person's name or id")
	c.Flags().StringVar(&o.school, "school", "", "whose paper it is, for its head")
	c.Flags().StringVar(&o.instructor, "instructor", "", "who signs; empty leaves a line")
	unitsFlag(c.Flags(), &o.units)
	return c
}

// recordOrder says which training record is wanted.
type recordOrder struct {
	run                    string // empty is the newest of the rest
	person, aircraft, flow string // a person's id
	school, instructor     string
	sheet                  string
	units                  units.Units
}

// recordOf makes a training record, and a name for its file.
func recordOf(s *record.Store, o recordOrder) (document, string, error) {
	sheet, err := paper.SheetNamed(o.sheet)
	if err != nil {
		return nil, "", usage(err)
	}
	if o.run == "" {
		if o.run, err = newestOf(s, o); err != nil {
			return nil, "", err
		}
	}
	h, events, err := s.Run(o.run)
	if err != nil {
		return nil, "", recordError(err, o.run)
	}
	report, err := reportOf(h, events)
	if err != nil {
		return nil, "", err
	}
	lib, err := library(string(h.Aircraft))
	if err != nil {
		return nil, "", err
	}
	runs, err := historyOf(s, h.Person, record.Filter{Aircraft: h.Aircraft, Flow: h.Flow})
	if err != nil {
		return nil, "", broken(err)
	}
	r := paper.Record{
		School: o.school, Instructor: o.instructor, Aircraft: lib.Aircraft.Name, Flow: string(h.Flow), Phase: h.Phase,
		When: h.Started.Local(), Conditions: conditionWords(h), Run: report, Progress: proficiency.Of(runs),
		Next: practice.Next(runs, time.Now(), practice.Options{Most: 2}), Units: o.units, Sheet: sheet, Printed: time.Now(),
	}
	if f, ok := lib.Flow(h.Flow); ok {
		r.Flow = f.Title
	}
	if h.Person != "" {
		p, err := s.Person(h.Person)
		if err != nil {
			return nil, "", broken(err)
		}
		r.Student = p.Name
	}
	if invented(h) {
		r.Student = strings.TrimSpace(r.Student + " (invented run)")
	}
	if err := takeSignOff(s, h, &r); err != nil {
		return nil, "", broken(err)
	}
	return r, fmt.Sprintf("record-%s-%s.pdf", h.Flow, h.Started.Local().Format("2006-01-02-1504")), nil
}

// takeSignOff puts what was last signed of a run onto its record.
func takeSignOff(s *record.Store, h record.Header, r *paper.Record) error {
	if h.Person == "" {
		return nil
	}
	signed, err := s.SignOffs(h.Person)
	if err != nil {
		return err
	}
	for _, o := range signed {
		if o.Run != h.ID {
			continue
		}
		p, err := s.Person(o.Instructor)
		r.Instructor, r.Remarks, r.Signed = p.Name, o.Remarks, o.Signed.Local()
		return err
	}
	return nil
}

// newestOf is the newest finished run that an order may mean.
func newestOf(s *record.Store, o recordOrder) (string, error) {
	filter := record.Filter{Person: o.person, Aircraft: procedure.AircraftID(o.aircraft), Flow: procedure.FlowID(o.flow)}
	page := record.Page{Limit: 50}
	for {
		list, err := s.Runs(filter, page)
		if err != nil {
			return "", broken(err)
		}
		for _, l := range list {
			if l.Finished && l.Header.Phase != procedure.Explain {
				return l.Header.ID, nil
			}
		}
		if len(list) < page.Limit {
			return "", usage(fmt.Errorf("there is no finished run of %q to print a record of: fly one, or name another flow or person", o.flow))
		}
		page.After = list[len(list)-1].Header.ID
	}
}

// conditionWords are the conditions of a run, each as it should read.
func conditionWords(h record.Header) []string {
	c := h.Conditions
	words := []string{
		strings.Replace(fmt.Sprintf("outside air %.0f °C", c.OATCelsius), "-", "−", 1), fmt.Sprintf("pressure altitude %.0f m", c.PressureAltM),
		"shut down " + longAgo(c.SinceShutdown), fmt.Sprintf("battery %.0f %%", 100*c.BatteryCharge),
	}
	if c.Hidden {
		words = append(words, "conditions not shown to the student")
	}
	return words
}

func longAgo(d time.Duration) string {
	if d < 2*time.Hour {
		return fmt.Sprintf("%.0f min before", d.Minutes())
	}
	return fmt.Sprintf("%.0f h before", d.Hours())
}
