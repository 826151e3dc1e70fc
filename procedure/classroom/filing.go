package classroom

import (
	"bytes"
	"fmt"
	"sync"
	"time"

	"kickover/procedure"
	"kickover/procedure/debrief"
	"kickover/procedure/powerplant"
	"kickover/procedure/record"
)

// This file looks at what was delivered: for the debrief, and for the records.

// Subject is a stored run as the debrief takes it.
func (i *Instructor) Subject(r StoredRun) (debrief.Subject, error) {
	i.mu.Lock()
	d, ok := i.drill(r.Header.Drill)
	i.mu.Unlock()
	if !ok {
		return debrief.Subject{}, errNoDrill
	}
	lib, _, err := i.flow(d.Situation)
	if err != nil {
		return debrief.Subject{}, err
	}
	events, err := i.book.Events(r.Run)
	if err != nil {
		return debrief.Subject{}, err
	}
	s := debrief.Subject{Library: lib, Flow: d.Situation.Flow, Phase: d.Situation.Phase, Panel: r.Header.Panel,
		OATCelsius: d.Situation.Conditions.OATCelsius, Events: events}
	for _, f := range d.Situation.Faults {
		s.Faults = append(s.Faults, string(f))
	}
	return s, nil
}

// Report is what the class made of a drill: each run, and all together. Runs
// that cannot be replayed are left out and counted.
func (i *Instructor) Report(d DrillID) (all ClassReport, runs []Flown, left int, err error) {
	stored, err := i.book.Runs(d)
	if err != nil {
		return ClassReport{}, nil, 0, fmt.Errorf("the drill's runs cannot be read: %w", err)
	}
	i.mu.Lock()
	drill, _ := i.drill(d)
	i.mu.Unlock()
	for _, r := range stored {
		s, err := i.Subject(r)
		if err != nil {
			left++
			continue
		}
		report, err := debrief.Of(s)
		if err != nil {
			left++
			continue
		}
		runs = append(runs, Flown{Station: r.Station, Run: r.Run, Report: report, Late: lateness(drill, r)})
	}
	return Spread(runs), runs, left, nil
}

// lateness is how long after everybody's "go" a run began, zero for one that
// began with the others.
func lateness(d Drill, r StoredRun) time.Duration {
	if late := r.Header.Began - d.Go; d.Mode == Together && late > lateAfter {
		return late
	}
	return 0
}

// filing brings finished runs into the records, one after another, in a
// goroutine of its own.
type filing struct {
	i       *Instructor
	wake    chan struct{}
	stop    chan struct{}
	stopped chan struct{}

	mu   sync.Mutex
	runs []RunID
}

// newFiling begins with what was not filed when the program was last closed.
func newFiling(i *Instructor) *filing {
	f := &filing{i: i, wake: make(chan struct{}, 1), stop: make(chan struct{}), stopped: make(chan struct{})}
	if i.o.Records == nil {
		close(f.stopped)
		return f
	}
	if stored, err := i.book.Runs(""); err == nil {
		for _, r := range stored {
			if r.Ended && !r.Filed {
				f.runs = append(f.runs, r.Run)
			}
		}
	}
	poke(f.wake)
	go f.work()
	return f
}

func (f *filing) add(r RunID) {
	f.mu.Lock()
	f.runs = append(f.runs, r)
	f.mu.Unlock()
	poke(f.wake)
}

func (f *filing) close() {
	close(f.stop)
	<-f.stopped
}

func (f *filing) work() {
	defer close(f.stopped)
	for {
		f.fileAll()
		select {
		case <-f.wake:
		case <-f.stop:
			f.fileAll()
			return
		}
	}
}

// fileAll files what there is. A run that could not be filed stays in the
// class's own file and is tried again when the class is next opened.
func (f *filing) fileAll() {
	for {
		f.mu.Lock()
		if len(f.runs) == 0 {
			f.mu.Unlock()
			return
		}
		run := f.runs[0]
		f.runs = f.runs[1:]
		f.mu.Unlock()
		if err := f.i.file(run); err != nil {
			f.i.tell(fmt.Sprintf("A finished run could not be put into the records (%v); it is safe in the class's own file, and is tried again when the class is next opened.", err))
		}
	}
}

// file puts one run into the records. The same run again changes nothing.
func (i *Instructor) file(run RunID) error {
	stored, err := i.book.run(run)
	if err != nil {
		return err
	}
	s, err := i.Subject(stored)
	if err != nil {
		return err
	}
	i.mu.Lock()
	d, _ := i.drill(stored.Header.Drill)
	i.mu.Unlock()
	l := record.Listing{Header: recordHeader(stored, d, s.Faults), Finished: stored.Ended}
	if report, err := debrief.Of(s); err == nil {
		l.Summary = record.Summary{Outcome: report.Outcome, Prime: totalPrime(report.Primes), Attempts: len(report.Attempts), Unsafe: len(report.Breaches), Duration: report.Length, Running: report.Started}
	}
	var text bytes.Buffer
	if err := record.WriteRun(&text, l, s.Events); err != nil {
		return err
	}
	got, err := i.o.Records.Import(&text)
	if err == nil && got.Refused > 0 {
		err = fmt.Errorf("%v", got.Problems)
	}
	if err != nil {
		return err
	}
	return i.book.filed(run)
}

func recordHeader(r StoredRun, d Drill, faults []string) record.Header {
	c := d.Situation.Conditions
	return record.Header{
		ID: string(r.Run), Format: record.Format, Started: time.Unix(0, int64(r.Header.Began)).UTC(), Program: r.Header.Program,
		Aircraft: d.Situation.Aircraft, Flow: d.Situation.Flow, FlowHash: r.Header.FlowHash, Phase: d.Situation.Phase, Panel: r.Header.Panel,
		Conditions: record.Conditions{OATCelsius: c.OATCelsius, PressureAltM: c.PressureAltM, SinceShutdown: c.SinceShutdown, BatteryCharge: c.BatteryCharge, Hidden: d.Situation.Hidden},
		Faults:     faults, Seed: d.Seed, Step: powerplant.StepSize,
	}
}

func totalPrime(primes []procedure.Prime) time.Duration {
	var total time.Duration
	for _, p := range primes {
		total += p.Length()
	}
	return total
}
