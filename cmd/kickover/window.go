package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"runtime/debug"
	"strings"
	"sync/atomic"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"kickover/assets"
	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/record"
	"kickover/procedure/rehearsal"
	"kickover/procedure/settings/settingsfile"
	"kickover/ui"
	"kickover/ui/home"
	"kickover/ui/people"
	"kickover/ui/review"
	"kickover/ui/runs"
	"kickover/ui/theme"
	"kickover/ui/timer"
	"kickover/ui/x11input"
)

// windowCommand opens the window.
type windowCommand struct {
	dress string
	seed  uint64 // 0: a new one for each run
	calm  bool
	demo  bool
	class classFlags
}

func (w *windowCommand) add(c *cobra.Command) {
	c.Flags().StringVar(&w.dress, "dress", "", "colours of the window, this time: dusk, day or night (default as in Settings)")
	c.Flags().Uint64Var(&w.seed, "seed", 0, "seed of all chance in each run (default a new one for each)")
	c.Flags().BoolVar(&w.calm, "calm", false, "nobody walks in and no voice interrupts")
}

func demoCommand() *cobra.Command {
	w := &windowCommand{demo: true}
	c := &cobra.Command{
		Use:   "demo",
		Short: "Watch a cold start: in the window, or in the terminal where there is no display",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := display(); err != nil {
				fmt.Fprintf(c.OutOrStdout(), "No window can be opened, since %v: the same rehearsal runs in the terminal.\n", err)
				f := &rehearseFlags{}
				demo := &cobra.Command{}
				f.add(demo)
				demo.SetContext(c.Context())
				demo.SetIn(c.InOrStdin())
				demo.SetOut(c.OutOrStdout())
				demo.SetErr(c.ErrOrStderr())
				return f.rehearse(demo)
			}
			return w.open(c, nil)
		},
	}
	w.add(c)
	return c
}

// display says why no window can be opened here, nil where one can.
func display() error {
	if runtime.GOOS == "windows" || runtime.GOOS == "darwin" {
		return nil
	}
	name := os.Getenv("DISPLAY")
	if name == "" {
		return errors.New("there is no display")
	}
	if err := x11input.Reach(); err != nil {
		return fmt.Errorf("the display %s does not answer", name)
	}
	return nil
}

// desk is what the window works with: the aircraft, the store and the sound.
type desk struct {
	window    *windowCommand
	settings  *settingsfile.File
	libraries []*procedure.Library
	store     *record.Store // nil when it could not be opened
	trouble   string        // why not, for the screen
	flier     atomic.Pointer[people.Person]
	sound     *sound
	errOut    io.Writer
}

func (w *windowCommand) open(c *cobra.Command, _ []string) error {
	if err := errors.Join(w.class.check(), checkDress(w.dress)); err != nil {
		return usage(err)
	}
	if err := display(); err != nil {
		return usage(fmt.Errorf("no window can be opened, since %w; 'kickover demo' and 'kickover rehearse' work in the terminal", err))
	}
	askLargePages()
	begun := startQuickly()
	d := &desk{window: w, settings: preferences, errOut: c.ErrOrStderr()}
	read := make(chan error, 1)
	go func() { read <- d.read() }()
	dress := theme.Named(w.dressed(c))
	frame := ui.OpenFrame(ui.FrameOptions{Title: "Kickover", Icon: assets.Icon, Dress: dress, Window: preferences.Settings().Window})
	err := <-read
	defer d.sound.close()
	if d.store != nil {
		defer d.store.Close()
	}
	if err != nil {
		return err
	}
	ui.Run(frame, ui.Options{
		Libraries: d.libraries, Dress: dress, Demo: w.demo, Seed: w.seed, Settings: d.chosen(),
		Begin: d.begin, Replay: d.replay, Past: d.past, Open: d.open, Timer: d.timer, Starts: keptStarts, Records: d.records(),
		Class: w.class.options(d, c.OutOrStdout()),
		// Lines are made ready once the window is there: its first frame comes first.
		Painted: func() {
			begun()
			go d.prepare()
			announcePainted(c.ErrOrStderr())
		},
	})
	return nil
}

// startQuickly keeps the garbage collector from a start, of whose time it would take
// a tenth and free nothing; begun is called when the first frame is there. From then
// on it runs at less rubbish than usual: nearly all that a window holds are pictures,
// which hold no pointers and are gone over for next to nothing.
func startQuickly() (begun func()) {
	usual := debug.SetGCPercent(-1)
	if os.Getenv("GOGC") == "" {
		usual = rubbishPercent
	}
	return atLatest(func() { debug.SetGCPercent(usual) })
}

// rubbishPercent is how much rubbish there may be to a hundred of what is in use.
const rubbishPercent = 40

