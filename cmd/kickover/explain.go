package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure/planner"
	"kickover/procedure/powerplant"
)

func oilNames() (names []string) {
	for _, g := range powerplant.OilGrades() {
		names = append(names, string(g))
	}
	return names
}

// dayFlags say which aeroplane stands where, and since when.
type dayFlags struct {
	aircraft, flow                string
	oat, altitude, since, battery string
	preheat, oil                  string
}

func (f *dayFlags) add(c *cobra.Command) {
	fs := c.Flags()
	fs.StringVar(&f.aircraft, "aircraft", demoAircraft, "aircraft: a name from 'kickover aircraft list'")
	fs.StringVar(&f.flow, "flow", "", "whose window rules: a name from 'kickover flows list' (default what the conditions call for)")
	fs.StringVar(&f.oat, "oat", "10 degC", "outside air temperature, -40 to 50 degC")
	fs.StringVar(&f.altitude, "altitude", "0 m", "pressure altitude, -500 to 3000 m")
	fs.StringVar(&f.since, "since-shutdown", "12 h", "time since the engine was last shut down, from 1 s")
	fs.StringVar(&f.preheat, "preheat", "0 s", "how long warm air was blown at the engine just before, up to 6 h")
	fs.StringVar(&f.oil, "oil", "", fmt.Sprintf("grade of the oil: %s (default the aircraft's own)", strings.Join(oilNames(), ", ")))
	fs.StringVar(&f.battery, "battery", "88 %", "charge of the battery, above 0 to 100 %")
}

// read gives the aeroplane and its day; every error is one of usage.
func (f *dayFlags) read() (*planner.Aeroplane, powerplant.Conditions, error) {
	var c powerplant.Conditions
	lib, err := library(f.aircraft)
	if err != nil {
		return nil, c, err
	}
	if f.flow != "" {
		if _, err := flow(lib, f.flow); err != nil {
			return nil, c, err
		}
	}
	a, err := planner.NewAeroplane(lib)
	if err != nil {
		return nil, c, usage(err)
	}
	if c.OATCelsius, err = quantity("--oat", f.oat, "temperature"); err != nil {
		return nil, c, usage(err)
	}
	if c.PressureAltitudeM, err = quantity("--altitude", f.altitude, "altitude"); err != nil {
		return nil, c, usage(err)
	}
	if c.SinceShutdown, err = sinceShutdown(f.since); err != nil {
		return nil, c, usage(err)
	}
	preheat, err := quantity("--preheat", f.preheat, "time")
	if err != nil {
		return nil, c, usage(err)
	}
	if most := powerplant.MaxPreheat.Seconds(); !(preheat >= 0 && preheat <= most) {
		return nil, c, usage(fmt.Errorf("--preheat %q cannot be simulated: use 0 s to %g h", f.preheat, most/3600))
	}
	c.Preheat, c.OilGrade = time.Duration(preheat*float64(time.Second)), powerplant.OilGrade(f.oil)
	if c.BatteryCharge, err = batteryCharge(f.battery); err != nil {
		return nil, c, usage(err)
	}
	return a, c, usage(c.Validate())
}

// planDayJSON is a day as the commands write it.
type planDayJSON struct {
	OATCelsius    float64 `json:"oat_degC"`
	AltitudeM     float64 `json:"pressure_altitude_m"`
	SinceShutdown float64 `json:"since_shutdown_seconds"`
	BatteryCharge float64 `json:"battery_charge"`
	Preheat       float64 `json:"preheat_seconds,omitempty"`
	OilGrade      string  `json:"oil_grade,omitempty"`
}

func planDayOf(c powerplant.Conditions) planDayJSON {
	return planDayJSON{c.OATCelsius, c.PressureAltitudeM, c.SinceShutdown.Seconds(), c.BatteryCharge, c.Preheat.Seconds(), string(c.OilGrade)}
}

func writeJSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return broken(e.Encode(v))
}

