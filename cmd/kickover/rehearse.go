package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/hands"
	"kickover/procedure/powerplant"
	"kickover/procedure/rehearsal"
)

// rehearseFlags are what a run without a window is begun with.
type rehearseFlags struct {
	aircraft, flow, phase, panel   string
	oat, altitude, since, battery  string
	faults                         []string
	hands                          string
	fast, json, happenings, silent bool
	store, person                  string
	noStore                        bool
	seed                           uint64
}

// afterHands is how long a run goes on after the last act in the hands' file:
// long enough for the oil pressure of a cold engine.
const afterHands = 75 * time.Second

func rehearseCommand() *cobra.Command {
	f := &rehearseFlags{}
	c := &cobra.Command{
		Use:   "rehearse",
		Short: "Fly a flow without a window, by hands from a file or as a demonstration",
		Long: `Fly a flow without a window and debrief it.

In the demonstrate phase the program flies it, and in explain it reads it out. In
perform and evaluate the acts come from a file of JSON lines, each with the time since the run began:

  {"at":"1.2s","control":"battery","to":"on"}
  {"at":"6.0s","control":"throttle","to":"28 mm"}
  {"at":"8.00s","control":"mixture","to":1.0}
  {"at":"15s","look":"left"}
  {"at":"17s","call":"clear"}
  {"at":"4.0s","report":"bus_volts"}
  {"at":"40s","choose":"prime-again"}

Controls, instruments and choices have the names of the aircraft's and the flow's
file ('kickover aircraft show', 'kickover flows show'). look is left, ahead or
right; call is clear, ready, answered or ignored. START springs back: engage it
with "to":"start" and let go with "to":"both".

Exit codes: 0 started and safe, or stopped rightly, or read to the end; 1 unsafe or
not started; 2 wrong arguments or files; 3 something broke.

` + caution,
		Example: "  kickover rehearse --flow cold --oat \"-5 degC\"\n" +
			"  kickover rehearse --phase evaluate --hands hands.jsonl --fast --seed 1 --json",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.rehearse(c) },
	}
	f.add(c)
	return c
}

func (f *rehearseFlags) add(c *cobra.Command) {
	fs := c.Flags()
	fs.StringVar(&f.aircraft, "aircraft", "brindle-180", "aircraft: a name from 'kickover aircraft list'")
	fs.StringVar(&f.flow, "flow", "cold", "flow: a name from 'kickover flows list'")
	fs.StringVar(&f.phase, "phase", "", "explain, demonstrate, perform or evaluate (default demonstrate, or evaluate with --hands)")
	fs.StringVar(&f.panel, "panel", "", "variant of the instrument panel (default the standard one)")
	fs.StringVar(&f.oat, "oat", "10 degC", "outside air temperature, -40 to 50 degC")
	fs.StringVar(&f.altitude, "altitude", "0 m", "pressure altitude, -500 to 3000 m")
	fs.StringVar(&f.since, "since-shutdown", "12 h", "time since the engine was last shut down, from 1 s")
	fs.StringVar(&f.battery, "battery", "88 %", "charge of the battery, above 0 to 100 %")
	fs.StringSliceVar(&f.faults, "fault", nil, "something wrong that the student is not told; repeat for more: "+strings.Join(faultNames(), ", "))
	fs.StringVar(&f.hands, "hands", "", "file of timed acts in JSON lines; - is standard input")
	fs.BoolVar(&f.fast, "fast", false, "faster than real time, with the same result")
	fs.Uint64Var(&f.seed, "seed", 1, "seed of all chance in the run")
	fs.BoolVar(&f.json, "json", false, "write the debrief as JSON")
	fs.BoolVar(&f.happenings, "happenings", false, "let people walk in and voices interrupt, as the window does")
	fs.BoolVar(&f.silent, "silent", false, "no sound")
	storeFlag(fs, &f.store)
	fs.StringVar(&f.person, "person", "", "whose run it is: a name or an id from 'kickover records people'")
	fs.BoolVar(&f.noStore, "no-store", false, "keep no record of this run")
}

func faultNames() []string {
	var out []string
	for _, f := range powerplant.Faults() {
		out = append(out, string(f.Fault))
	}
	return out
}