// read makes ready what the window shows and speaks with: each part beside the
// others, and all beside the window's own opening.
func (d *desk) read() error {
	var parts errgroup.Group
	parts.Go(func() (err error) {
		d.libraries, err = libraries()
		return err
	})
	parts.Go(func() error {
		d.store, d.trouble = openedStore()
		d.lookUpFlier()
		return nil
	})
	parts.Go(func() error {
		d.sound = newSound(openPlayer())
		return nil
	})
	return parts.Wait()
}

// openedStore opens the store of runs, or says why it could not be.
func openedStore() (*record.Store, string) {
	store, err := openStore(storeName())
	if err != nil {
		return nil, err.Error()
	}
	return store, ""
}

// dressed is the colours that were asked for, or else chosen.
func (w *windowCommand) dressed(c *cobra.Command) string {
	if c.Flags().Changed("dress") {
		return w.dress
	}
	return preferences.Settings().Window.Theme
}

// announcePainted tells a bench that the first frame is there.
func announcePainted(w io.Writer) {
	if os.Getenv("KICKOVER_ANNOUNCE_FIRST_FRAME") != "" {
		fmt.Fprintln(w, "first frame")
	}
}

// prepare renders lines that have no clip, while the person is choosing.
func (d *desk) prepare() {
	for _, l := range d.libraries {
		d.sound.prepare(l)
	}
}

// begin starts a run as it was chosen.
func (d *desk) begin(c home.Chosen) (ui.Session, error) {
	seed := d.window.seed
	if seed == 0 {
		seed = rand.Uint64()
	}
	return d.session(rehearsal.Options{
		Library: c.Library, Flow: c.Flow, Phase: c.Phase, Panel: c.Panel, Conditions: c.Conditions,
		Faults: c.Faults, Seed: seed, Happenings: !d.window.calm,
	}, true)
}

// session makes a run; kept says whether it goes into the store. Explain is read
// and not flown: there is nothing to keep of it.
func (d *desk) session(o rehearsal.Options, kept bool) (*session, error) {
	s := &session{desk: d, sound: d.sound}
	s.sound.attach(nil)
	s.kept = kept && o.Phase != procedure.Explain
	if s.kept && d.store != nil {
		h := headerOf(o)
		h.Person = d.flying().ID
		s.journal = d.store.Journal(h, record.JournalOptions{OnStatus: func(st record.Status) { s.setNotice(st.Notice) }})
		o.Recorder = journalRecorder{s.journal}
	}
	o.Voice, o.Sound, o.Captioned = s.sound, s.sound, true
	run, err := rehearsal.New(o)
	if err != nil {
		return nil, err
	}
	s.run, s.options = run, o
	if s.kept && d.store == nil {
		s.setNotice("This run is set aside when it is over, until the records can be opened: " + d.trouble)
	}
	return s, nil
}

// timer opens what the cockpit timer works with, for as long as it is shown.
func (d *desk) timer() (timer.Options, func(), error) {
	o := timer.Options{Dress: theme.Named(d.settings.Settings().Window.Theme), Library: d.libraries[0], Celsius: math.NaN(), AltitudeM: math.NaN()}
	c := &cockpit{errOut: d.errOut, sound: d.sound}
	err := c.fill(&o)
	return o, c.closeLedger, err
}

// replay flies a stored run again.
func (d *desk) replay(id string) (ui.Session, error) {
	h, events, err := d.stored(id)
	if err != nil {
		return nil, err
	}
	lib, err := library(string(h.Aircraft))
	if err != nil {
		return nil, err
	}
	return d.session(rehearsal.Options{
		Library: lib, Flow: h.Flow, Phase: h.Phase, Panel: h.Panel, Seed: h.Seed,
		Conditions: conditionsOf(h), Faults: faultsOf(h), Hands: rehearsal.Replayable(events), Replay: true,
	}, false)
}

func (d *desk) stored(id string) (record.Header, []procedure.Event, error) {
	if d.store == nil {
		return record.Header{}, nil, fmt.Errorf("the store of runs is not open: %s", d.trouble)
	}
	return d.store.Run(id)
}

// open debriefs a stored run.
func (d *desk) open(id string) (review.Debriefing, error) {
	h, events, err := d.stored(id)
	if err != nil {
		return review.Debriefing{}, err
	}
	return debriefing(h, events)
}

// past lists stored runs for the screen.
func (d *desk) past(after string, limit int) ([]runs.Past, error) {
	if d.store == nil {
		return nil, fmt.Errorf("the store of runs is not open: %s", d.trouble)
	}
	list, err := d.store.Runs(record.Filter{}, record.Page{After: after, Limit: limit})
	if err != nil {
		return nil, err
	}
	names, err := peopleNames(d.store)
	if err != nil {
		return nil, err
	}
	var out []runs.Past
	for _, l := range list {
		out = append(out, runs.Past{
			ID: l.Header.ID, Began: l.Header.Started, Title: flowTitle(d.libraries, l.Header), Outcome: l.Summary.Outcome,
			Note: pastNote(l, names),
		})
	}
	return out, nil
}

