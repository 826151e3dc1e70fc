package main

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"time"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"kickover/assets"
	"kickover/audio"
	"kickover/procedure"
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
	latch, windowed        bool
}

func timerCommand() *cobra.Command {
	f := &timerFlags{}
	c := &cobra.Command{
		Use:   "timer",
		Short: "Open the cockpit timer: it times, counts aloud, keeps the starter's limits and remembers",
		Long: "Open the cockpit timer. No engine is simulated: it times the prime and the crank of a real\n" +
			"start, counts aloud, keeps the starter's ledger of each aeroplane, and remembers across a\n" +
			"flat battery. The space key, or any mouse button anywhere, drives all of it. It opens with the\n" +
			"aeroplane that was timed last.\n\n" +
			"Each real start is kept as a practice note: see 'kickover timer starts'. It is nobody's\n" +
			"maintenance record.\n\n" + caution,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.open(c) },
	}
	fs := c.Flags()
	fs.StringVar(&f.aircraft, "aircraft", "", "aircraft file whose windows and limits are kept (default the last one's)")
	fs.StringVar(&f.registration, "registration", "", "of your aircraft: each has a ledger of its own (default the aircraft's id)")
	fs.StringVar(&f.oat, "oat", "", "outside air temperature, if you know it")
	fs.StringVar(&f.altitude, "altitude", "", "pressure altitude, if you know it")
	fs.StringVar(&f.dress, "dress", "", "colours: dusk, day or night; the key N changes them (default the last ones)")
	fs.BoolVar(&f.windowed, "windowed", false, "open in a window and not on the whole display; the key F changes it")
	fs.BoolVar(&f.latch, "press-and-press", false, "prime by a press and another, and not by holding")
	c.AddCommand(startsCommand(), ledgerCommand())
	return c
}

func (f *timerFlags) open(c *cobra.Command) error {
	var o timer.Options
	var err error
	if o.Celsius, err = optional("--oat", f.oat, "temperature"); err != nil {
		return usage(err)
	}
	if o.AltitudeM, err = optional("--altitude", f.altitude, "altitude"); err != nil {
		return usage(err)
	}
	if f.registration, err = timer.Registration(f.registration); err != nil {
		return usage(fmt.Errorf("--registration: %w", err))
	}
	if err := checkDress(f.dress); err != nil {
		return usage(err)
	}
	if err := display(); err != nil {
		return usage(fmt.Errorf("the timer cannot be opened, since %w", err))
	}
	askLargePages()
	begun := startQuickly()
	o.Dress, o.Units, o.Latch = theme.Named(cmp.Or(f.dress, dressBefore())), preferences.Settings().Units, f.latch
	var libs []*procedure.Library
	read := make(chan error, 1)
	go func() { // beside the window's own opening, which takes as long
		var err error
		libs, err = libraries()
		read <- err
	}()
	window := ui.OpenCockpit(assets.Icon, o.Dress, f.windowed)
	if err := <-read; err != nil {
		return err
	}
	fleet := aeroplanes(libs)
	here, err := chooseAeroplane(fleet, f.aircraft, f.registration)
	if err != nil {
		_, err := library(f.aircraft) // says which there are
		return err
	}
	if f.dress != "" {
		rememberDress(o.Dress)
	}
	o.Library, o.Registration, o.Fleet = here.Library, here.Registration, fleet
	d := &cockpit{errOut: c.ErrOrStderr(), sound: newSound(openPlayer())}
	defer d.close()
	if err := d.fill(&o); err != nil {
		return usage(err)
	}
	return broken(window.Run(o, func() {
		begun()
		announcePainted(c.ErrOrStderr())
		// Only now: rendering lines takes the processor from the first frame.
		go d.sound.prepare(here.Library)
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
	news   chan string
}

// timerFolder is where ledgers and real starts are kept.
func timerFolder() string { return filepath.Join(xdg.DataHome, "kickover", "timer") }

// fill opens what the timer keeps on disk. Only a second window is an error: for
// anything else the timer goes on and says what is not kept. Without a fleet the
// choice is between all aeroplanes, and begins with the one that was timed last.
func (d *cockpit) fill(o *timer.Options) error {
	if o.Fleet == nil {
		libs, err := libraries()
		if err != nil {
			return err
		}
		o.Fleet = aeroplanes(libs)
		here, err := chooseAeroplane(o.Fleet, "", o.Registration)
		if err != nil {
			return err
		}
		o.Library, o.Registration = here.Library, here.Registration
	}
	if o.Registration == "" {
		o.Registration = string(o.Library.Aircraft.ID)
	}
	d.news = make(chan string, 16)
	o.News = d.news
	o.Board = d.board
	var err error
	if o.Ledger, err = d.board(timer.Aeroplane{Library: o.Library, Registration: o.Registration}); err != nil {
		return err
	}
	starts, err := realstart.Open(startsFile())
	if err != nil {
		o.Notices = append(o.Notices, "This start is not kept: "+err.Error()+".")
	} else {
		o.Records = starts
		o.Notices = append(o.Notices, starts.Notices()...)
	}
	o.Voice = timerVoice{d.sound}
	o.Sound = d.sound.amiss
	o.Redress = rememberDress
	o.Display = awake.New("Kickover", "A start is being timed")
	return nil
}

// board opens an aeroplane's ledger and closes the one before.
func (d *cockpit) board(a timer.Aeroplane) (timer.Ledger, error) {
	ledger, err := ledgerfile.Open(ledgerfile.Options{
		Dir: timerFolder(), Registration: a.Registration, Limits: a.Library.Aircraft.Starter, Notice: d.tell,
	})
	if err != nil {
		return nil, err
	}
	d.closeLedger()
	d.ledger = ledger
	_ = rememberTimed(a) // it can be chosen by hand
	return ledger, nil
}

// tell hands a sentence about the disk to the screen. One that nobody takes is
// dropped: the disk is not to wait for a screen.
func (d *cockpit) tell(text string) {
	select {
	case d.news <- text:
	default:
	}
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
