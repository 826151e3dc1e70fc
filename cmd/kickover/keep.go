package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

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
	journal *record.Journal
	errOut  io.Writer
}

// openRecord begins a run in the store. A store that cannot be opened is said
// and does not stop the run: practising is worth more than its record.
func (f *rehearseFlags) openRecord(c *cobra.Command, o rehearsal.Options) (*keptRun, error) {
	if f.noStore {
		return &keptRun{}, nil
	}
	store, err := openStore(f.store)
	if err != nil {
		if c.Flags().Changed("store") {
			return nil, usage(err)
		}
		fmt.Fprintf(c.ErrOrStderr(), "kickover: %v\nThe run goes on; it is not recorded.\n", err)
		return &keptRun{}, nil
	}
	for _, n := range store.Notices() {
		fmt.Fprintln(c.ErrOrStderr(), "kickover:", n)
	}
	k := &keptRun{store: store, errOut: c.ErrOrStderr()}
	h := headerOf(o)
	if h.Person, err = personNamed(store, f.person); err != nil {
		return nil, errors.Join(err, store.Close())
	}
	k.journal = store.Journal(h, record.JournalOptions{})
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

// close waits for the disk, and says what it would not take.
func (k *keptRun) close() {
	if k.journal == nil {
		return
	}
	const patience = 10 * time.Second
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := k.journal.Close(ctx); err != nil {
		fmt.Fprintln(k.errOut, "kickover:", err)
	}
	_ = k.store.Close()
}
