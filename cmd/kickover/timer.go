package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"time"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"kickover/audio"
	"kickover/procedure/realstart"
	"kickover/procedure/starter/ledgerfile"
	"kickover/ui"
	"kickover/ui/theme"
	"kickover/ui/timer"
	"kickover/ui/timer/awake"
)

// timerFlags are what the cockpit timer is opened with.
type timerFlags struct {
	aircraft, registration string
	oat, altitude          string
	dress                  string
	latch                  bool
}

func timerCommand() *cobra.Command {
	f := &timerFlags{}
	c := &cobra.Command{
		Use:   "timer",
		Short: "Open the cockpit timer: it times, counts aloud, keeps the starter's limits and remembers",
		Long: "Open the cockpit timer. No engine is simulated: it times the prime and the crank of a real\n" +
			"start, counts aloud, keeps the starter's ledger for each aircraft, and remembers across a\n" +
			"flat battery. The space key, or any mouse button anywhere, drives all of it.\n\n" + caution,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.open(c) },
	}
	fs := c.Flags()
	fs.StringVar(&f.aircraft, "aircraft", demoAircraft, "aircraft file whose windows and limits are kept")
	fs.StringVar(&f.registration, "registration", "", "of your aircraft: each has a ledger of its own (default the aircraft's id)")
	fs.StringVar(&f.oat, "oat", "", "outside air temperature, if you know it")
	fs.StringVar(&f.altitude, "altitude", "", "pressure altitude, if you know it")
	fs.StringVar(&f.dress, "dress", "day", "colours: dusk, day or night; the key N changes them")
	fs.BoolVar(&f.latch, "press-and-press", false, "prime by a press and another, and not by holding")
	c.AddCommand(startsCommand())
	return c
}

func (f *timerFlags) open(c *cobra.Command) error {
	if !displayed() {
		return usage(fmt.Errorf("there is no display to open the timer on"))
	}
	lib, err := library(f.aircraft)
	if err != nil {
		return err
	}
	o := timer.Options{Dress: theme.Named(f.dress), Library: lib, Registration: f.registration, Latch: f.latch}
	if o.Celsius, err = optional("--oat", f.oat, "temperature"); err != nil {
		return usage(err)
	}
	if o.AltitudeM, err = optional("--altitude", f.altitude, "altitude"); err != nil {
		return usage(err)
	}
	d := &cockpit{errOut: c.ErrOrStderr(), sound: newSound(audio.Open(audio.Options{CacheDir: speechCache()}))}
	defer d.close()
	if err := d.fill(&o); err != nil {
		return usage(err)
	}
	return broken(ui.RunTimer(ui.TimerOptions{
		Timer: o, Notices: d.sound.player.Notices(), Painted: func() {
			announcePainted(c.ErrOrStderr())
			// Only now: rendering lines takes the processor from the first frame.
			go d.sound.prepare(lib)
		},
	}))
}

// optional is a quantity that may be left out: not a number then.
func optional(flag, text, kind string) (float64, error) {
	if text == "" {
		return math.NaN(), nil
	}
	return quantity(flag, text, kind)
}

// cockpit is what the timer works with: its ledger, its records, its voice.
type cockpit struct {
	errOut io.Writer
	sound  *sound
	ledger *ledgerfile.File
}

// timerFolder is where ledgers and real starts are kept.
func timerFolder() string { return filepath.Join(xdg.DataHome, "kickover", "timer") }

// fill opens what the timer keeps on disk. Only a second window is an error: for
// anything else the timer goes on and says what is not kept.
func (d *cockpit) fill(o *timer.Options) error {
	registration := o.Registration
	if registration == "" {
		registration = string(o.Library.Aircraft.ID)
	}
	var err error
	d.ledger, err = ledgerfile.Open(ledgerfile.Options{
		Dir: timerFolder(), Registration: registration, Limits: o.Library.Aircraft.Starter,
	})
	if err != nil {
		return err
	}
	o.Ledger = d.ledger
	starts, err := realstart.Open(startsFile())
	if err != nil {
		o.Notices = append(o.Notices, err.Error())
	} else {
		o.Records = starts
		o.Notices = append(o.Notices, starts.Notices()...)
	}
	o.Voice = timerVoice{d.sound}
	o.Display = awake.New("Kickover", "A start is being timed")
	return nil
}

func (d *cockpit) close() {
	d.closeLedger()
	d.sound.close()
}

func (d *cockpit) closeLedger() {
	if d.ledger == nil {
		return
	}
	if err := d.ledger.Close(); err != nil {
		fmt.Fprintln(d.errOut, "kickover:", err)
	}
}

// timerVoice joins the timer, which speaks in moments, to the player.
type timerVoice struct{ *sound }

// Say asks the player for a line.
func (v timerVoice) Say(u timer.Utterance) {
	line := audio.Line{Text: u.Line.Caption, Say: u.Line.Say, Priority: audio.Priority(u.Priority), Tag: u.Tag}
	if time.Until(u.Beat) > soon {
		line.Beat = u.Beat
	}
	v.player.Say(line)
}

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
	c := &cobra.Command{Use: "starts", Short: "Export and import the real starts that were kept: nobody's maintenance record"}
	c.AddCommand(
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
	m, err := s.Import(file)
	if err != nil {
		return usage(err)
	}
	fmt.Fprintf(c.OutOrStdout(), "%d starts taken in, %d changed, %d were there already\n", m.Added, m.Changed, m.Same)
	return nil
}
