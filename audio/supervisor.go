package audio

import (
	"math"
	"time"
)

// How the device is watched and reopened.
const (
	silentTick      = 20 * time.Millisecond
	stalledAfter    = time.Second           // without a request the device is not playing
	toldAfter       = 2 * time.Second       // of that a person is told: what comes back at once needs no words
	steadyGap       = 30 * time.Millisecond // and a buffer; a sound server first fills its buffers and then pauses
	steadyFor       = 400 * time.Millisecond
	patientFor      = 2 * time.Second // of that steadiness: on a busy machine there may be none, and some sound is better
	lately          = 200 * time.Millisecond
	giveUpAfter     = 5 * time.Second  // of being stalled
	steadyAfter     = 10 * time.Second // of playing, a later loss is a new one
	firstRetry      = time.Second
	longestRetry    = 30 * time.Second
	mostCatchUp     = 2 * time.Second // more silent time than that was slept, not lost
	noDeviceLatency = 0
)

// DefaultRestAfter is how long it must be quiet until the device rests. A run
// says what the engine does without a break, so it rests between runs only.
const DefaultRestAfter = 10 * time.Second

// Who may pull the stream beside a device, whose numbers begin at one. Nobody
// may for the moment between a device's being woken and its first request.
const (
	softwareClock = 0
	nobody        = math.MaxUint64
)

// What a person reads: what happened, what still works, what to do.
const (
	textOff     = "Sound is off: lines are shown and not spoken."
	textNone    = "No sound device could be opened, so lines are shown and not spoken; everything else works. Connect or free one: it is tried again by itself."
	textGone    = "The sound device went away, so lines are shown and not spoken; everything else works. It is opened again by itself when it is back."
	textStalled = "The sound device takes no more sound, so lines are shown and not spoken; everything else works. Another program may hold it; it is tried again by itself."
	textMissing = "The chosen sound device cannot be opened, so the system's default plays. Connect it or choose another, and choose again."
	textBack    = "Sound is back."
)

// supervisor is the player's goroutine: it opens the device, watches it, has it
// rest, and pulls the stream itself while there is none. It alone owns these
// fields.
type supervisor struct {
	*Player
	ticker  *time.Ticker // stands still while the sink rests
	sink    sink         // nil while there is none
	number  uint64       // of the sink
	plays   string       // its ID
	missed  string       // the chosen device that was last told to be missing
	waiting time.Time    // since when it has been without the stream
	steady  time.Time    // since when it has asked without a break
	since   time.Time    // the sink has the stream; zero before
	resting bool         // it has it, and is not asked to play
	opening chan opened
	retry   time.Duration
	tryAt   time.Time
	told    bool // that there is no sound

	// How long the sink has not asked, by this goroutine's own ticks: when they
	// did not come either, it was the machine that was held up.
	unasked  time.Duration
	asked    time.Time // when it last did, or was woken
	tickedAt time.Time

	pulledTo time.Time // by the software clock
	scratch  [480][2]float64
}

type opened struct {
	sink          sink
	asked, device string // the one that was chosen, and the one it is
	err           error
}

func (p *Player) run() {
	defer close(p.stopped)
	now := time.Now()
	s := &supervisor{Player: p, retry: firstRetry, tryAt: now, pulledTo: now, tickedAt: now, ticker: time.NewTicker(silentTick)}
	defer s.ticker.Stop()
	if p.options.Silent {
		s.set(Status{Text: textOff})
	}
	for {
		s.tick(time.Now())
		select {
		case <-s.ticker.C:
		case <-p.woken:
			s.wake(time.Now())
		case <-p.reopen:
			s.lose(time.Now(), "")
			s.tryAt = time.Now()
		case <-p.stop:
			s.shut()
			return
		}
	}
}

func (s *supervisor) shut() {
	s.owner.Store(nobody)
	if s.sink != nil {
		s.sink.Close()
	}
	if s.opening != nil {
		// An open that hangs cannot be called off; what it brings is closed.
		go func(late chan opened) {
			if o := <-late; o.sink != nil {
				o.sink.Close()
			}
		}(s.opening)
	}
}

func (s *supervisor) tick(now time.Time) {
	s.take(now)
	s.watch(now)
	s.tickedAt = now
	if s.owner.Load() == softwareClock {
		s.pullSilently(now)
	}
	if s.sink == nil && s.opening == nil && !s.options.Silent && !now.Before(s.tryAt) {
		s.open()
	}
}

func (s *supervisor) open() {
	s.number++
	number, done := s.number, make(chan opened, 1)
	s.opening = done
	pull := func(waiting int, frames [][2]float64) bool {
		if s.owner.Load() != number {
			return false
		}
		s.pullAhead(time.Now(), waiting, frames)
		return true
	}
	asked := s.Device()
	go func() {
		device := asked
		k, err := s.options.open(device, s.options.Buffer, pull)
		if err != nil && device != "" {
			device = ""
			k, err = s.options.open(device, s.options.Buffer, pull)
		}
		done <- opened{k, asked, device, err}
	}()
}

// take accepts a device that was opened. It gets the stream once it asks for
// samples steadily; until then it plays silence and the software clock goes on.
func (s *supervisor) take(now time.Time) {
	select {
	case o := <-s.opening:
		s.opening = nil
		switch {
		case o.err != nil:
			s.noDevice(now)
		case o.asked != s.Device():
			o.sink.Close() // another was chosen meanwhile, and is opened next
		default:
			s.sink, s.plays, s.waiting, s.steady = o.sink, o.device, now, now
			s.asked, s.unasked = now, 0
		}
	default:
	}
}

