package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/planner"
	"kickover/procedure/planner/pool"
	"kickover/procedure/powerplant"
	"kickover/procedure/realstart"
)

// planFlags are what a plan is asked with.
type planFlags struct {
	dayFlags
	whole, json          bool
	registration, starts string
	halfWidth            float64
	trials, workers      int
	seed                 uint64
}

func planCommand() *cobra.Command {
	f := &planFlags{}
	usual := planner.UsualPrecision()
	c := &cobra.Command{
		Use:   "plan",
		Short: "Say how long to prime: the odds of each length of prime, beside the handbook's window",
		Long: `Say how long to prime, from many seeded starts of the simulated engine: for each
length of prime the probability that it starts and that it floods, each with its
95 % interval (Wilson's score). More trials are flown where the interval is wide.

The handbook's own window, from the flow's file, stands beside it and rules. What
is advised never lies outside it: the handbook comes from the real aeroplane, and
the simulated engine is a fit to common practice and a validation of nothing.

With --map the same for 21 temperatures and 13 lengths of prime. With
--registration the plan learns one aeroplane from the real starts that the cockpit
timer kept of it, or that are in the CSV file given with --starts.

A seed gives the same counts on any number of cores.

Exit codes: 0 done, 2 wrong arguments or files, 3 something broke or it was called
off.

` + caution,
		Example: "  kickover plan --oat \"-5 degC\" --altitude \"500 m\" --since-shutdown \"12 h\"\n" +
			"  kickover plan --since-shutdown \"20 min\" --oat \"25 degC\" --json\n" +
			"  kickover plan --map --registration BR-180",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.plan(c) },
	}
	f.add(c)
	fs := c.Flags()
	fs.BoolVar(&f.whole, "map", false, "a map over temperature and prime, -20 to 40 degC")
	fs.BoolVar(&f.json, "json", false, "write JSON")
	fs.StringVar(&f.registration, "registration", "", "learn from the real starts of this aeroplane")
	fs.StringVar(&f.starts, "starts", "", "CSV file of real starts, as 'kickover timer starts export' writes it (default those the timer kept)")
	fs.Float64Var(&f.halfWidth, "half-width", usual.HalfWidth, "fly until both intervals are this narrow, above 0 to 0.5")
	fs.IntVar(&f.trials, "trials", usual.Most, "at most so many trials a prime")
	fs.IntVar(&f.workers, "workers", 0, "cores to fly on (default all)")
	fs.Uint64Var(&f.seed, "seed", 1, "seed of all chance")
	return c
}

// handbook is what the flow says that the flags name, or the conditions call for.
func handbook(a *planner.Aeroplane, f *dayFlags, day powerplant.Conditions) (planner.Handbook, error) {
	h, err := a.Handbook(procedure.FlowID(f.flow), day)
	return h, usage(err)
}

func (f *planFlags) plan(c *cobra.Command) error {
	a, day, err := f.read()
	if err != nil {
		return err
	}
	q := planner.Question{Aeroplane: a, Conditions: day, Flow: procedure.FlowID(f.flow), Seed: f.seed}
	if q.Precision, err = f.precision(); err != nil {
		return err
	}
	records, err := f.learn(a, &q)
	if err != nil {
		return err
	}
	ask := q.Chart
	if f.whole {
		ask = q.Map
	}
	survey, err := ask()
	if err != nil {
		return usage(err)
	}
	flown := f.fly(c, survey)
	if flown != nil && !errors.Is(flown, context.Canceled) {
		return broken(flown)
	}
	if f.json {
		err = f.writeJSON(c.OutOrStdout(), survey, q, records)
	} else {
		err = f.writeText(c.OutOrStdout(), survey, q, records)
	}
	if err != nil {
		return err
	}
	if flown != nil {
		return broken(errors.New("the plan was called off: what is above was flown until then"))
	}
	return nil
}

func (f *planFlags) precision() (planner.Precision, error) {
	var p planner.Precision
	if !(f.halfWidth > 0 && f.halfWidth <= 0.5) {
		return p, usage(fmt.Errorf("--half-width %g cannot be planned: use above 0 to 0.5", f.halfWidth))
	}
	if f.trials < 1 {
		return p, usage(fmt.Errorf("--trials %d cannot be planned: use at least 1", f.trials))
	}
	if f.workers < 0 {
		return p, usage(fmt.Errorf("--workers %d cannot fly: use at least 1, or 0 for all cores", f.workers))
	}
	p.HalfWidth, p.Most = f.halfWidth, f.trials
	return p, nil
}

// learn gives the question what real starts have taught.
func (f *planFlags) learn(a *planner.Aeroplane, q *planner.Question) (planner.Records, error) {
	var none planner.Records
	if f.registration == "" {
		if f.starts != "" {
			return none, usage(errors.New("--starts needs --registration: the starts of one aeroplane say nothing of another"))
		}
		return none, nil
	}
	starts, err := f.realStarts()
	if err != nil {
		return none, err
	}
	records := a.FromRecords(f.registration, starts)
	if len(records.Seen) == 0 {
		return records, nil
	}
	q.Belief, err = planner.Learn(a, records.Seen)
	return records, usage(err)
}