func (f *rehearseFlags) rehearse(c *cobra.Command) error {
	options, err := f.options(c.InOrStdin())
	if err != nil {
		return err
	}
	if _, err := rehearsal.New(options); err != nil {
		return usage(err) // what cannot begin leaves no record behind
	}
	rec, err := f.openRecord(c, options)
	if err != nil {
		return err
	}
	defer rec.close()
	options.Recorder = rec.recorder()
	if !f.fast && !f.silent {
		sound := openSound(c.ErrOrStderr())
		defer sound.close()
		options.Voice, options.Sound, options.Captioned = sound, sound, true
		sound.prepare(options.Library)
	}
	run, err := rehearsal.New(options)
	if err != nil {
		return usage(err)
	}
	if f.fast {
		f.flyFast(run)
	} else {
		var live io.Writer = c.OutOrStdout()
		if f.json {
			live = io.Discard
		}
		if err := f.flyLive(c.Context(), run, options, live); err != nil {
			return err
		}
	}
	return f.debrief(c.OutOrStdout(), run, options, rec)
}

// options reads the flags; every error is one of usage.
func (f *rehearseFlags) options(in io.Reader) (rehearsal.Options, error) {
	var o rehearsal.Options
	lib, err := library(f.aircraft)
	if err != nil {
		return o, err
	}
	if _, err := flow(lib, f.flow); err != nil {
		return o, err
	}
	o = rehearsal.Options{Library: lib, Flow: procedure.FlowID(f.flow), Panel: f.panel, Seed: f.seed, Happenings: f.happenings}
	if o.Phase, err = f.phaseOf(); err != nil {
		return o, usage(err)
	}
	if o.Conditions, err = f.conditions(); err != nil {
		return o, usage(err)
	}
	if o.Faults, err = parseFaults(f.faults); err != nil {
		return o, usage(err)
	}
	if f.hands != "" {
		if o.Hands, err = readHands(f.hands, in, lib.Aircraft); err != nil {
			return o, usage(err)
		}
	}
	if o.Phase == procedure.Explain && f.hands == "" {
		read, _ := lib.Flow(o.Flow)
		o.Hands = rehearsal.PageTurns(read)
	}
	return o, usage(offered(lib, o.Hands))
}

// offered refuses a choice that no flow of the aircraft offers: taken silently for
// none, it would be a mistake that nobody sees.
func offered(lib *procedure.Library, acts []procedure.Event) error {
	var may []string
	for _, f := range lib.Flows {
		choices := f.Choices
		if f.NoStart != nil {
			choices = append(slices.Clone(choices), f.NoStart.Choices...)
		}
		for _, c := range choices {
			may = append(may, c.ID)
		}
	}
	slices.Sort(may)
	may = slices.Compact(may)
	for _, e := range acts {
		if e.Kind == procedure.EventChoose && !slices.Contains(may, e.Subject) {
			return fmt.Errorf("no flow of the %s offers the choice %q, chosen at %v: choose from %s", lib.Aircraft.Name, e.Subject, e.At, strings.Join(may, ", "))
		}
	}
	return nil
}

func (f *rehearseFlags) phaseOf() (procedure.Phase, error) {
	p := procedure.Phase(f.phase)
	switch {
	case p == "" && f.hands == "":
		return procedure.Demonstrate, nil
	case p == "":
		return procedure.Evaluate, nil
	case p == procedure.Perform || p == procedure.Evaluate:
		if f.hands == "" {
			return p, fmt.Errorf("in the %s phase somebody has to act: give the acts with --hands FILE, or open the window", p)
		}
		return p, nil
	case p == procedure.Demonstrate && f.hands != "":
		return p, errors.New("in the demonstrate phase the program flies: leave --hands out, or choose perform or evaluate")
	case p == procedure.Demonstrate || p == procedure.Explain:
		return p, nil
	}
	return p, fmt.Errorf("there is no phase %q: choose explain, demonstrate, perform or evaluate", f.phase)
}

func (f *rehearseFlags) conditions() (rehearsal.Conditions, error) {
	var c rehearsal.Conditions
	var err error
	if c.OATCelsius, err = quantity("--oat", f.oat, "temperature"); err != nil {
		return c, err
	}
	if c.PressureAltM, err = quantity("--altitude", f.altitude, "altitude"); err != nil {
		return c, err
	}
	if c.SinceShutdown, err = sinceShutdown(f.since); err != nil {
		return c, err
	}
	c.BatteryCharge, err = batteryCharge(f.battery)
	return c, err
}

