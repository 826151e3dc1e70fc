package record

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"kickover/procedure"
)

// Journal writes a live run without ever making it wait. One goroutine owns the
// writing: it takes whatever has been appended since its last commit and commits
// it as one transaction, so that a slow disk makes batches larger, not the run
// slower. What it could not write it keeps, says so in one sentence, and tries
// again until it is closed.
//
// It keeps the whole run in memory while it is open, so that a run whose file is
// taken away in the middle can be written again from its beginning.
type Journal struct {
	store   *Store
	header  Header
	options JournalOptions
	wake    chan struct{} // holds one token when there is something to do
	stop    chan struct{} // closed by end
	end     func()
	stopped chan struct{} // closed when the goroutine has ended

	mu      sync.Mutex // guards what follows
	events  []procedure.Event
	summary *Summary
	closed  bool
	written position
	problem error
	settled *sync.Cond // signalled when written or problem changed
}

// position is how much of a run is on the disk, and in which file.
type position struct {
	file    *file
	events  int
	summary *Summary
}

// JournalOptions are what a caller may want otherwise; the zero value is useful.
type JournalOptions struct {
	// OnStatus is called by the writing goroutine after each commit and each
	// failure. It must not block and must not call Close.
	OnStatus func(Status)
	// After is how the time until the next try is waited for; nil is time.After.
	After func(time.Duration) <-chan time.Time
}

// Status is how far a journal has come.
type Status struct {
	Durable  int    // sequence number of the last event that is on the disk
	Waiting  int    // events that are not yet
	Finished bool   // the summary is on the disk too
	Notice   string // why events have to wait, for the person; empty when all is well
	Err      error  // what is behind Notice, else nil
}

// How long a failed write is waited upon before the next try.
const (
	firstRetry = 250 * time.Millisecond
	lastRetry  = 5 * time.Second
)

// Journal begins a run and returns at once; the header is written as soon as the
// disk allows. Close the journal when the run is over.
func (s *Store) Journal(h Header, options JournalOptions) *Journal {
	if options.After == nil {
		options.After = time.After
	}
	j := &Journal{
		store: s, header: h.prepared(), options: options,
		wake: make(chan struct{}, 1), stop: make(chan struct{}), stopped: make(chan struct{}),
	}
	j.end = sync.OnceFunc(func() { close(j.stop) })
	j.settled = sync.NewCond(&j.mu)
	j.poke()
	go j.writeAll()
	return j
}

// Header is the run's header as it is stored, its id included.
func (j *Journal) Header() Header { return j.header }

// Append takes events, numbered on from the last ones, and never blocks on the
// disk. The error is ErrSequence or ErrClosed, and then none was taken.
func (j *Journal) Append(events ...procedure.Event) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.closed {
		return ErrClosed
	}
	if err := checkSequence(len(j.events)+1, events); err != nil {
		return err
	}
	j.events = append(j.events, events...)
	j.poke()
	return nil
}

// Finish takes what the run came to; it is written after the events.
func (j *Journal) Finish(sum Summary) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.closed {
		return ErrClosed
	}
	j.summary = &sum
	j.poke()
	return nil
}

// Status tells how far the journal has come. Only events up to Durable may be
// shown as recorded.
func (j *Journal) Status() Status {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.statusNow()
}

// statusNow wants mu held.
func (j *Journal) statusNow() Status {
	return Status{
		Durable:  j.written.events,
		Waiting:  len(j.events) - j.written.events,
		Finished: j.summary != nil && j.written.summary == j.summary,
		Notice:   j.notice(),
		Err:      j.problem,
	}
}

