package rehearsal

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	"kickover/procedure"
)

// Clock tells the time that has passed on a clock that never goes back.
type Clock interface {
	// Now is the time since some fixed moment.
	Now() time.Duration
	// Tick sends at about the given interval until ctx is done.
	Tick(ctx context.Context, every time.Duration) <-chan struct{}
}

const (
	// turnEvery is how often the powerplant is brought up to the present.
	turnEvery = 5 * time.Millisecond
	// lateness is how far behind the present the run is kept, so that an act that
	// arrives so long after its stamp is still judged at its stamp: whoever reads
	// the keyboard waits 4 ms with a release, for the press that would make it a
	// repeat. Nobody sees it; a frame lasts three times as long.
	lateness = 10 * time.Millisecond
	// stall is a stretch in which the machine cannot have been awake, or was so
	// busy that no hand could have been followed.
	stall = 2 * time.Second
	// stallTold is how long somebody is told of it.
	stallTold = 10 * time.Second
	// mailbox holds inputs that arrive within one turn; far more than hands give.
	mailbox = 1024
)

// Live is a run that is being driven in real time. Its methods may be called
// from any goroutine.
type Live struct {
	clock    Clock
	requests chan func(*driver)
	offset   atomic.Int64 // run time = clock.Now() - offset
	latest   atomic.Pointer[Snapshot]
	done     chan struct{}
}

// driver is the owner of the run: one goroutine.
type driver struct {
	live    *Live
	run     *Rehearsal
	publish func(*Snapshot)
	every   time.Duration
	shown   time.Duration
	paused  bool
	stalled time.Duration // how long the machine last stood still
	told    time.Duration // of the run's time: so long this is said
}

// Drive turns a run in real time until it ends or ctx is done, publishing a
// snapshot every so often and once more at the end. publish is called by the
// owner of the run and must not block. The run belongs to Drive until
// [Live.Done] is closed.
func Drive(ctx context.Context, run *Rehearsal, clock Clock, every time.Duration, publish func(*Snapshot)) *Live {
	l := &Live{clock: clock, requests: make(chan func(*driver), mailbox), done: make(chan struct{})}
	l.offset.Store(int64(clock.Now()))
	d := &driver{live: l, run: run, publish: publish, every: every, shown: -every}
	d.show()
	go d.drive(ctx)
	return l
}

// Now is the run's own time this moment: the stamp for an input.
func (l *Live) Now() time.Duration {
	return l.clock.Now() - time.Duration(l.offset.Load())
}

// Until is how long it is until an offset of the run, negative once it is past.
func (l *Live) Until(at time.Duration) time.Duration { return at - l.Now() }

// Input hands over an act stamped with [Live.Now] when it was received.
func (l *Live) Input(e procedure.Event) {
	l.ask(func(d *driver) {
		if d.paused {
			return
		}
		d.notice()
		e.At = min(e.At, l.Now()) // stamped before a stall was noticed
		d.run.Input(e)
	})
}

// SkipRest passes over the rest that the starter is owed.
func (l *Live) SkipRest() {
	l.ask(func(d *driver) {
		skipped := d.run.SkipRest()
		l.offset.Add(-int64(skipped))
	})
}

// Pause stops the run's time, and again lets it go on.
func (l *Live) Pause(on bool) {
	l.ask(func(d *driver) { d.pause(on) })
}

// Spoken shows a line that is heard for a while from now on.
func (l *Live) Spoken(text string, p procedure.Priority, in, lasts time.Duration) {
	l.ask(func(d *driver) {
		at := l.Now() + in
		d.run.Spoken(Caption{Text: text, Priority: p, At: at}, at+lasts)
	})
}

// End closes the run.
func (l *Live) End(why string) {
	l.ask(func(d *driver) { d.run.End(why) })
}

// Do runs f on the owner of the run, with the run.
func (l *Live) Do(f func(*Rehearsal)) {
	l.ask(func(d *driver) { f(d.run) })
}

// Latest is the last snapshot published.
func (l *Live) Latest() *Snapshot { return l.latest.Load() }