func parseFaults(names []string) ([]powerplant.Fault, error) {
	var out []powerplant.Fault
	for _, n := range names {
		found := false
		for _, known := range faultNames() {
			found = found || n == known
		}
		if !found {
			return nil, fmt.Errorf("there is no fault %q: choose from %s", n, strings.Join(faultNames(), ", "))
		}
		out = append(out, powerplant.Fault(n))
	}
	return out, nil
}

func readHands(name string, in io.Reader, a *procedure.Aircraft) ([]procedure.Event, error) {
	if name != "-" {
		file, err := os.Open(name)
		if err != nil {
			return nil, fmt.Errorf("the hands' file cannot be read: %w", err)
		}
		defer file.Close()
		in = file
	}
	events, err := hands.Parse(in, a)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return events, nil
}

// longestRun bounds a demonstration that cannot come to an end by itself, as on
// an engine that nothing starts. Hands end a run themselves: see pastHands.
const longestRun = 2 * time.Hour

// flyFast turns the run as fast as the machine can.
func (f *rehearseFlags) flyFast(run *rehearsal.Rehearsal) {
	_, scripted := run.LastHand()
	for at := time.Duration(0); !run.Done() && (scripted || at < longestRun); at += time.Second {
		run.Advance(at)
		if f.pastHands(run, at) {
			run.End(procedure.EndHands)
		}
	}
	run.End(procedure.EndHands)
}

func (f *rehearseFlags) pastHands(run *rehearsal.Rehearsal, at time.Duration) bool {
	last, scripted := run.LastHand()
	return scripted && at > last+afterHands
}

// flyLive turns the run in real time and tells what happens as it does.
func (f *rehearseFlags) flyLive(ctx context.Context, run *rehearsal.Rehearsal, o rehearsal.Options, out io.Writer) error {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt)
	defer stop()
	t := newTeller(out, o)
	const tellEvery = 50 * time.Millisecond
	snapshots := make(chan *rehearsal.Snapshot, 256)
	live := rehearsal.Drive(ctx, run, rehearsal.NewSystem(), tellEvery, func(s *rehearsal.Snapshot) {
		select {
		case snapshots <- s:
		default: // a terminal that cannot keep up loses a line, never the run
		}
	})
	if v, ok := o.Voice.(*sound); ok {
		v.attach(live)
	}
	for {
		select {
		case s := <-snapshots:
			t.tell(s)
			if f.pastHands(run, s.At) {
				live.End(procedure.EndHands)
			}
		case <-live.Done():
			for len(snapshots) > 0 {
				t.tell(<-snapshots)
			}
			return nil
		}
	}
}

// debrief writes what became of the run and chooses the exit code.
func (f *rehearseFlags) debrief(out io.Writer, run *rehearsal.Rehearsal, o rehearsal.Options, rec *keptRun) error {
	report, err := debrief.Of(debrief.Subject{
		Library: o.Library, Flow: o.Flow, Phase: o.Phase, Panel: o.Panel,
		OATCelsius: o.Conditions.OATCelsius, Faults: f.faults, Events: run.Events(),
	})
	if err != nil {
		return broken(err)
	}
	rec.finish(report)
	if f.json {
		err = report.WriteJSON(out, f.heading(o, rec))
	} else {
		fmt.Fprintf(out, "\n")
		err = report.WriteText(out)
		fmt.Fprintf(out, "\n%s\n", caution)
	}
	if err != nil {
		return broken(err)
	}
	switch report.Outcome {
	case procedure.Started, procedure.Stopped, procedure.Read:
		return nil
	}
	return &exitError{code: exitNotStarted}
}

func (f *rehearseFlags) heading(o rehearsal.Options, rec *keptRun) debrief.Heading {
	return debrief.Heading{
		Run: rec.id(), Aircraft: f.aircraft, Flow: f.flow, Phase: string(o.Phase), Panel: f.panel,
		OATCelsius: o.Conditions.OATCelsius, PressureAltM: o.Conditions.PressureAltM,
		SinceShutdown: o.Conditions.SinceShutdown.Seconds(), BatteryCharge: o.Conditions.BatteryCharge,
		Faults: f.faults, Seed: f.seed,
	}
}