// notice is the sentence for what keeps the run from the disk. It wants mu held.
func (j *Journal) notice() string {
	switch {
	case j.problem == nil:
		return ""
	case errors.Is(j.problem, ErrFull):
		return "The disk is full under the records in " + j.store.path + ": this run is kept in memory and goes on; free some space there and it is stored by itself."
	case errors.Is(j.problem, ErrReadOnly):
		return "The records cannot be written: this run is kept in memory and goes on; make " + j.store.path + " writable and it is stored by itself."
	case errors.Is(j.problem, ErrBusy):
		return "Another program is writing to the records: this run is kept in memory, and is stored when the other one is done."
	case errors.Is(j.problem, ErrUnreachable):
		return "There is no connection to the records: this run is kept in memory and goes on; it is stored when the connection is back."
	case errors.Is(j.problem, ErrLost), errors.Is(j.problem, ErrDamaged):
		return "The record file is gone or damaged: this run is kept in memory and goes on; put " + j.store.path + " right and it is stored by itself."
	default:
		return "This run could not be stored and is kept in memory: it goes on and is stored when that works again."
	}
}

// Close waits until everything is written, or until ctx is done, and ends the
// journal either way. The error then says how much is not on the disk; [Journal.Run]
// still has it, for [SetAside]. Close may be called again.
func (j *Journal) Close(ctx context.Context) error {
	wakeUp := context.AfterFunc(ctx, func() {
		j.mu.Lock()
		defer j.mu.Unlock()
		j.settled.Broadcast()
	})
	defer wakeUp()

	j.mu.Lock()
	j.closed = true
	for !j.done() && ctx.Err() == nil {
		j.settled.Wait()
	}
	j.mu.Unlock()
	j.end()
	<-j.stopped

	j.mu.Lock()
	defer j.mu.Unlock()
	if j.done() {
		return nil
	}
	return fmt.Errorf("%d events of this run are not in the records: %w",
		len(j.events)-j.written.events, errors.Join(j.problem, ctx.Err()))
}

// done reports that nothing is left to write. It wants mu held.
func (j *Journal) done() bool {
	return j.written.file != nil && j.written.events == len(j.events) && j.written.summary == j.summary
}

// Run gives the run as it stands in memory, written or not.
func (j *Journal) Run() (Listing, []procedure.Event) {
	j.mu.Lock()
	defer j.mu.Unlock()
	l := Listing{Header: j.header, Finished: j.summary != nil}
	if j.summary != nil {
		l.Summary = *j.summary
	}
	return l, append([]procedure.Event(nil), j.events...)
}

func (j *Journal) poke() {
	select {
	case j.wake <- struct{}{}:
	default:
	}
}

// writeAll is the writing goroutine: it writes when woken, and after a failure
// when the time for another try has come.
func (j *Journal) writeAll() {
	defer close(j.stopped)
	wait := firstRetry
	var again <-chan time.Time
	for {
		wake := j.wake
		if again != nil {
			wake = nil // new events wait for the next try with the others
		}
		select {
		case <-wake:
		case <-again:
		case <-j.stop:
			return
		}
		if err := j.write(); err != nil {
			again = j.options.After(wait)
			wait = min(2*wait, lastRetry)
		} else {
			again, wait = nil, firstRetry
		}
	}
}

// write commits all there is in one transaction and reports how that went. In a
// file that is not the one written to before, it begins at the beginning.
func (j *Journal) write() error {
	j.mu.Lock()
	events, summary, written := j.events, j.summary, j.written
	j.mu.Unlock()

	var reached position
	err := j.store.write(func(f *file) error {
		from := written
		if from.file != f {
			from = position{}
		}
		reached = position{f, len(events), summary}
		return f.inTransaction(func(tx *transaction) error {
			key, err := keyOf(tx, j.header.ID)
			if errors.Is(err, ErrNoRun) {
				from = position{}
				key, err = insertHeader(tx, j.header)
			}
			if err != nil {
				return err
			}
			if err := insertEvents(tx, place(key, events[from.events:])); err != nil || summary == from.summary {
				return err
			}
			return updateSummary(tx, key, *summary)
		})
	})
	j.mu.Lock()
	j.problem = err
	switch {
	case err == nil:
		j.written = reached
	case errors.Is(err, ErrLost), errors.Is(err, ErrDamaged):
		j.written = position{} // what was on the disk is not there any more
	}
	status := j.statusNow()
	j.settled.Broadcast()
	j.mu.Unlock()
	if j.options.OnStatus != nil {
		j.options.OnStatus(status)
	}
	return err
}