// Done is closed when the run is over and no longer driven.
func (l *Live) Done() <-chan struct{} { return l.done }

// ask never blocks a hand for good: after the end requests are dropped.
func (l *Live) ask(f func(*driver)) {
	select {
	case l.requests <- f:
	case <-l.done:
	}
}

func (d *driver) drive(ctx context.Context) {
	defer close(d.live.done)
	ticks, stop := d.ticks(ctx)
	defer func() { stop() }()
	for !d.run.Done() {
		asleep := d.paused
		select {
		case <-ctx.Done():
			d.run.End(procedure.EndAbandoned)
		case f := <-d.live.requests:
			f(d)
			d.drain()
		case <-ticks:
		}
		switch { // nothing ticks in a pause: it may be left on a table all day
		case d.paused && !asleep:
			stop()
			ticks = nil
		case asleep && !d.paused:
			ticks, stop = d.ticks(ctx)
		}
		d.turn()
	}
	d.show()
}

// ticks begin to bring the run up to the present, until stopped.
func (d *driver) ticks(ctx context.Context) (ticks <-chan struct{}, stop func()) {
	ticking, stop := context.WithCancel(ctx)
	return d.live.clock.Tick(ticking, turnEvery), stop
}

// drain takes what else has arrived, so that a burst of inputs costs one turn.
func (d *driver) drain() {
	for {
		select {
		case f := <-d.live.requests:
			f(d)
		default:
			return
		}
	}
}

// notice takes out of the run's time a stretch that the machine slept through:
// deadlines are judged, and nobody could have met them.
func (d *driver) notice() {
	if gap := d.live.Now() - d.run.physics; gap > stall {
		d.live.offset.Add(int64(gap - turnEvery))
		d.run.Paused(gap - turnEvery)
		d.stalled, d.told = gap, d.live.Now()+stallTold
	}
}

// turn brings the run up to the present, less what an act may be late.
func (d *driver) turn() {
	if d.paused {
		return
	}
	d.notice()
	now := d.live.Now() - lateness
	d.run.Advance(now)
	if ahead := d.run.physics - now; ahead > 0 { // a replay passed over a rest
		d.live.offset.Add(-int64(ahead))
	}
	if d.run.hands.tiredOfResting(d.run) {
		d.live.offset.Add(-int64(d.run.SkipRest()))
	}
	d.sound(d.run.Noise())
	if now-d.shown >= d.every {
		d.show()
		d.shown = now
	}
}

// sound makes the aeroplane heard; a pause is quiet.
func (d *driver) sound(n Noise) {
	if s := d.run.o.Sound; s != nil && !d.run.silent() {
		s.SetEngine(n)
	}
}

func (d *driver) pause(on bool) {
	if d.paused == on {
		return
	}
	d.paused = on
	if on {
		d.sound(Noise{})
	} else {
		if gap := d.live.Now() - d.run.physics; gap > 0 {
			d.live.offset.Add(int64(gap))
			d.run.Paused(gap)
		}
	}
	d.show()
}

func (d *driver) show() {
	s := d.run.Snapshot()
	s.Paused = d.paused
	if d.live.Now() < d.told {
		s.Notice = fmt.Sprintf("The computer stood still for %.0f s, and the run with it: go on where you were.", d.stalled.Seconds())
	}
	d.live.latest.Store(s)
	if d.publish != nil {
		d.publish(s)
	}
}

// System is the machine's monotonic clock.
type System struct{ origin time.Time }

// NewSystem begins a clock at zero.
func NewSystem() System { return System{origin: time.Now()} }

// Now is the time since the clock began.
func (c System) Now() time.Duration { return time.Since(c.origin) }

// At is the moment of an offset of the clock.
func (c System) At(offset time.Duration) time.Time { return c.origin.Add(offset) }

// Tick sends at the interval, dropping ticks that nobody took.
func (c System) Tick(ctx context.Context, every time.Duration) <-chan struct{} {
	out := make(chan struct{}, 1)
	go func() {
		t := time.NewTicker(every)
		defer t.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-t.C:
				select {
				case out <- struct{}{}:
				default:
				}
			}
		}
	}()
	return out
}