func pastNote(l record.Listing, names func(string) string) string {
	var parts []string
	if l.Header.Person != "" {
		parts = append(parts, names(l.Header.Person))
	}
	if invented(l.Header) {
		parts = append(parts, "invented run")
	}
	parts = append(parts, phaseWord(l.Header.Phase), fmt.Sprintf("%.0f °C", l.Header.Conditions.OATCelsius))
	if l.Summary.Prime > 0 {
		parts = append(parts, fmt.Sprintf("prime %.1f s", l.Summary.Prime.Seconds()))
	}
	if n := l.Summary.Attempts; n > 0 {
		parts = append(parts, counted(n, "attempt"))
	}
	return strings.Join(parts, "  ·  ")
}

func phaseWord(p procedure.Phase) string {
	if p == "" {
		return ""
	}
	return strings.ToUpper(string(p[:1])) + string(p[1:])
}

// flowTitle is a stored run's flow in words, by its id where the flow is gone.
func flowTitle(libs []*procedure.Library, h record.Header) string {
	for _, lib := range libs {
		if f, ok := lib.Flow(h.Flow); ok && lib.Aircraft.ID == h.Aircraft {
			return lib.Aircraft.Name + ", " + strings.ToLower(f.Title[:1]) + f.Title[1:]
		}
	}
	return string(h.Aircraft) + ", " + string(h.Flow)
}

// debriefing makes a stored run ready for the screen.
func debriefing(h record.Header, events []procedure.Event) (review.Debriefing, error) {
	report, err := reportOf(h, events)
	if err != nil {
		return review.Debriefing{}, err
	}
	libs, err := libraries()
	if err != nil {
		return review.Debriefing{}, err
	}
	return review.Debriefing{
		ID: h.ID, Began: h.Started, Phase: h.Phase, Report: report,
		Caption: fmt.Sprintf("%s  ·  %.0f °C  ·  %s", flowTitle(libs, h), h.Conditions.OATCelsius, phaseWord(h.Phase)),
	}, nil
}

// session is one run in the window.
type session struct {
	desk    *desk
	options rehearsal.Options
	run     *rehearsal.Rehearsal
	live    *rehearsal.Live
	sound   *sound
	kept    bool            // the run is to be in the records
	journal *record.Journal // nil where it is not kept, or where there is no store to keep it in
	notice  atomic.Pointer[string]
}

func (s *session) setNotice(n string) { s.notice.Store(&n) }

// Notice is about the record first, then about the sound.
func (s *session) Notice() string {
	if n := s.notice.Load(); n != nil && *n != "" {
		return *n
	}
	return s.sound.player.Status().Text
}

// screenEvery is how often the window is given a snapshot.
const screenEvery = time.Second / 30

// Live drives the run.
func (s *session) Live(publish func(*rehearsal.Snapshot)) *rehearsal.Live {
	s.live = rehearsal.Drive(context.Background(), s.run, rehearsal.NewSystem(), screenEvery, publish)
	s.sound.attach(s.live)
	return s.live
}

// Finish debriefs the run and closes its record.
func (s *session) Finish() (review.Debriefing, error) {
	s.live.End(procedure.EndAbandoned)
	<-s.live.Done()
	s.sound.hushEngine()
	h := headerOf(s.options)
	if s.journal != nil {
		h = s.journal.Header()
	}
	d, err := debriefing(h, s.run.Events())
	if err != nil || !s.kept {
		return d, err
	}
	d.Notice = s.file(h, summaryOf(h, d.Report, s.run.Events()))
	return d, nil
}

// file sees to it that the run is in the records, or set aside for them: then it
// says why.
func (s *session) file(h record.Header, sum record.Summary) (notice string) {
	if s.journal == nil {
		h.Person = flyingID()
		return setAside(storeName(), record.Listing{Header: h, Finished: true, Summary: sum}, s.run.Events(), errors.New(s.desk.trouble))
	}
	_ = s.journal.Finish(sum) // a closed journal has said so already
	const patience = 5 * time.Second
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := s.journal.Close(ctx); err != nil {
		l, events := s.journal.Run()
		return setAside(storeName(), l, events, err)
	}
	takeAside(s.desk.store, storeName()) // what waited since the disk was full
	return ""
}

// reportOf looks at a stored run.
func reportOf(h record.Header, events []procedure.Event) (*debrief.Report, error) {
	lib, err := library(string(h.Aircraft))
	if err != nil {
		return nil, err
	}
	if f, ok := lib.Flow(h.Flow); ok && h.FlowHash != "" && f.Hash != h.FlowHash {
		// The flow was edited since; what the run meant then can no longer be told.
		fmt.Fprintf(os.Stderr, "kickover: the flow %q was changed since this run; its verdicts are by the flow as it is now\n", h.Flow)
	}
	return debrief.Of(debrief.Subject{
		Library: lib, Flow: h.Flow, Phase: h.Phase, Panel: h.Panel,
		OATCelsius: h.Conditions.OATCelsius, Faults: h.Faults, Events: events,
	})
}