// playing hands the stream to the device.
func (s *supervisor) playing(now time.Time) {
	s.since = now
	queue, device := s.sink.Latency()
	s.retime(device, s.sink.Holds())
	s.owner.Store(s.number)
	s.set(Status{Sound: true, Device: s.plays, Latency: queue + device, Losses: s.Status().Losses})
	chosen := s.Device()
	if chosen == s.plays {
		s.missed = ""
	}
	switch {
	case chosen != s.plays && chosen != s.missed:
		s.missed = chosen
		s.notice(textMissing)
	case s.told:
		s.notice(textBack)
	}
	s.told = false
}

func (s *supervisor) noDevice(now time.Time) {
	s.tryAt = now.Add(s.retry)
	s.retry = min(2*s.retry, longestRetry)
	s.tell(textNone)
}

// tell says once that there is no sound, and why.
func (s *supervisor) tell(text string) {
	if was := s.Status(); was.Text != text {
		s.set(Status{Text: text, Losses: was.Losses})
		s.notice(text)
		s.told = true
	}
}

// watch notices that the device is gone, or plays no more, or again, or need not.
func (s *supervisor) watch(now time.Time) {
	if s.sink == nil || s.resting {
		return
	}
	s.listen(now)
	plays := s.owner.Load() == s.number
	switch err := s.sink.Err(); {
	case err != nil:
		s.lose(now, textGone)
	case !plays && s.ready(now):
		s.playing(now)
	case s.since.IsZero() && now.Sub(s.waiting) > giveUpAfter:
		s.drop(now)
		s.tell(textNone)
	case plays && s.unasked > stalledAfter:
		s.silence()
		s.countLoss()
	case !plays && !s.since.IsZero() && s.unasked > giveUpAfter:
		s.drop(now)
	case !plays && !s.since.IsZero() && s.unasked > stalledAfter+toldAfter:
		s.tell(textStalled)
	case plays && s.options.RestAfter > 0 && s.rest(s.options.RestAfter):
		s.resting = true
		s.owner.Store(nobody)
		s.sink.Rest(true)
		s.ticker.Stop()
		status := s.Status()
		status.Resting = true
		s.set(status)
	case plays && now.Sub(s.since) > steadyAfter:
		s.retry = firstRetry
	}
}

// ready reports whether a sink that is without the stream may have it.
func (s *supervisor) ready(now time.Time) bool {
	return now.Sub(s.steady) >= steadyFor || now.Sub(s.waiting) > patientFor && s.unasked < lately
}

// listen keeps account of how long the sink has not asked.
func (s *supervisor) listen(now time.Time) {
	last := s.sink.LastAsked()
	if last.After(s.asked) {
		s.asked, s.unasked = last, 0
	} else {
		s.unasked += min(now.Sub(s.tickedAt), 3*silentTick)
	}
	if now.Sub(s.asked) > s.options.Buffer+steadyGap {
		s.steady = now
	}
}

// wake has a device that rests play again. The stream waits for its first
// request, so that no line loses its first sample.
func (s *supervisor) wake(now time.Time) {
	if !s.resting {
		return
	}
	s.resting = false
	s.ticker.Reset(silentTick)
	s.asked, s.unasked, s.tickedAt = now, 0, now
	_, device := s.sink.Latency()
	s.retime(device, s.sink.Holds())
	s.owner.Store(s.number)
	s.sink.Rest(false)
	status := s.Status()
	status.Resting = false
	s.set(status)
}

// lose gives a device up; text says why, empty when another was chosen.
func (s *supervisor) lose(now time.Time, text string) {
	if s.sink == nil {
		return
	}
	s.silence()
	s.drop(now)
	if text != "" {
		s.countLoss()
		s.tell(text)
	}
}

func (s *supervisor) countLoss() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.status.Losses++
}

// drop closes the device and has another opened after a while. The driver leaks
// a little with each, hence the growing pause.
func (s *supervisor) drop(now time.Time) {
	s.sink.Close()
	s.ticker.Reset(silentTick)
	s.sink, s.since, s.resting = nil, time.Time{}, false
	s.tryAt = now.Add(s.retry)
	s.retry = min(2*s.retry, longestRetry)
}

// silence takes the stream back from the device.
func (s *supervisor) silence() {
	if s.owner.Load() == softwareClock {
		return
	}
	s.owner.Store(softwareClock)
	s.retime(noDeviceLatency, 0)
	// A device is known to be gone only a while after it last asked. The software
	// clock begins there, so that the captions of that while are not lost.
	s.pulledTo = s.asked
	s.waiting = time.Now()
	s.steady = s.waiting
	s.set(Status{Losses: s.Status().Losses})
}

// pullSilently is the software clock: it streams as much as time has passed.
func (s *supervisor) pullSilently(now time.Time) {
	if now.Sub(s.pulledTo) > mostCatchUp {
		s.pulledTo = now.Add(-mostCatchUp)
	}
	const step = time.Second * 480 / Rate
	for ; now.Sub(s.pulledTo) >= step; s.pulledTo = s.pulledTo.Add(step) {
		s.Pull(s.pulledTo.Add(step), s.scratch[:])
	}
}

func (s *supervisor) set(status Status) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.status = status
}
