package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"time"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/powerplant"
	"kickover/procedure/record"
	"kickover/procedure/rehearsal"
)

// keptRun is a run's place in the store. Its zero value keeps nothing.
type keptRun struct {
	store   *record.Store
	name    string // of the store that is to have the run
	away    error  // why that one could not be opened; store is then in memory
	journal *record.Journal
	errOut  io.Writer
}

// openRecord begins a run in the store. A store that cannot be opened is said
// and does not stop the run, which is set aside for it: practising is worth more
// than its record.
func (f *rehearseFlags) openRecord(c *cobra.Command, o rehearsal.Options) (*keptRun, error) {
	if f.noStore {
		return &keptRun{}, nil
	}
	k := &keptRun{name: f.store, errOut: c.ErrOrStderr()}
	var err error
	if k.store, err = openStore(f.store); err != nil {
		if c.Flags().Changed("store") {
			return nil, usage(err)
		}
		fmt.Fprintf(k.errOut, "kickover: %v\nThe run goes on, and is set aside until the records can be opened.\n", err)
		k.away = err
		if k.store, err = record.Open(record.InMemory); err != nil {
			return nil, broken(err)
		}
	}
	for _, n := range k.store.Notices() {
		fmt.Fprintln(k.errOut, "kickover:", n)
	}
	h := headerOf(o)
	if f.person != "" && k.away != nil {
		fmt.Fprintln(k.errOut, "kickover: whose run this is cannot be looked up; say so later with 'kickover records assign'")
	} else if h.Person, err = personNamed(k.store, f.person); err != nil {
		return nil, errors.Join(err, k.store.Close())
	}
	k.journal = k.store.Journal(h, record.JournalOptions{})
	return k, nil
}

// headerOf is what the store keeps of a run's beginning.
func headerOf(o rehearsal.Options) record.Header {
	h := record.Header{
		Started: time.Now(), Program: version(),
		Aircraft: o.Library.Aircraft.ID, Flow: o.Flow, Phase: o.Phase, Panel: o.Panel,
		Conditions: record.Conditions{
			OATCelsius: o.Conditions.OATCelsius, PressureAltM: o.Conditions.PressureAltM,
			SinceShutdown: o.Conditions.SinceShutdown, BatteryCharge: o.Conditions.BatteryCharge,
			Hidden: o.Conditions.SurpriseOffered,
		},
		Seed: o.Seed, Step: powerplant.StepSize,
	}
	if f, ok := o.Library.Flow(o.Flow); ok {
		h.FlowHash = f.Hash
	}
	for _, f := range o.Faults {
		h.Faults = append(h.Faults, string(f))
	}
	return h
}

// journalRecorder lets a rehearsal append to a journal.
type journalRecorder struct{ journal *record.Journal }

func (j journalRecorder) Append(e procedure.Event) {
	// The journal keeps what it cannot write and says so in its status; only a
	// journal that is closed refuses, and then the run is over.
	_ = j.journal.Append(e)
}

func (k *keptRun) recorder() rehearsal.Recorder {
	if k.journal == nil {
		return nil
	}
	return journalRecorder{k.journal}
}

func (k *keptRun) id() string {
	if k.journal == nil {
		return ""
	}
	return k.journal.Header().ID
}

func (k *keptRun) finish(r *debrief.Report) {
	if k.journal == nil {
		return
	}
	l, events := k.journal.Run()
	_ = k.journal.Finish(summaryOf(l.Header, r, events)) // as in Append
}

// close waits for the disk, and sets aside what it would not take.
func (k *keptRun) close() {
	if k.journal == nil {
		return
	}
	const patience = 10 * time.Second
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	why := k.journal.Close(ctx)
	if k.away != nil {
		why = k.away
	}
	if why != nil {
		l, events := k.journal.Run()
		fmt.Fprintln(k.errOut, "kickover:", setAside(k.name, l, events, why))
	}
	_ = k.store.Close()
}

// setAside keeps a run that a store did not take, and says in a sentence what
// became of it.
func setAside(store string, l record.Listing, events []procedure.Event, why error) string {
	file, err := record.SetAside(record.AsideFolder(store), l, events)
	if err == nil {
		return fmt.Sprintf("This run waits in %s and goes into the records by itself, the next time that they are opened and can be written: %v", file, why)
	}
	var at *fs.PathError
	if errors.As(err, &at) {
		err = at.Err // where it was tried is nothing to the person
	}
	if !errors.Is(why, record.ErrFull) { // else that says it all
		err = fmt.Errorf("%w, and beside them: %w", why, err)
	}
	if file = spare(l, events); file != "" {
		return fmt.Sprintf("This run could not be kept where the records are (%v). It is kept in %s, which may be gone when the machine is started again: make room where the records are, then take it in with: kickover records import %s", err, file, file)
	}
	return fmt.Sprintf("This run could not be kept anywhere on this machine (%v), and is gone when the program ends; what it came to is shown all the same. "+
		"Make room where the records are: 'kickover doctor' says where that is, and whether they can be written. "+
		"What was flown by a file of hands is flown again, just so, by the same command.", err)
}

// spare keeps a run where there may be room when the disk of the records has none,
// and gives the file; empty when there is none either.
func spare(l record.Listing, events []procedure.Event) (file string) {
	for _, where := range []string{os.TempDir(), xdg.RuntimeDir} {
		folder, err := os.MkdirTemp(where, "kickover-run")
		if err != nil {
			continue
		}
		if file, err = record.SetAside(folder, l, events); err == nil {
			return file
		}
		_ = os.Remove(folder) // it is empty
	}
	return ""
}

// takeAside stores what was set aside for a store before.
func takeAside(s *record.Store, name string) {
	if s.ReadOnly() {
		return
	}
	if err := s.TakeAside(record.AsideFolder(name)); err != nil {
		slog.Warn("runs that were set aside wait on", "err", err)
	}
}