func explainCommand() *cobra.Command {
	var f dayFlags
	var prime string
	var strokes int
	var asJSON bool
	c := &cobra.Command{
		Use:   "explain",
		Short: "Print the quantities behind a start, each with the rule it follows from",
		Long: `Print the quantities behind a start, so that anyone can check them by hand:
what the air, the fuel, the oil, the battery and the starter bring to it, and what
a prime leaves in the cylinders against what burns.

The engine is primed and cranked with the ignition off, without any scatter. Each
line ends with the standard or the rule that its number follows from; many
parameters of the simulated engine are fitted or estimated, as 'kickover aircraft
show' says of each.

Exit codes: 0 done, 2 wrong arguments, 3 something broke.

` + caution,
		Example: "  kickover explain --oat \"5 degC\" --altitude \"500 m\" --prime \"4 s\" --since-shutdown \"45 min\"\n" +
			"  kickover explain --aircraft brindle-100 --strokes 3 --json",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			a, day, err := f.read()
			if err != nil {
				return err
			}
			amount, err := primeOf(c, a, &f, day, prime, strokes)
			if err != nil {
				return err
			}
			list, err := powerplant.Explain(a.Spec, day, a.Technique(amount))
			if err != nil {
				return broken(err)
			}
			if asJSON {
				return explainJSON(c.OutOrStdout(), a, day, amount, list)
			}
			return explainText(c.OutOrStdout(), a, day, amount, list)
		},
	}
	f.add(c)
	c.Flags().StringVar(&prime, "prime", "", "length of the prime, injected engines (default the handbook's ideal)")
	c.Flags().IntVar(&strokes, "strokes", 0, "strokes of the hand primer, carburetted engines (default the handbook's)")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

// primeOf is the prime that was asked for, or the handbook's own.
func primeOf(c *cobra.Command, a *planner.Aeroplane, f *dayFlags, day powerplant.Conditions, prime string, strokes int) (float64, error) {
	var amount float64
	switch timed, counted := c.Flags().Changed("prime"), c.Flags().Changed("strokes"); {
	case timed && a.Unit == planner.Strokes:
		return 0, usage(fmt.Errorf("%s is primed by hand: give --strokes instead of --prime", a.Library.Aircraft.Name))
	case counted && a.Unit == planner.Seconds:
		return 0, usage(fmt.Errorf("%s is primed by the clock: give --prime instead of --strokes", a.Library.Aircraft.Name))
	case timed:
		var err error
		if amount, err = quantity("--prime", prime, "time"); err != nil {
			return 0, usage(err)
		}
	case counted:
		amount = float64(strokes)
	default:
		h, err := handbook(a, f, day)
		return h.Ideal, err
	}
	if !(amount >= 0 && amount <= planner.MostPrime) {
		return 0, usage(fmt.Errorf("a prime of %g %s cannot be simulated: use 0 to %g", amount, a.Unit, planner.MostPrime))
	}
	return amount, nil
}

func explainText(out io.Writer, a *planner.Aeroplane, day powerplant.Conditions, amount float64, list []powerplant.Quantity) error {
	t := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	fmt.Fprintf(t, "%s, %s, prime %g %s\n%s\n\n", a.Library.Aircraft.Name, dayWords(day), amount, a.Unit, caution)
	for _, q := range list {
		fmt.Fprintf(t, "%s\t%.4g\t%s\t%s\n", q.Name, q.Value, q.Unit, q.How)
	}
	return broken(t.Flush())
}

func dayWords(c powerplant.Conditions) string {
	since := fmt.Sprintf("%g min", c.SinceShutdown.Minutes())
	if c.SinceShutdown >= 2*time.Hour {
		since = fmt.Sprintf("%.3g h", c.SinceShutdown.Hours())
	}
	words := fmt.Sprintf("%.3g degC, %.4g m, %s since shutdown, battery %.0f %%", c.OATCelsius, c.PressureAltitudeM, since, 100*c.BatteryCharge)
	if c.Preheat > 0 {
		words += fmt.Sprintf(", preheated %g min", c.Preheat.Minutes())
	}
	if c.OilGrade != "" {
		words += fmt.Sprintf(", oil %s", c.OilGrade)
	}
	return words
}

func explainJSON(out io.Writer, a *planner.Aeroplane, day powerplant.Conditions, amount float64, list []powerplant.Quantity) error {
	type quantityJSON struct {
		Key   string  `json:"key"`
		Name  string  `json:"name"`
		Value float64 `json:"value"`
		Unit  string  `json:"unit"`
		How   string  `json:"how,omitempty"`
	}
	quantities := make([]quantityJSON, len(list))
	for i, q := range list {
		quantities[i] = quantityJSON(q)
	}
	return writeJSON(out, struct {
		Aircraft   string         `json:"aircraft"`
		Caution    string         `json:"caution"`
		Conditions planDayJSON    `json:"conditions"`
		Prime      float64        `json:"prime"`
		Unit       planner.Unit   `json:"prime_unit"`
		Quantities []quantityJSON `json:"quantities"`
	}{string(a.Library.Aircraft.ID), caution, planDayOf(day), amount, a.Unit, quantities})
}