func (f *planFlags) realStarts() ([]realstart.Start, error) {
	if f.starts == "" {
		s, err := realstart.Open(startsFile())
		if err != nil {
			return nil, broken(err)
		}
		return s.Starts(), nil
	}
	file, err := os.Open(f.starts)
	if err != nil {
		return nil, usage(fmt.Errorf("the starts cannot be read: %w", err))
	}
	defer file.Close()
	starts, err := realstart.Read(file, time.Now())
	return starts, usage(err)
}

// fly flies the survey until it is done or somebody interrupts it.
func (f *planFlags) fly(c *cobra.Command, s *planner.Survey) error {
	ctx, stop := signal.NotifyContext(c.Context(), os.Interrupt)
	defer stop()
	o := pool.Options{Workers: f.workers}
	if file, ok := c.ErrOrStderr().(*os.File); ok && isTerminal(file) {
		o.Watch = func(_, done, of int) { fmt.Fprintf(file, "\r%d of %d flown, Ctrl+C calls it off ", done, of) }
		defer fmt.Fprint(file, "\r\033[K")
	}
	return pool.Fly(ctx, s, o)
}

func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

func (f *planFlags) writeText(out io.Writer, s *planner.Survey, q planner.Question, r planner.Records) error {
	t := tabwriter.NewWriter(out, 0, 4, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(out, "%s\n%s\n\n", s.Aeroplane.Library.Aircraft.Name, caution)
	if f.registration != "" {
		learntText(out, f.registration, q, r)
	}
	if f.whole {
		mapText(t, s)
	} else {
		chartText(t, s.Rows[0])
	}
	if err := t.Flush(); err != nil {
		return broken(err)
	}
	if f.whole {
		fmt.Fprintf(out, "\nP(start), two decimals; [ ] inside the handbook's window of that temperature.\n")
	} else {
		adviceText(out, s.Rows[0])
	}
	fmt.Fprintf(out, "%s\n", planner.HandbookRules)
	return nil
}

func learntText(out io.Writer, registration string, q planner.Question, r planner.Records) {
	if why := q.Aeroplane.WhyNotLearn(); why != "" {
		fmt.Fprintf(out, "%s The plan is the model's.\n\n", why)
		return
	}
	if q.Belief == nil {
		fmt.Fprintf(out, "Nothing learnt of %s: none of its starts can be used. The plan is the model's.\n", registration)
	} else {
		fmt.Fprintf(out, "Learnt from %d starts of %s, as factors of the model's own:\n", q.Belief.Starts, registration)
		for _, trait := range q.Belief.Traits() {
			fmt.Fprintf(out, "  %-24s %.2f ± %.2f\n", trait.Name, trait.Mean, trait.SD)
		}
	}
	for _, why := range r.Left {
		fmt.Fprintf(out, "  left out: %s\n", why)
	}
	fmt.Fprintln(out)
}

func chartText(t *tabwriter.Writer, r planner.Row) {
	h := r.Handbook
	fmt.Fprintf(t, "%s: %s\n", h.Title, chosenUnits().Words(dayWords(r.Conditions)))
	fmt.Fprintf(t, "Handbook's window: %s\n", h)
	fmt.Fprintf(t, "\nprime, %s\tP(start)\t95 %%\tP(flood)\t95 %%\ttrials\t\t\n", h.Unit)
	for _, p := range r.Points() {
		mark := ""
		switch {
		case h.Primes() && p.Prime == h.Ideal:
			mark = "◆ ideal"
		case h.Inside(p.Prime):
			mark = "│ window"
		}
		fmt.Fprintf(t, "%g\t%.2f\t%.2f to %.2f\t%.2f\t%.2f to %.2f\t%d\t%s\t\n", p.Prime,
			p.Start.Value(), p.Start.Low, p.Start.High, p.Flood.Value(), p.Flood.Low, p.Flood.High, p.Trials, mark)
	}
}

func adviceText(out io.Writer, r planner.Row) {
	a := r.Advice()
	if a.Given {
		fmt.Fprintf(out, "\nAim at %.3g %s. ", a.Point.Prime, r.Handbook.Unit)
	} else {
		fmt.Fprintln(out)
	}
	fmt.Fprintln(out, a.Why)
	if a.Beyond != "" {
		fmt.Fprintln(out, a.Beyond)
	}
}

func mapText(t *tabwriter.Writer, s *planner.Survey) {
	fmt.Fprintf(t, "%s\t", s.Aeroplane.Unit)
	for _, p := range s.Primes {
		fmt.Fprintf(t, "%g\t", p)
	}
	fmt.Fprintf(t, "window\t\n")
	for _, r := range s.Rows {
		fmt.Fprintf(t, "%s\t", chosenUnits().Celsius(r.Conditions.OATCelsius))
		for _, cell := range r.Cells {
			fmt.Fprintf(t, "%s\t", mapCell(cell.Point(), r.Handbook))
		}
		fmt.Fprintf(t, "%s\t\n", r.Handbook)
	}
}

func mapCell(p planner.Point, h planner.Handbook) string {
	if p.Trials == 0 {
		return "·"
	}
	if h.Inside(p.Prime) {
		return fmt.Sprintf("[%.2f]", p.Start.Value())
	}
	return fmt.Sprintf("%.2f ", p.Start.Value())
}
